#include "demo/truth.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <nlohmann/json.hpp>

#include "base/units.h"

namespace lintel::demo {

namespace {

using Json = nlohmann::ordered_json;

double rounded(double value) {
  return std::round(value * 1e6) / 1e6;
}
double in_degrees(double value) {
  return rounded(value * kDegreesPerRadian);
}
Json metres(const Point& p) {
  return Json::array({rounded(p.x()), rounded(p.y()), rounded(p.z())});
}
Json pixels(const Eigen::Vector2d& p) {
  return Json::array({rounded(p.x()), rounded(p.y())});
}

struct NamedPoint {
  std::string name;
  Point position;
};

std::vector<NamedPoint> named_points(const Skeleton& k) {
  std::vector<NamedPoint> out;
  for (int side : {kLeft, kRight}) {
    const Limbs& l = k.side[static_cast<std::size_t>(side)];
    const std::string prefix = side == kLeft ? "left_" : "right_";
    out.push_back({prefix + "shoulder", l.shoulder});
    out.push_back({prefix + "elbow", l.elbow});
    out.push_back({prefix + "wrist", l.wrist});
    out.push_back({prefix + "hand", l.hand});
    out.push_back({prefix + "hip", l.hip});
    out.push_back({prefix + "knee", l.knee});
    out.push_back({prefix + "ankle", l.ankle});
    out.push_back({prefix + "heel", l.heel});
    out.push_back({prefix + "ball", l.ball});
    out.push_back({prefix + "toe", l.toe});
    out.push_back({prefix + "ear", k.ear[static_cast<std::size_t>(side)]});
  }
  out.push_back({"nose", k.nose});
  out.push_back({"head_top", k.head_top});
  out.push_back({"mid_hip", k.mid_hip});
  out.push_back({"mid_shoulder", k.mid_shoulder});
  out.push_back({"mid_foot", k.mid_foot});
  out.push_back({"bar", k.bar});
  return out;
}

Json angles_json(const Skeleton& k) {
  const SagittalAngles a = sagittal_angles(k);
  return {{"trunk_inclination_deg", in_degrees(a.trunk)},
          {"thigh_inclination_deg", in_degrees(a.thigh)},
          {"shank_inclination_deg", in_degrees(a.shank)},
          {"foot_inclination_deg", in_degrees(a.foot)},
          {"arm_inclination_deg", in_degrees(a.arm)},
          {"ankle_dorsiflexion_deg", in_degrees(a.ankle_dorsiflexion)},
          {"knee_flexion_deg", in_degrees(a.knee_flexion)},
          {"hip_flexion_deg", in_degrees(a.hip_flexion)},
          {"shoulder_elevation_deg", in_degrees(a.shoulder_elevation)},
          {"elbow_flexion_deg", in_degrees(a.elbow_flexion)}};
}

const char* view_name(const ClipSpec& clip) {
  const double across = std::fabs(std::sin(clip.camera.azimuth));
  if (across > 0.9) return "front";
  return across > std::sin(15 * kRadiansPerDegree) ? "oblique" : "side";
}

// Turn off square, towards the lifter's front positive [rad].
double yaw_off_square(const ClipSpec& clip) {
  if (std::string(view_name(clip)) == "front") return clip.camera.azimuth - 0.5 * std::numbers::pi;
  return std::asin(std::sin(clip.camera.azimuth));
}

Json camera_json(const ClipSpec& clip) {
  const Camera camera = make_camera(clip.camera);
  Json rows = Json::array();
  for (int i = 0; i < 3; ++i) {
    const Point row = camera.R_CW.row(i);
    rows.push_back(metres(row));
  }
  return {{"width_px", camera.width_px},
          {"height_px", camera.height_px},
          {"focal_px", rounded(camera.focal_px)},
          {"principal_point_px", Json::array({0.5 * camera.width_px, 0.5 * camera.height_px})},
          {"position_m", metres(camera.position)},
          {"rotation_rows", rows},
          {"view", view_name(clip)},
          {"near_side", near_side(clip) == kRight ? "right" : "left"},
          {"facing", near_side(clip) == kRight ? "image_right" : "image_left"},
          {"yaw_deg", in_degrees(yaw_off_square(clip))},
          {"roll_deg", in_degrees(clip.camera.roll)},
          {"pitch_deg", in_degrees(clip.camera.pitch)},
          {"distance_m", rounded(clip.camera.distance)}};
}

Json lengths_json(const ClipSpec& clip) {
  const Lengths& l = clip.lifter.lengths;
  return {{"stature_m", rounded(l.stature)},
          {"shank_m", rounded(l.shank)},
          {"thigh_m", rounded(l.thigh)},
          {"trunk_m", rounded(trunk_length(l, clip.setup))},
          {"upper_arm_m", rounded(l.upper_arm)},
          {"forearm_m", rounded(l.forearm)},
          {"grip_m", rounded(l.grip)},
          {"head_neck_m", rounded(l.head_neck)},
          {"foot_m", rounded(l.foot)},
          {"heel_to_ankle_m", rounded(l.heel_to_ankle)},
          {"ankle_height_shod_m", rounded(l.ankle_height)},
          {"inter_hip_m", rounded(l.inter_hip)},
          {"inter_shoulder_m", rounded(l.inter_shoulder)}};
}

const char* bar_kind_name(BarKind kind) {
  switch (kind) {
    case BarKind::Barbell:
      return "barbell";
    case BarKind::Pipe:
      return "pipe";
    case BarKind::None:
      return "none";
  }
  return "";
}

const char* bar_position_name(const ClipSpec& clip) {
  switch (clip.setup.arms) {
    case ArmPose::Overhead:
      return "overhead";
    case ArmPose::Back:
      return "back";
    case ArmPose::Hanging:
      return "none";
  }
  return "";
}

Json setup_json(const ClipSpec& clip) {
  Json j = {{"bar_mass_kg", rounded(clip.setup.bar_mass)}};
  if (clip.bar.kind == BarKind::Barbell) {
    j["disc_diameter_mm"] = rounded(clip.bar.disc_diameter * 1000);
  }
  j["bar_position"] = bar_position_name(clip);
  j["stance_width_cm"] = rounded(clip.setup.stance_width * 100);
  j["toe_out_deg"] = in_degrees(clip.setup.toe_out);
  j["heel_elevation_cm"] = 0.0;
  j["grip_width_cm"] = rounded(clip.setup.grip_width * 100);
  return j;
}

std::size_t nearest_frame(const std::vector<FrameTruth>& frames, double time) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < frames.size(); ++i) {
    if (std::fabs(frames[i].time - time) < std::fabs(frames[best].time - time)) best = i;
  }
  return best;
}

