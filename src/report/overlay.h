// Drawing on a frame of the clip: fitted body, disc, plumb line, angles with their errors, caption.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "kinematics/measurement.h"
#include "kinematics/observation.h"
#include "report/canvas.h"
#include "report/marks.h"

namespace lintel::report {

enum class CautionStrip : std::uint8_t { None, Brief };

// Everything that is drawn on one frame. Angles [rad]; NaN or nothing = not drawn.
struct OverlayFrame {
  kinematics::Figure figure;  // [px]
  double facing = 1;
  double roll = 0;  // [rad] the true vertical appears turned clockwise by this much
  std::optional<kinematics::DiscObservation> disc;
  std::optional<Estimate> trunk_inclination;
  std::optional<Estimate> shank_inclination;
  std::optional<Estimate> knee_flexion;
  std::optional<Estimate> shoulder_elevation;
  std::string caption;  // "Repetition 2 of 5, bottom"
  std::string time;     // "4.27 s"
  CautionStrip cautions = CautionStrip::None;
};

// Frame `index` (into measurement.time) of the measured clip; `observation` gives the disc and may
// be null. The caption names repetition and phase.
OverlayFrame overlay_frame(const kinematics::Measurement& measurement, std::size_t index,
                           const kinematics::FrameObservation* observation, CautionStrip cautions);

// For frames of one size, a video or a single picture. Keeps its labels where they were while that
// place stays good, so that they do not jump. Not thread-safe.
class OverlayPainter {
 public:
  static Result<OverlayPainter> create(int width_px, int height_px);
  // Draws on the picture. Errors: Invalid when the picture has another size.
  Result<void> draw(Image& image, const OverlayFrame& frame);

 private:
  explicit OverlayPainter(Canvas canvas) : canvas_(std::move(canvas)) {}
  Canvas canvas_;
  std::array<int, 4> label_places_ = {-1, -1, -1, -1};
};

// The figure with its angles inside of `area` of any canvas, for pages. `font_size` in its units;
// `places` as kept by the painter, or null.
void draw_overlay(Canvas& canvas, const OverlayFrame& frame, const PictureToCanvas& map,
                  const Box& area, double unit, double font_size, std::array<int, 4>* places);

}  // namespace lintel::report
