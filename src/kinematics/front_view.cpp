#include "kinematics/front_view.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <span>

#include "kinematics/camera_turn.h"
#include "kinematics/landmarks.h"
#include "kinematics/repetitions.h"

namespace lintel::kinematics {
namespace {

using body::Segment;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr Estimate kUnknown{kNan, kNan};

// The landmarks of heel and toe lie inside the foot's length: from the back of the heel to about
// the ball of the great toe (share of the foot; judgement from pictures).
constexpr double kHeelToToePerFoot = 0.80;
constexpr double kHeelToToeError = 0.10;  // relative
constexpr double kMostToeOutSine = 0.95;  // beyond 72 degrees the sine says nothing
// Bottom: the knees are nearer to the camera than hips and ankles by about this share of the
// thigh, and with it look further out.
constexpr double kKneeAheadPerThigh = 0.75;
constexpr double kKneeAheadError = 0.20;  // share of the thigh
constexpr double kGripDepthError = 0.02;  // relative: the bar is not quite in the body's plane
constexpr double kRollError = 1.0 * kRadiansPerDegree;

// Picture to the athlete's frontal plane: Z to the athlete's right, Y up [m], from the middle of
// the picture; the roll taken out.
class FrontPlane {
 public:
  FrontPlane(const ClipObservation& clip, double scale, double roll, bool from_behind)
      : middle_(0.5 * clip.width_px, 0.5 * clip.height_px),
        scale_(scale),
        cosine_(std::cos(roll)),
        sine_(std::sin(roll)),
        right_(from_behind ? 1.0 : -1.0) {}

  Eigen::Vector2d operator()(const Eigen::Vector2d& p_px) const {
    const Eigen::Vector2d p = (p_px - middle_) / scale_;
    return {right_ * (cosine_ * p.x() + sine_ * p.y()), -(cosine_ * p.y() - sine_ * p.x())};
  }
  Eigen::Vector2d point(const BodyObservation& body, PairedLandmark joint, BodySide side) const {
    return (*this)(point_px(body, joint, side));
  }
  // Unit vector to the athlete's side of that name.
  static double outward(BodySide side) { return side == BodySide::Right ? 1.0 : -1.0; }

