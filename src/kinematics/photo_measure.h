// The result of a mobility test from points on a photo, with its error.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "base/result.h"
#include "base/units.h"
#include "body/test_protocol.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

// A point of the photo [px of the upright picture], with the standard error of each coordinate.
struct PhotoPoint {
  Eigen::Vector2d position_px = {0, 0};
  double error_px = 0;
  bool by_hand = false;
  bool far_side = false;  // by the network, on the side that is turned away from the camera
};
using PhotoPoints = std::map<std::string, PhotoPoint>;

// Names that a recipe may use without placing them by hand: "shoulder", "other_shoulder",
// "mid_shoulder", ..., "nose".
const std::vector<std::string>& photo_point_names();

// Every point that the recipe needs, each once.
std::vector<std::string> points_of(const body::PhotoRecipe& recipe);

// Pixels per metre of a body of this stature [m], from its longest-looking segments (Drillis and
// Contini 1966); bent and turned bodies look shorter, never longer.
double pixels_per_metre(const BodyObservation& body, double stature);

// The recipe's points as the network saw them, errors by confidence (data/mobility/tests.csv,
// photo.*). Points that only a hand can place are left out. far_side: the side that is turned away
// from the camera in a side view, whose points the network draws towards the near ones.
PhotoPoints points_from_body(const body::PhotoRecipe& recipe, const BodyObservation& body,
                             BodySide side, double px_per_metre,
                             std::optional<BodySide> far_side = {});

// Whether the network placed a point on the side that is turned away from the camera.
bool uses_far_side(const PhotoPoints& points);

// A length that is known, between two points of the picture.
struct KnownLength {
  Eigen::Vector2d from_px = {0, 0};
  Eigen::Vector2d to_px = {0, 0};
  double length = 0;  // [m]
};

struct PhotoReading {
  Estimate result;           // SI
  double from_points = 0;    // parts of the standard error: where the points lie,
  double from_vertical = 0;  // how upright the picture is,
  double from_length = 0;    // how long a pixel is,
  double from_method = 0;    // the recipe's own
};

// Numerical first-order propagation of the points' errors. px_per_metre (rough, of the body) only
// sizes the error of the ends of the known length. Errors: NotFound for a point that is missing,
// Invalid (field of the fault) for points that coincide, a distance without a known length, a
// result outside of the protocol's range.
Result<PhotoReading> measure_photo(const body::TestProtocol& protocol, const PhotoPoints& points,
                                   const std::optional<KnownLength>& known, double px_per_metre);

}  // namespace lintel::kinematics
