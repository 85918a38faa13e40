#include "kinematics/photo_measure.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "body/tables.h"
#include "kinematics/landmarks.h"

namespace lintel::kinematics {
namespace {

using body::PhotoAxis;
using body::PhotoLine;
using body::PhotoMeasure;
using body::PhotoRecipe;
using Eigen::Vector2d;

constexpr std::array<std::string_view, 11> kPaired = {
    "ear",  "shoulder", "elbow", "wrist", "little_knuckle", "index_knuckle", "hip",
    "knee", "ankle",    "heel",  "toe"};

double constant(std::string_view key) {
  return body::test_table().value(key);
}

std::optional<PairedLandmark> paired_of(std::string_view name) {
  const auto found = std::find(kPaired.begin(), kPaired.end(), name);
  if (found == kPaired.end()) return {};
  return static_cast<PairedLandmark>(found - kPaired.begin());
}

double error_ratio(PairedLandmark joint) {
  switch (joint) {
    case PairedLandmark::Heel:
    case PairedLandmark::Toe:
      return constant("photo.foot_ratio");
    case PairedLandmark::Wrist:
    case PairedLandmark::LittleKnuckle:
    case PairedLandmark::IndexKnuckle:
      return constant("photo.hand_ratio");
    default:
      return 1.0;
  }
}

PhotoPoint observed(const LandmarkObservation& landmark, double ratio, double px_per_metre) {
  // A confidence of a quarter doubles the error; less than that is a guess anyway.
  const double confidence = std::clamp(static_cast<double>(landmark.confidence), 0.04, 1.0);
  return {landmark.position_px.cast<double>(),
          constant("photo.landmark_error") * ratio * px_per_metre / std::sqrt(confidence), false};
}

std::optional<PhotoPoint> point_of(std::string_view name, const BodyObservation& body,
                                   BodySide side, double px_per_metre,
                                   std::optional<BodySide> far_side) {
  if (name == "nose") return observed(body[Landmark::Nose], 1.0, px_per_metre);
  const bool other = name.starts_with("other_");
  const bool middle = name.starts_with("mid_");
  if (other) name.remove_prefix(6);
  if (middle) name.remove_prefix(4);
  const auto joint = paired_of(name);
  if (!joint) return {};
  const auto seen = [&](BodySide of) {
    const bool is_far = of == far_side;
    const double ratio = error_ratio(*joint) * (is_far ? constant("photo.far_ratio") : 1.0);
    PhotoPoint point = observed(at(body, *joint, of), ratio, px_per_metre);
    point.far_side = is_far;
    return point;
  };
  const PhotoPoint first = seen(other ? opposite(side) : side);
  if (!middle) return first;
  const PhotoPoint second = seen(opposite(side));
  return PhotoPoint{0.5 * (first.position_px + second.position_px),
                    0.5 * std::hypot(first.error_px, second.error_px), false};
}

Error missing_point(const std::string& name) {
  return Error{ErrorCode::NotFound,
               "the point \"" + name + "\" is not on the picture",
               {},
               "place it by hand with --points: {\"" + name + "\": [x, y]}",
               {}};
}

// Directions with y upwards.
Result<Vector2d> direction_of(const PhotoLine& line, const PhotoPoints& points) {
  switch (line.axis) {
    case PhotoAxis::Up:
      return Vector2d(0, 1);
    case PhotoAxis::Down:
      return Vector2d(0, -1);
    case PhotoAxis::Horizontal:
      return Vector2d(1, 0);
    case PhotoAxis::Free:
      break;
  }
  const Vector2d d = points.at(line.to).position_px - points.at(line.from).position_px;
  if (!(d.norm() > 1.0)) {
    return fail(ErrorCode::Invalid,
                "the points \"" + line.from + "\" and \"" + line.to + "\" lie on one another",
                "move one of them with --points");
  }
  return Vector2d(d.x(), -d.y());
}

double turn(const Vector2d& from, const Vector2d& to) {
  return std::atan2(from.x() * to.y() - from.y() * to.x(), from.dot(to));
}

// What the recipe measures: an angle [rad], or a distance [px].
Result<double> raw_measure(const PhotoRecipe& recipe, const PhotoPoints& points) {
  if (recipe.measure == PhotoMeasure::Distance) {
    const Vector2d d =
        points.at(recipe.first.to).position_px - points.at(recipe.first.from).position_px;
    switch (recipe.second.axis) {
      case PhotoAxis::Horizontal:
        return std::abs(d.x());
      case PhotoAxis::Up:
      case PhotoAxis::Down:
        return std::abs(d.y());
      case PhotoAxis::Free:
        break;
    }
    return d.norm();
  }
  const Vector2d a = LINTEL_TRY(direction_of(recipe.first, points));
  const Vector2d b = LINTEL_TRY(direction_of(recipe.second, points));
  const double angle = turn(a, b);
  if (recipe.measure == PhotoMeasure::Between) return std::abs(angle);
  if (recipe.measure == PhotoMeasure::Slope) {
    const double size = std::abs(angle);
    return std::min(size, std::numbers::pi - size);
  }
  // Turn: the side of the first line on which the named point lies is positive.
  const std::string& start =
      recipe.first.axis == PhotoAxis::Free ? recipe.first.from : recipe.second.from;
  const Vector2d towards =
      points.at(recipe.positive_towards).position_px - points.at(start).position_px;
  const double sign = turn(a, Vector2d(towards.x(), -towards.y())) >= 0 ? 1.0 : -1.0;
  const double signed_angle = sign * angle;
  return signed_angle <= -0.5 * std::numbers::pi ? signed_angle + 2.0 * std::numbers::pi
                                                 : signed_angle;
}

// Root of the sum over points and coordinates of (derivative * error)^2.
Result<double> error_from_points(const PhotoRecipe& recipe, const PhotoPoints& points) {
  double variance = 0.0;
  for (const auto& [name, point] : points) {
    // The point that only tells the sides apart moves nothing.
    const double step = std::max(0.05, 0.2 * point.error_px);
    for (int axis = 0; axis < 2; ++axis) {
      std::array<double, 2> value{};
      for (int k = 0; k < 2; ++k) {
        PhotoPoints moved = points;
        moved[name].position_px[axis] += k == 0 ? -step : step;
        value[static_cast<std::size_t>(k)] = LINTEL_TRY(raw_measure(recipe, moved));
      }
      double change = value[1] - value[0];
      if (recipe.measure != PhotoMeasure::Distance) {
        change = std::remainder(change, 2.0 * std::numbers::pi);
      }
      const double slope = change / (2.0 * step);
      variance += slope * slope * point.error_px * point.error_px;
    }
  }
  return std::sqrt(variance);
}

struct Scale {
  double metres_per_px = 0;
  double relative_error = 0;
};

Result<Scale> scale_of(const std::optional<KnownLength>& known, double px_per_metre) {
  if (!known) {
    Error error{ErrorCode::Invalid,
                "a distance on a photo needs a known length",
                {},
                "give a length in centimetres and its two ends, in the plane of the test "
                "(command line: --known-length-cm and --between x1,y1,x2,y2)",
                {}};
    error.place.field = "known_length_cm";
    return fail(std::move(error));
  }
  const double px = (known->to_px - known->from_px).norm();
  if (!(px >= 10.0) || !(known->length > 0.0)) {
    Error error{ErrorCode::Invalid,
                "the known length is shorter than ten pixels",
                {},
                "take a longer one, in the plane of the test",
                {}};
    error.place.field = "between";
    return fail(std::move(error));
  }
  const double end_px = std::hypot(0.5, constant("photo.click_error") * px_per_metre);
  return Scale{known->length / px,
               std::hypot(std::numbers::sqrt2 * end_px / px, constant("photo.depth_error"))};
}

bool uses_axis(const PhotoRecipe& recipe) {
  return recipe.first.axis != PhotoAxis::Free || recipe.second.axis != PhotoAxis::Free;
}

Error out_of_range(const body::TestProtocol& protocol, double value) {
  const double unit = body::si_per_unit(protocol.unit);
  const std::string name(body::protocol_unit_name(protocol.unit));
  return Error{ErrorCode::Invalid,
               text("the points give %.0f %s; allowed are %.0f to %.0f %s", value / unit,
                    name.c_str(), protocol.lowest / unit, protocol.highest / unit, name.c_str()),
               {},
               "look at the points, the side and the test, and move points with --points",
               {}};
}

}  // namespace

const std::vector<std::string>& photo_point_names() {
  static const std::vector<std::string> kNames = [] {
    std::vector<std::string> names = {"nose"};
    for (const char* prefix : {"", "other_", "mid_"}) {
      for (const std::string_view joint : kPaired) names.push_back(prefix + std::string(joint));
    }
    return names;
  }();
  return kNames;
}

std::vector<std::string> points_of(const PhotoRecipe& recipe) {
  std::vector<std::string> names;
  const auto add = [&](const std::string& name) {
    if (!name.empty() && std::find(names.begin(), names.end(), name) == names.end()) {
      names.push_back(name);
    }
  };
  for (const PhotoLine* line : {&recipe.first, &recipe.second}) {
    add(line->from);
    add(line->to);
  }
  add(recipe.positive_towards);
  return names;
}

double pixels_per_metre(const BodyObservation& body, double stature) {
  struct Length {
    PairedLandmark from, to;
    double of_stature;
  };
  constexpr std::array<Length, 5> kLengths = {{
      {PairedLandmark::Shoulder, PairedLandmark::Hip, 0.288},
      {PairedLandmark::Hip, PairedLandmark::Knee, 0.245},
      {PairedLandmark::Knee, PairedLandmark::Ankle, 0.246},
      {PairedLandmark::Shoulder, PairedLandmark::Elbow, 0.186},
      {PairedLandmark::Elbow, PairedLandmark::Wrist, 0.146},
  }};
  std::vector<double> seen;
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    for (const Length& length : kLengths) {
      const double px =
          (point_px(body, length.from, side) - point_px(body, length.to, side)).norm();
      seen.push_back(px / (length.of_stature * stature));
    }
  }
  // The longest two may be misplaced; segments that point at the camera look short.
  std::sort(seen.begin(), seen.end());
  return seen[seen.size() - 3];
}

