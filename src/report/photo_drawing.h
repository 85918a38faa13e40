// The photo of a mobility test with its points, lines, angle and result drawn on it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "report/canvas.h"

namespace lintel::report {

// Positions in px of the picture.
struct PhotoMark {
  Point at;
  double error_px = 0;            // drawn as a ring
  bool by_hand = false;           // a square instead of a dot
  std::optional<Point> original;  // where the network had put it
  std::string name;
};

struct PhotoLineMark {
  Point from, to;
  bool is_axis = false;  // dashed: a direction of the picture, not of the body
};

struct PhotoArc {
  Point apex;
  double from = 0;  // [rad], x right and y down: clockwise
  double to = 0;    // the arc goes the shorter way
};

struct PhotoDrawing {
  std::vector<PhotoMark> points;
  std::vector<PhotoLineMark> lines;
  std::optional<PhotoArc> arc;
  Point label_at;
  std::string label;    // "41 +/- 3 deg"
  std::string caption;  // test, side
};

// The picture with the marks on it, the caption in a band above and the brief cautions in one
// below: nothing of the picture is hidden. Errors: Invalid (empty picture).
Result<Image> mark_test_photo(const Image& picture, const PhotoDrawing& drawing);

}  // namespace lintel::report
