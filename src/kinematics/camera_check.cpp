#include "kinematics/camera_check.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "kinematics/camera_turn.h"
#include "kinematics/landmarks.h"
#include "kinematics/message.h"

namespace lintel::kinematics {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();
// A camera on a stand or in hands: its pitch is not estimated here, only allowed for.
constexpr double kPitchError = 4.0 * kRadiansPerDegree;
constexpr double kSureAgreement = 0.8;  // of votes: then a contradiction is worth a remark
constexpr double kOutsideShare = 0.10;  // of frames with a joint outside: remark
constexpr double kLostShare = 0.20;     // of frames without body (or disc): remark
constexpr double kDiscTrustedUntil = 50.0 * kRadiansPerDegree;  // turn: beyond, the disc is edge-on

struct Votes {
  double facing = 1;
  double facing_agreement = 0;
  BodySide near_side = BodySide::Right;
  double side_agreement = 0;
  bool has_depth = false;
};

// Toe ahead of heel on both feet, nose ahead of the ears; nearer hip and shoulder by depth.
Votes vote(const ClipObservation& clip) {
  double forward = 0, total = 0, right_nearer = 0, depth_total = 0;
  for (const FrameObservation& frame : clip.frames) {
    if (!frame.body) continue;
    const BodyObservation& body = *frame.body;
    const auto add = [&](double x, double weight) {
      if (!std::isfinite(x) || !std::isfinite(weight)) return;
      forward += weight * x;
      total += weight * std::abs(x);
    };
    for (const BodySide side : {BodySide::Left, BodySide::Right}) {
      const auto& toe = at(body, PairedLandmark::Toe, side);
      const auto& heel = at(body, PairedLandmark::Heel, side);
      add(static_cast<double>(toe.position_px.x() - heel.position_px.x()),
          static_cast<double>(std::min(toe.confidence, heel.confidence)));
    }
    const auto& nose = body[Landmark::Nose];
    add(static_cast<double>(nose.position_px.x()) - midpoint_px(body, PairedLandmark::Ear).x(),
        static_cast<double>(nose.confidence));
    for (const auto joint : {PairedLandmark::Hip, PairedLandmark::Shoulder}) {
      const double difference = static_cast<double>(at(body, joint, BodySide::Left).depth_px -
                                                    at(body, joint, BodySide::Right).depth_px);
      if (!std::isfinite(difference) || difference == 0) continue;
      right_nearer += difference > 0 ? 1 : 0;
      depth_total += 1;
    }
  }
  Votes votes;
  votes.facing = forward >= 0 ? 1.0 : -1.0;
  votes.facing_agreement = total > 0 ? 0.5 + 0.5 * std::abs(forward) / total : 0.0;
  votes.has_depth = depth_total > 0;
  const double share = votes.has_depth ? right_nearer / depth_total : 0.5;
  votes.near_side = share >= 0.5 ? BodySide::Right : BodySide::Left;
  votes.side_agreement = std::max(share, 1.0 - share);
  return votes;
}

// Near side and facing belong together in an unmirrored picture; where the votes contradict each
// other the surer one is believed.
void settle_side(const Votes& votes, CameraFinding& out) {
  CameraCheck& check = out.check;
  check.facing = votes.facing;
  out.facing_agreement = votes.facing_agreement;
  out.side_agreement = votes.side_agreement;
  check.near_side = side_seen_when_facing(votes.facing);
  if (!votes.has_depth) {
    out.side_agreement = 0;
    return;
  }
  const bool contradiction = votes.near_side != check.near_side;
  if (!contradiction) return;
  if (votes.side_agreement > votes.facing_agreement) {
    check.near_side = votes.near_side;
    check.facing = votes.near_side == BodySide::Right ? 1.0 : -1.0;
    out.facing_agreement = 1.0 - votes.facing_agreement;
  } else {
    out.side_agreement = 1.0 - votes.side_agreement;
  }
  if (std::min(votes.side_agreement, votes.facing_agreement) > kSureAgreement) {
    out.warnings.push_back(
        {WarningCode::SideSwapped,
         "The nearer side and the direction that the athlete faces do not "
         "belong together: the picture is mirrored, or left and right were "
         "taken for each other.",
         "Switch off mirroring in the camera, or choose the near side by hand."});
  }
}

// The signed turn that the disc allows and that lies nearer to the body's; the disc alone cannot
// tell on which side of the line of sight the camera stands.
Estimate signed_turn(const DiscTurn& disc, const Estimate& body, double side) {
  const double one = side * disc.sight + disc.angle.value;
  const double other = side * disc.sight - disc.angle.value;
  const bool first = std::abs(one - body.value) <= std::abs(other - body.value);
  return {first ? one : other, disc.angle.standard_error};
}

// Turn of the camera's axis off a side view, from breadths and disc together.
Estimate combine_turn(const Estimate& body, const Estimate& disc) {
  if (!std::isfinite(disc.standard_error) || std::abs(body.value) > kDiscTrustedUntil) return body;
  const std::array<Estimate, 2> parts = {body, disc};
  Estimate out = weighted_mean(parts);
  // Two estimates further apart than their errors: the error grows (Birge ratio).
  const double apart =
      std::abs(body.value - disc.value) / std::hypot(body.standard_error, disc.standard_error);
  out.standard_error *= std::max(1.0, apart);
  return out;
}

void estimate_scale(const ClipObservation& clip, const CameraCheckOptions& options,
                    CameraFinding& out) {
  CameraCheck& check = out.check;
  const double f = out.focal_px.value;
  const double f_error = out.focal_px.standard_error / f;
  const Estimate axis = disc_half_height_px(clip, check.roll.value);
  std::array<Estimate, 2> scales = {{{0.0, kInfinity}, {0.0, kInfinity}}};
  if (check.view == View::Side && std::isfinite(axis.standard_error)) {
    const double at_disc = axis.value / options.disc_radius;  // pixels per metre there
    const double to_disc = f / at_disc;
    const double offset = options.disc_plane_offset * std::cos(check.yaw.value);
    const double scale = f / (to_disc + offset);
    // A longer assumed focal length moves the camera away and the two planes together.
    const double relative =
        std::hypot(axis.standard_error / axis.value * to_disc / (to_disc + offset),
                   f_error * offset / (to_disc + offset));
    scales[0] = {scale, relative * scale};
  }
  if (options.lengths) {
    const Estimate chain = standing_chain(*options.lengths);
    const double px = standing_chain_px(clip, out.standing_frames);
    if (px > 0 && chain.value > 0) {
      const double scale = px / chain.value;
      scales[1] = {scale, scale * chain.standard_error / chain.value};
    }
  }
  const bool has_disc = std::isfinite(scales[0].standard_error);
  const bool has_body = std::isfinite(scales[1].standard_error);
  check.scale_source = has_disc   ? ScaleSource::Disc
                       : has_body ? ScaleSource::Stature
                                  : ScaleSource::None;
  check.pixels_per_metre = has_disc || has_body ? weighted_mean(scales) : Estimate{kNan, kNan};
  const Estimate& scale = check.pixels_per_metre;
  const double distance = f / scale.value;
  check.distance = {distance, distance * std::hypot(f_error, scale.standard_error / scale.value)};
}

void warn_about_body(const ClipObservation& clip, CameraFinding& out) {
  static constexpr std::array kJoints = {PairedLandmark::Shoulder, PairedLandmark::Hip,
                                         PairedLandmark::Knee, PairedLandmark::Ankle};
  double outside = 0, bodies = 0;
  for (const FrameObservation& frame : clip.frames) {
    if (!frame.body) continue;
    bodies += 1;
    bool is_outside = false;
    for (const PairedLandmark joint : kJoints) {
      const Eigen::Vector2d p = midpoint_px(*frame.body, joint);
      is_outside =
          is_outside || p.x() < 0 || p.y() < 0 || p.x() > clip.width_px || p.y() > clip.height_px;
    }
    outside += is_outside ? 1 : 0;
  }
  if (clip.width_px > 0 && outside > kOutsideShare * bodies) {
    out.warnings.push_back(
        {WarningCode::BodyLeavesPicture,
         "Part of the body is outside of the picture in " + percent(outside / bodies) +
             " of the frames.",
         "Step back until feet and bar stay in the picture from top to bottom."});
  }
  if (out.body_share < 1.0 - kLostShare) {
    out.warnings.push_back(
        {WarningCode::BodyLost,
         "The body was found in only " + percent(out.body_share) + " of the frames.",
         "Film against a plain background, the whole body in the picture."});
  }
  if (is_upside_down(clip)) {
    out.warnings.push_back(
        {WarningCode::UpsideDown, "The athlete is upside down in the picture.",
         "Turn the clip by 180 degrees, or film with the phone the right way up."});
  }
  const bool side = out.check.view == View::Side;
  if (side && out.disc_share > 0 && out.disc_share < 1.0 - kLostShare) {
    out.warnings.push_back(
        {WarningCode::DiscLost,
         "The disc was found in only " + percent(out.disc_share) + " of the frames.",
         "Leave 0.3 m above the bar at lock-out, and use a disc that stands out "
         "from the wall."});
  }
}

// Turn off a side view [rad] with sign, and the view that it makes.
void settle_view(const ClipObservation& clip, const CameraCheckOptions& options,
                 CameraFinding& out) {
  CameraCheck& check = out.check;
  // Roll needs to know the view and the turn a little the roll: once around is enough.
  const Estimate first = turn_from_breadths(clip, out.standing_frames, options.lengths, 0.0);
  const bool front = std::abs(first.value) > kDiscTrustedUntil;
  check.roll = options.vertical_roll ? *options.vertical_roll
                                     : roll_from_scene(clip, out.standing_frames, check.facing,
                                                       front, options.disc_radius);
  Estimate turn = turn_from_breadths(clip, out.standing_frames, options.lengths, check.roll.value);
  // Line of sight to camera axis: the athlete may stand beside the middle of the picture.
  std::vector<double> hips;
  for (const std::size_t i : out.standing_frames) {
    hips.push_back(midpoint_px(*clip.frames[i].body, PairedLandmark::Hip).x());
  }
  const double side = check.near_side == BodySide::Right ? 1.0 : -1.0;
  if (clip.width_px > 0) {
    const double u = median_of(hips) - 0.5 * clip.width_px;
    turn.value += side * std::atan(u / out.focal_px.value);
    turn.standard_error =
        std::hypot(turn.standard_error, std::atan(u / out.focal_px.value) *
                                            out.focal_px.standard_error / out.focal_px.value);
  }
  out.turn_from_body = turn;
  out.turn_from_disc =
      signed_turn(turn_from_disc(clip, check.roll.value, out.focal_px.value), turn, side);
  check.yaw = combine_turn(out.turn_from_body, out.turn_from_disc);
  const double magnitude = std::abs(check.yaw.value);
  check.view = !std::isfinite(check.yaw.standard_error) ? View::Unknown
               : magnitude <= kTurnRefused              ? View::Side
               : magnitude >= kTurnFront                ? View::Front
                                                        : View::Oblique;
  if (check.view == View::Front) {
    check.yaw.value -= std::copysign(std::numbers::pi / 2.0, check.yaw.value);
  }
}

}  // namespace