 private:
  Eigen::Vector2d middle_;
  double scale_;
  double cosine_, sine_;
  double right_;
};

struct Scene {
  const ClipObservation& clip;
  FrontPlane plane;
  double relative_scale_error;
  double point_error;  // [m]
  double distance;     // [m]
  const std::optional<body::SegmentLengths>& lengths;
};

// Median over frames of a number from a body.
template <typename F>
double median_over(const Scene& scene, std::span<const std::size_t> frames, const F& number) {
  std::vector<double> values;
  for (const std::size_t i : frames) {
    if (!scene.clip.frames[i].body) continue;
    const double x = number(*scene.clip.frames[i].body);
    if (std::isfinite(x)) values.push_back(x);
  }
  return median_of(std::move(values));
}

Estimate width_between(const Scene& scene, std::span<const std::size_t> frames,
                       PairedLandmark joint, double more_relative_error) {
  const double width = median_over(scene, frames, [&](const BodyObservation& body) {
    return scene.plane.point(body, joint, BodySide::Right).x() -
           scene.plane.point(body, joint, BodySide::Left).x();
  });
  const double relative = std::hypot(scene.relative_scale_error, more_relative_error);
  return {width, std::hypot(std::numbers::sqrt2 * scene.point_error, relative * width)};
}

// Toe-out from the sideways part of heel to toe: sine = sideways / length. The heel is further
// from the camera by the rest of the foot, which shifts it towards the middle of the picture.
Estimate toe_out(const Scene& scene, std::span<const std::size_t> frames, BodySide side) {
  if (!scene.lengths) return kUnknown;
  const double foot = kHeelToToePerFoot * (*scene.lengths)[Segment::Foot].value;
  if (!(foot > 0)) return kUnknown;
  const double sideways = median_over(scene, frames, [&](const BodyObservation& body) {
    const double toe = scene.plane.point(body, PairedLandmark::Toe, side).x();
    const double heel = scene.plane.point(body, PairedLandmark::Heel, side).x();
    // x as seen = x (1 + ahead / distance); half of the foot ahead, half behind its middle.
    const double magnification = 0.5 * foot / scene.distance;
    return FrontPlane::outward(side) * (toe * (1.0 - magnification) - heel * (1.0 + magnification));
  });
  const double sine = std::clamp(sideways / foot, -kMostToeOutSine, kMostToeOutSine);
  const double angle = std::asin(sine);
  const double sine_error =
      std::hypot(std::numbers::sqrt2 * scene.point_error / foot, sine * kHeelToToeError);
  return {angle, sine_error / std::cos(angle)};
}

// Knee against the line hip - ankle, perpendicular, outward positive [m].
Estimate knee_line(const Scene& scene, std::span<const std::size_t> frames, BodySide side) {
  const double thigh = scene.lengths ? (*scene.lengths)[Segment::Thigh].value : 0.0;
  const double nearer = kKneeAheadPerThigh * thigh / scene.distance;
  const auto knee_of = [&](const BodyObservation& body) {
    return Eigen::Vector2d(scene.plane.point(body, PairedLandmark::Knee, side) * (1.0 - nearer));
  };
  const double distance = median_over(scene, frames, [&](const BodyObservation& body) {
    const Eigen::Vector2d ankle = scene.plane.point(body, PairedLandmark::Ankle, side);
    const Eigen::Vector2d up = scene.plane.point(body, PairedLandmark::Hip, side) - ankle;
    const Eigen::Vector2d knee = knee_of(body) - ankle;
    // Cross product of the line upwards and the knee: right of the line positive.
    return FrontPlane::outward(side) * (knee.x() * up.y() - knee.y() * up.x()) / up.norm();
  });
  const double knee_x =
      median_over(scene, frames, [&](const BodyObservation& body) { return knee_of(body).x(); });
  const double from_depth = std::abs(knee_x) * kKneeAheadError * thigh / scene.distance;
  const double from_points = std::sqrt(1.5) * scene.point_error;  // knee and half of both ends
  return {distance,
          std::hypot(std::hypot(from_points, from_depth), scene.relative_scale_error * distance)};
}

Estimate hip_shift(const Scene& scene, std::span<const std::size_t> frames) {
  const double shift = median_over(scene, frames, [&](const BodyObservation& body) {
    const auto middle = [&](PairedLandmark joint) {
      return 0.5 * (scene.plane.point(body, joint, BodySide::Left).x() +
                    scene.plane.point(body, joint, BodySide::Right).x());
    };
    return middle(PairedLandmark::Hip) - middle(PairedLandmark::Ankle);
  });
  // Roll error tips the hips over the feet by the hips' height (about a quarter metre, deep).
  return {shift, std::hypot(scene.point_error, 0.3 * kRollError)};
}

Estimate bar_tilt(const Scene& scene, std::span<const std::size_t> frames, double roll_error) {
  double width = 0;
  const double tilt = median_over(scene, frames, [&](const BodyObservation& body) {
    const Eigen::Vector2d d =
        scene.plane.point(body, PairedLandmark::IndexKnuckle, BodySide::Right) -
        scene.plane.point(body, PairedLandmark::IndexKnuckle, BodySide::Left);
    width = d.norm();
    return std::atan2(-d.y(), d.x());
  });
  if (!(width > 0)) return kUnknown;
  return {tilt, std::hypot(std::numbers::sqrt2 * scene.point_error / width, roll_error)};
}

// Frames around the bottoms of completed (else of any) repetitions.
std::vector<std::size_t> bottom_frames(const ClipObservation& clip, FrontFinding& out) {
  std::vector<double> time, height;
  for (const FrameObservation& frame : clip.frames) {
    time.push_back(frame.time);
    height.push_back(frame.body ? midpoint_px(*frame.body, PairedLandmark::Ankle).y() -
                                      midpoint_px(*frame.body, PairedLandmark::Hip).y()
                                : kNan);
  }
  std::vector<std::size_t> frames;
  const auto found = find_repetitions({time, height, {}});
  if (!found || found->empty()) return frames;
  const bool any_completed = std::any_of(found->begin(), found->end(), [](const auto& r) {
    return r.outcome == RepetitionOutcome::Completed;
  });
  double lowest = std::numeric_limits<double>::infinity();
  for (const RepetitionEvents& r : *found) {
    if (any_completed && r.outcome != RepetitionOutcome::Completed) continue;
    out.squat_seen = true;
    if (r.lowest_hip_height < lowest) {
      lowest = r.lowest_hip_height;
      out.bottom_frame = r.bottom_frame;
    }
    const std::size_t first = r.bottom_frame > 1 ? r.bottom_frame - 2 : 0;
    for (std::size_t i = first; i < std::min(r.bottom_frame + 3, clip.frames.size()); ++i) {
      if (clip.frames[i].body) frames.push_back(i);
    }
  }
  return frames;
}

}  // namespace

Result<FrontFinding> measure_front(const ClipObservation& clip, const FrontOptions& options) {
  CameraCheckOptions camera_options;
  camera_options.lengths = options.lengths;
  camera_options.focal_px = options.focal_px;
  const CameraFinding camera = check_camera(clip, camera_options);
  if (camera.standing_frames.empty()) {
    return fail(ErrorCode::Invalid, "no body was found in the front clip",
                "film the whole body from the front, in good light");
  }
  if (camera.check.view == View::Side) {
    return fail(ErrorCode::Unsupported, "the clip shows the athlete from the side",
                "choose it as the side clip, or film from straight in front");
  }
  FrontFinding out;
  out.warnings = camera.warnings;
  out.from_behind = camera.turn_from_body.value < 0;
  FrontMeasurement& m = out.measurement;
  m = {kUnknown, {kUnknown, kUnknown}, kUnknown, {kUnknown, kUnknown}, kUnknown, kUnknown};
  out.pixels_per_metre = camera.check.pixels_per_metre;
  const bool has_scale = out.pixels_per_metre.value > 0;
  // Without a scale the tilt still comes out: any scale will do for an angle. The point error is
  // then taken against the usual chain of 1.33 m.
  const double chain = standing_chain_px(clip, camera.standing_frames);
  const double scale = has_scale ? out.pixels_per_metre.value : chain / 1.33;
  const double relative =
      has_scale ? out.pixels_per_metre.standard_error / out.pixels_per_metre.value : 0.10;
  if (!(scale > 0)) return out;
  const Scene scene{clip,
                    FrontPlane(clip, scale, camera.check.roll.value, out.from_behind),
                    relative,
                    options.landmark_standard_error,
                    camera.focal_px.value / scale,
                    options.lengths};
  const std::vector<std::size_t> bottom = bottom_frames(clip, out);
  const std::vector<std::size_t>& standing = camera.standing_frames;
  if (has_scale) {
    m.stance_width = width_between(scene, standing, PairedLandmark::Heel, 0.0);
    m.grip_width = width_between(scene, standing, PairedLandmark::IndexKnuckle, kGripDepthError);
    for (const BodySide side : {BodySide::Left, BodySide::Right}) {
      const auto i = static_cast<std::size_t>(side);
      m.toe_out[i] = toe_out(scene, standing, side);
      if (!bottom.empty()) m.knee_line_bottom[i] = knee_line(scene, bottom, side);
    }
    if (!bottom.empty()) m.hip_shift_bottom = hip_shift(scene, bottom);
  }
  if (!bottom.empty())
    m.bar_tilt_bottom = bar_tilt(scene, bottom, camera.check.roll.standard_error);
  return out;
}

}  // namespace lintel::kinematics
