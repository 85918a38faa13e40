// The athlete as a figure of posts and beams, side by side: now, most upright, after a change.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "posture/posture.h"

namespace lintel::report {

// One figure and what stands under it.
struct PostureFigure {
  std::string title;  // "Now"
  std::string note;   // up to three lines under the angle; may be empty
  posture::Posture posture;
  double disc_diameter = 0.45;  // [m], 0 = none drawn
};

// SVG bytes. All figures to one scale on one floor, the plumb line from each bar to the floor
// beside mid-foot. 1 to 4 figures. Errors: Invalid (no figure), Internal of the drawing library.
Result<std::string> draw_postures_svg(const std::string& title,
                                      const std::vector<PostureFigure>& figures);

}  // namespace lintel::report