PhotoPoints points_from_body(const PhotoRecipe& recipe, const BodyObservation& body, BodySide side,
                             double px_per_metre, std::optional<BodySide> far_side) {
  // Where the test is not seen from the side, left and right are as far.
  if (recipe.view != SketchView::Side) far_side.reset();
  PhotoPoints points;
  for (const std::string& name : points_of(recipe)) {
    if (std::find(recipe.by_hand.begin(), recipe.by_hand.end(), name) != recipe.by_hand.end()) {
      continue;
    }
    if (const auto point = point_of(name, body, side, px_per_metre, far_side))
      points[name] = *point;
  }
  return points;
}

bool uses_far_side(const PhotoPoints& points) {
  return std::any_of(points.begin(), points.end(),
                     [](const auto& point) { return point.second.far_side; });
}

Result<PhotoReading> measure_photo(const body::TestProtocol& protocol, const PhotoPoints& points,
                                   const std::optional<KnownLength>& known, double px_per_metre) {
  LINTEL_CHECK(protocol.photo.has_value());
  const PhotoRecipe& recipe = *protocol.photo;
  PhotoPoints used;
  for (const std::string& name : points_of(recipe)) {
    const auto found = points.find(name);
    if (found == points.end()) return fail(missing_point(name));
    used.insert(*found);
  }
  const double raw = LINTEL_TRY(raw_measure(recipe, used));
  const double spread = LINTEL_TRY(error_from_points(recipe, used));
  const double factor = std::abs(recipe.factor);
  PhotoReading reading;
  reading.from_method = recipe.standard_error;
  if (recipe.measure == PhotoMeasure::Distance) {
    const Scale scale = LINTEL_TRY(scale_of(known, px_per_metre));
    const double length = raw * scale.metres_per_px;
    reading.result.value = recipe.offset + recipe.factor * length;
    reading.from_points = factor * spread * scale.metres_per_px;
    reading.from_length = factor * length * scale.relative_error;
  } else {
    reading.result.value = recipe.offset + recipe.factor * raw;
    reading.from_points = factor * spread;
    if (uses_axis(recipe)) reading.from_vertical = factor * constant("photo.vertical_error");
  }
  reading.result.standard_error = std::hypot(std::hypot(reading.from_points, reading.from_vertical),
                                             std::hypot(reading.from_length, reading.from_method));
  const double value = reading.result.value;
  if (!(value >= protocol.lowest && value <= protocol.highest)) {
    return fail(out_of_range(protocol, value));
  }
  return reading;
}

}  // namespace lintel::kinematics