bool side_measurement_allowed(const CameraCheck& check) {
  return check.view == View::Side && std::abs(check.yaw.value) <= kTurnRefused;
}

bool disc_arm_line_allowed(const CameraCheck& check) {
  return side_measurement_allowed(check) &&
         (check.yaw_corrected || std::abs(check.yaw.value) <= kTurnRefusedForDiscArm);
}

std::vector<Warning> camera_warnings(const CameraCheck& check, bool disc_seen) {
  std::vector<Warning> out;
  const double turn = std::abs(check.yaw.value);
  const bool side = check.view == View::Side;
  const std::string camera =
      "The camera is " + degrees_with_error({turn, check.yaw.standard_error});
  static const std::string kSquare =
      "Put the camera at hip height, level, straight beside the athlete, in line with the bar's "
      "end, 5 m away or more.";
  if (check.view == View::Oblique) {
    out.push_back({WarningCode::CameraTurned,
                   camera + " off a side view: too far to measure from; the limit is " +
                       degrees(kTurnRefused) + ".",
                   kSquare});
  } else if (side && check.yaw_corrected && turn > kTurnWarned) {
    out.push_back(
        {WarningCode::CameraTurnCorrected,
         camera + " off a side view; the angles are corrected for it, with larger errors.",
         kSquare});
  } else if (side && turn > kTurnWarned) {
    const std::string arm = turn > kTurnRefusedForDiscArm
                                ? ", and the arm cannot be measured from shoulder to disc"
                                : "";
    out.push_back(
        {WarningCode::CameraTurned,
         camera + " off a side view; knee and hip angles err by several degrees" + arm + ".",
         kSquare});
  } else if (check.view == View::Front && turn > 2.0 * kTurnWarned) {
    out.push_back({WarningCode::CameraTurned, camera + " off a front view.",
                   "Put the camera straight in front of the athlete."});
  }
  if (std::abs(check.roll.value) > std::max(kRollWarned, 1.5 * check.roll.standard_error)) {
    out.push_back({WarningCode::CameraRolled,
                   "The picture is tilted by about " + degrees_with_error(check.roll) + ".",
                   "Hold the phone level, best on a stand."});
  }
  if (side && !disc_seen) {
    out.push_back({WarningCode::NoDisc, "No disc was found on the bar's near end.",
                   "Load full-size discs (450 mm), or training discs of that size: they give scale "
                   "and bar path."});
  }
  if (side && check.scale_source == ScaleSource::Stature) {
    out.push_back(
        {WarningCode::ScaleFromStature,
         "Lengths are scaled from the stature: " +
             percent(check.pixels_per_metre.standard_error / check.pixels_per_metre.value) +
             " standard error.",
         "Full-size discs on the bar give a better scale."});
  }
  return out;
}

