// Axes of a plot: where data lies on the canvas, ticks at round numbers, labels.
#pragma once

#include <string>
#include <vector>

#include "report/canvas.h"

namespace lintel::report {

// Maps data to the canvas, y upwards. Ranges must not be empty.
struct Axes {
  Box plot;
  double x_low = 0;
  double x_high = 1;
  double y_low = 0;
  double y_high = 1;

  Point operator()(double x, double y) const {
    return {plot.x + (x - x_low) / (x_high - x_low) * plot.width,
            plot.bottom() - (y - y_low) / (y_high - y_low) * plot.height};
  }
};

struct Range {
  double low = 0;
  double high = 0;
  bool empty = true;

  void add(double value);  // ignores NaN and infinities
};

// 1, 2 or 5 times a power of ten (for angles also 15, 30, 45) such that about `wanted` steps fit.
enum class TickKind : std::uint8_t { Plain, Degrees };
double tick_step(double span, int wanted, TickKind kind);

// The range grown to whole steps, at least `smallest` wide.
Range round_range(Range range, double smallest, int wanted, TickKind kind);

struct AxisLabels {
  std::string x;  // empty = no label and no numbers at this axis
  std::string y;
  double font_size = 8;
  int x_ticks = 6;
  int y_ticks = 4;
  TickKind x_kind = TickKind::Plain;
  TickKind y_kind = TickKind::Plain;
};

// Rules, numbers and labels around `axes.plot`.
void draw_axes(Canvas& canvas, const Axes& axes, const AxisLabels& labels);

}  // namespace lintel::report