Json repetitions_json(const ClipSpec& clip, const std::vector<FrameTruth>& frames) {
  Json out = Json::array();
  if (clip.motion.movement != Movement::Squat) return out;
  const Motion motion(clip.motion, clip.seed);
  for (const RepetitionTruth& r : motion.repetitions()) {
    out.push_back({{"start_s", rounded(r.start)},
                   {"bottom_start_s", rounded(r.bottom_start)},
                   {"bottom_s", rounded(r.bottom)},
                   {"bottom_end_s", rounded(r.bottom_end)},
                   {"end_s", rounded(r.end)},
                   {"bottom_frame", nearest_frame(frames, r.bottom)},
                   {"outcome", r.outcome == Outcome::Completed ? "completed" : "failed"}});
  }
  return out;
}

Json events_json(const ClipSpec& clip) {
  Json out = Json::array();
  const auto add = [&](const char* event) { out.push_back(event); };
  if (clip.motion.give_way > 0) add("shoulder_gives_way");
  if (clip.motion.failed_repetition >= 0) add("failed_repetition");
  if (clip.motion.heel_lift > 0) add("heels_lift");
  if (clip.motion.movement == Movement::ForwardBend) add("forward_bend");
  if (clip.bystander) add("second_person");
  return out;
}

Json frame_json(const ClipSpec& clip, const Camera& camera, const FrameTruth& frame,
                double standing_heel) {
  const Skeleton& k = frame.skeleton;
  Json joints = Json::object();
  Json picture = Json::object();
  for (const NamedPoint& p : named_points(k)) {
    joints[p.name] = metres(p.position);
    picture[p.name] = pixels(camera.project(p.position));
  }
  const double hip = k.mid_hip.y();
  const double knee = 0.5 * (k.side[kLeft].knee.y() + k.side[kRight].knee.y());
  const double heel = 0.5 * (k.side[kLeft].heel.y() + k.side[kRight].heel.y());
  Json j = {{"time_s", rounded(frame.time)},
            {"angles_deg", angles_json(k)},
            {"heel_lift_m", rounded(heel - standing_heel)},
            {"depth_m", rounded(knee - hip)},
            {"hip_height_m", rounded(hip)},
            {"bar_x_m", rounded(k.bar.x() - k.mid_foot.x())},
            {"bar_y_m", rounded(k.bar.y())},
            {"center_of_mass_x_m", rounded(k.center_of_mass.x() - k.mid_foot.x())},
            {"center_of_mass_y_m", rounded(k.center_of_mass.y())},
            {"joints_m", joints},
            {"joints_px", picture}};
  if (clip.bar.kind == BarKind::Barbell) {
    const double side = near_side(clip) == kRight ? 1.0 : -1.0;
    const double z = disc_outer_face_z(clip.bar);
    const Point near = k.bar + Point(0, 0, side * z);
    const Point far = k.bar - Point(0, 0, side * z);
    j["near_disc_px"] = pixels(camera.project(near));
    j["near_disc_radius_px"] =
        rounded(0.5 * clip.bar.disc_diameter * camera.focal_px / camera.depth(near));
    j["far_disc_px"] = pixels(camera.project(far));
  }
  return j;
}

}  // namespace

