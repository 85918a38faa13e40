// Plots of the measured clip: angles over time, path of the bar. Standalone SVG, and panels that
// pages place where they like.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "kinematics/measurement.h"
#include "report/axes.h"
#include "report/canvas.h"
#include "report/numbers.h"

namespace lintel::report {

// A finished SVG with the axes of each panel (canvas points = the SVG's user units).
struct Plot {
  std::string svg;
  std::vector<Axes> panels;
};

struct PlotInfo {
  std::string title;  // "Astrid Vale, 25 November 2026"; may be empty
  UnitSystem units = UnitSystem::Metric;
};

// Trunk, shank, knee, hip and shoulder, one panel each over one time axis: fitted line with a band
// of one standard error to either side, raw values faint, repetitions as numbered bays, a small
// bob at each bottom. Errors: Invalid when there is no frame.
Result<Plot> plot_angles(const kinematics::Measurement& measurement, const PlotInfo& info);

// Side view of the bar's path [m, or in] to scale with the foot and the plumb line through
// mid-foot; down dashed, up solid, a post at each bottom. Errors: Invalid when the bar was not
// seen.
Result<Plot> plot_bar_path(const kinematics::Measurement& measurement, const PlotInfo& info);

// Panels for pages. Return false, drawing nothing, when there is nothing to draw.
bool draw_bar_path_panel(Canvas& canvas, const Box& area,
                         const kinematics::Measurement& measurement, UnitSystem units,
                         double font_size);
bool draw_trunk_panel(Canvas& canvas, const Box& area, const kinematics::Measurement& measurement,
                      double font_size);

}  // namespace lintel::report
