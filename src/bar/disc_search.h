// Every disc-like circle in a picture or a part of it.
#pragma once

#include <optional>
#include <vector>

#include "bar/rim.h"
#include "base/image.h"
#include "kinematics/observation.h"

namespace lintel::bar {

// Pixels; x right, y down. Empty when max <= min.
struct Window {
  Eigen::Vector2d min_px = {0, 0};
  Eigen::Vector2d max_px = {0, 0};
  bool empty() const { return !(max_px.x() > min_px.x() && max_px.y() > min_px.y()); }
};

struct DiscSearch {
  std::optional<Window> window;  // where centers may lie; none: the whole picture
  double min_radius_px = 20;
  double max_radius_px = 0;  // 0: a quarter of the shorter picture side
  int max_candidates = 8;
  double min_quality =
      0.38;  // DiscCandidate::quality; half of a rim may be covered or out of sight
};

struct DiscCandidate {
  Rim rim;
  double votes = 0;        // of the circle search, about 2 for a full clean rim
  double quality() const;  // 0..1: support, less with few votes or scattered edges; the order
  kinematics::DiscObservation observation() const;
};

// Circles with their sub-pixel rims, best supported first; of concentric circles (hub, lip, rim)
// only the outermost well supported one. Works on the gradient of the strongest colour channel,
// thresholded against the median of the picture part, so that a dark disc on a dark wall and a
// coloured one on grey are both found. Circles that are not discs (a clock) are returned too: the
// caller knows where hands and shoulders are. Thread-safe. 15 ms for a window round a
// body and one known radius, 100 ms for all radii in a 720x1280 picture, on one core.
std::vector<DiscCandidate> find_discs(const Image& image, const DiscSearch& search = {});

// Coarse position of a circle whose radius is known to within the range, centre within the window:
// what the tracker uses before the rim is refined. None when fewer than `min_votes` of a rim agree.
struct CoarseCircle {
  Eigen::Vector2d center_px = {0, 0};
  double radius_px = 0;
  double votes = 0;
};
std::vector<CoarseCircle> vote_circles(const Image& image, const Window& window,
                                       double min_radius_px, double max_radius_px, double min_votes,
                                       int max_count);

kinematics::DiscObservation to_observation(const Rim& rim);

}  // namespace lintel::bar