Result<std::vector<FrameTruth>> clip_truth(const ClipSpec& clip) {
  const Motion motion(clip.motion, clip.seed);
  std::vector<FrameTruth> frames;
  for (const double time : frame_times(clip)) {
    auto skeleton = motion.skeleton(clip.lifter, clip.setup, time);
    if (!skeleton) {
      Error error = skeleton.error();
      error.place.field = clip.name;
      error.place.frame = static_cast<std::int64_t>(frames.size());
      return fail(std::move(error));
    }
    frames.push_back({time, *skeleton});
  }
  return frames;
}

std::string truth_json(const ClipSpec& clip, const std::vector<FrameTruth>& frames) {
  const Camera camera = make_camera(clip.camera);
  const double standing_heel = frames.empty() ? 0 : frames.front().skeleton.side[kRight].heel.y();
  Json j;
  j["schema"] = "lintel-clip-truth-1";
  j["content_version"] = kContentVersion;
  j["name"] = clip.name;
  j["description"] = clip.description;
  j["seed"] = clip.seed;
  j["nominal_rate_hz"] = clip.rate_hz;
  j["variable_rate"] = clip.variable_rate;
  j["quality"] = clip.quality;
  j["noise"] = rounded(static_cast<double>(clip.light.noise));
  j["light_gain"] = rounded(static_cast<double>(clip.light.gain));
  j["camera"] = camera_json(clip);
  j["body"] = lengths_json(clip);
  j["body"]["mass_kg"] = rounded(clip.lifter.mass);
  j["setup"] = setup_json(clip);
  j["bar"] = {{"kind", bar_kind_name(clip.bar.kind)}, {"length_m", rounded(clip.bar.length)}};
  if (clip.bar.kind == BarKind::Barbell) {
    j["bar"]["disc_diameter_m"] = rounded(clip.bar.disc_diameter);
    j["bar"]["disc_outer_face_z_m"] = rounded(disc_outer_face_z(clip.bar));
  }
  j["repetitions"] = repetitions_json(clip, frames);
  j["events"] = events_json(clip);
  Json list = Json::array();
  for (const FrameTruth& frame : frames) {
    list.push_back(frame_json(clip, camera, frame, standing_heel));
  }
  j["frames"] = std::move(list);
  return j.dump(-1) + "\n";
}

std::string athlete_json(const ClipSpec& clip) {
  std::string id = clip.lifter.name;
  std::transform(id.begin(), id.end(), id.begin(),
                 [](char c) { return c == ' ' ? '-' : static_cast<char>(std::tolower(c)); });
  Json tests = Json::object();
  for (const auto& [key, value] : clip.tests) tests[key] = value;
  const Json j = {{"schema", "lintel-athlete-1"},
                  {"id", id},
                  {"name", clip.lifter.name},
                  {"sex", clip.lifter.sex == Sex::Female ? "female" : "male"},
                  {"body",
                   {{"stature_cm", rounded(clip.lifter.lengths.stature * 100)},
                    {"mass_kg", rounded(clip.lifter.mass)}}},
                  {"setup", setup_json(clip)},
                  {"tests", tests}};
  return j.dump(2) + "\n";
}

}  // namespace lintel::demo