CameraFinding check_camera(const ClipObservation& clip, const CameraCheckOptions& options) {
  CameraFinding out;
  double bodies = 0, discs = 0;
  for (const FrameObservation& frame : clip.frames) {
    bodies += frame.body ? 1 : 0;
    discs += frame.disc ? 1 : 0;
  }
  const double frames = static_cast<double>(std::max<std::size_t>(1, clip.frames.size()));
  out.body_share = bodies / frames;
  out.disc_share = discs / frames;
  const double guessed = kFocalPerLongSide * std::max({clip.width_px, clip.height_px, 1});
  out.focal_px = options.focal_px.value_or(Estimate{guessed, kFocalRelativeError * guessed});
  out.turn_from_body = out.turn_from_disc = {0.0, kInfinity};
  CameraCheck& check = out.check;
  check.pitch = {0.0, kPitchError};
  check.yaw = check.roll = {0.0, kInfinity};
  check.distance = check.pixels_per_metre = {kNan, kNan};
  out.standing_frames = standing_frames_of(clip);
  if (out.standing_frames.empty()) {
    out.warnings.push_back({WarningCode::BodyLost, "No body was found in the clip.",
                            "Film the whole body from the side, in good light."});
    return out;
  }
  settle_side(vote(clip), out);
  settle_view(clip, options, out);
  estimate_scale(clip, options, out);
  warn_about_body(clip, out);
  for (Warning& warning : camera_warnings(check, discs > 0)) {
    out.warnings.push_back(std::move(warning));
  }
  return out;
}

}  // namespace lintel::kinematics
