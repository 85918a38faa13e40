#include "demo/clips.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/random.h"
#include "base/units.h"

namespace lintel::demo {

namespace {

constexpr double kSpread = 0.04;  // of segment lengths about the population's mean
constexpr double kMenBar = 2.20, kWomenBar = 2.01;
constexpr double kMenSleeve = 0.415, kWomenSleeve = 0.320;

double degrees(double value) {
  return value * kRadiansPerDegree;
}

Lifter person(const std::string& name, Sex sex, double stature, double mass, const char* look,
              std::uint64_t seed) {
  Lifter l;
  l.name = name;
  l.sex = sex;
  l.mass = mass;
  l.lengths = varied_lengths(stature, kSpread, seed);
  l.look = look_by_name(look);
  return l;
}

BarSpec bar_for(Sex sex, Color rubber) {
  BarSpec b;
  b.length = sex == Sex::Male ? kMenBar : kWomenBar;
  b.sleeve_length = sex == Sex::Male ? kMenSleeve : kWomenSleeve;
  b.disc_color = rubber;
  return b;
}

const Color kRed = srgb(178, 34, 38), kBlue = srgb(28, 74, 156), kYellow = srgb(224, 180, 40),
            kGreen = srgb(34, 124, 66), kBlack = srgb(34, 35, 38);

// Camera square to the side that makes the lifter face image right (+1) or left (-1), turned by
// `yaw` [rad] towards the lifter's front.
CameraSpec side_camera(int facing, double yaw) {
  CameraSpec c;
  c.azimuth = facing > 0 ? yaw : std::numbers::pi - yaw;
  c.aim_x = 0.04;
  return c;
}

// A male lifter with a 40 kg bar, seen from his right side.
ClipSpec basic(const std::string& name, std::uint64_t seed, const std::string& description) {
  ClipSpec c;
  c.name = name;
  c.seed = seed;
  c.description = description;
  c.lifter = person("Jorek Tallmoor", Sex::Male, 1.76, 79, "harbor", seed);
  c.bar = bar_for(Sex::Male, kRed);
  c.camera = side_camera(1, 0);
  c.setup.stance_width = 0.38;
  c.setup.grip_width = 0.80;
  return c;
}

// A female lifter with a 25 kg bar, seen from her left side.
ClipSpec basic_female(const std::string& name, std::uint64_t seed, const std::string& description) {
  ClipSpec c = basic(name, seed, description);
  c.lifter = person("Mila Sundrev", Sex::Female, 1.66, 62, "buoy", seed);
  c.bar = bar_for(Sex::Female, kYellow);
  c.setup.bar_mass = 25;
  c.setup.stance_width = 0.33;
  c.setup.grip_width = 0.80;
  c.camera = side_camera(-1, 0);
  c.camera.focal_px = 1740;
  return c;
}

void add_showcase(std::vector<ClipSpec>& out) {
  ClipSpec c =
      basic("demo", 11, "The clip of the README: three repetitions, a stiff ankle, a lean");
  c.lifter = person("Ansa Brinvik", Sex::Female, 1.70, 66, "buoy", 11);
  c.bar = bar_for(Sex::Female, kBlue);
  c.setup.bar_mass = 35;
  c.setup.stance_width = 0.34;
  c.setup.grip_width = 0.78;
  c.setup.toe_out = degrees(16);
  c.camera = side_camera(1, degrees(2));
  c.camera.width_px = 720;
  c.camera.height_px = 1280;
  c.camera.focal_px = 2300;
  c.motion.repetitions = 3;
  c.motion.lead_in = 0.6;
  c.motion.descent = 1.25;
  c.motion.pause = 0.25;
  c.motion.ascent = 1.05;
  c.motion.rest = 0.55;
  c.motion.shank_bottom = 0.50;
  c.motion.thigh_bottom = 1.64;
  c.motion.bar_drift = 0.045;
  c.motion.balance_bottom = -0.022;
  c.tests = {{"knee_to_wall_left_cm", 6.5},          {"knee_to_wall_right_cm", 6.0},
             {"hip_flexion_left_deg", 124},          {"hip_flexion_right_deg", 126},
             {"thoracic_rotation_left_deg", 46},     {"thoracic_rotation_right_deg", 44},
             {"arm_to_wall_turned_in_left_deg", 0},  {"arm_to_wall_turned_in_right_deg", 2},
             {"arm_to_wall_turned_out_left_deg", 6}, {"arm_to_wall_turned_out_right_deg", 7}};
  out.push_back(c);

  c.name = "demo-four-weeks";
  c.description =
      "The lifter of the README four weeks on: the shin comes forward, the lean is less";
  c.seed = 12;
  c.motion.repetitions = 2;
  c.motion.shank_bottom = 0.58;
  c.motion.thigh_bottom = 1.65;
  c.motion.bar_drift = 0.035;
  c.motion.balance_bottom = -0.02;
  c.tests.clear();
  out.push_back(c);
}

void add_side_views(std::vector<ClipSpec>& out) {
  out.push_back(basic("side-30", 21, "Square side view, 30 frames a second, one deep repetition"));

  ClipSpec c = basic_female("side-60", 22, "Square side view, 60 frames a second, facing left");
  c.rate_hz = 60;
  c.motion.lead_in = 0.25;
  c.motion.descent = 0.95;
  c.motion.pause = 0.15;
  c.motion.ascent = 0.75;
  c.motion.rest = 0.15;
  out.push_back(c);

  c = basic("side-tall", 23, "A tall man, parallel depth, facing left");
  c.lifter = person("Oskel Varnhagen", Sex::Male, 1.92, 95, "kelp", 23);
  c.bar.disc_color = kGreen;
  c.setup.bar_mass = 60;
  c.setup.grip_width = 0.90;
  c.setup.stance_width = 0.42;
  c.camera = side_camera(-1, 0);
  c.camera.focal_px = 1560;
  c.camera.height = 1.25;
  c.motion.thigh_bottom = degrees(90);
  c.motion.shank_bottom = 0.70;
  out.push_back(c);

  c = basic_female("side-short-female", 24, "A short woman, deep, facing right");
  c.lifter = person("Tova Ilmaris", Sex::Female, 1.54, 52, "dusk", 24);
  c.setup.bar_mass = 20;
  c.setup.grip_width = 0.68;
  c.setup.stance_width = 0.30;
  c.bar.disc_color = kBlue;
  c.camera = side_camera(1, 0);
  c.camera.focal_px = 1800;
  c.camera.height = 1.10;
  c.motion.thigh_bottom = degrees(108);
  c.motion.shank_bottom = 0.68;
  out.push_back(c);

  c = basic("side-yaw8", 25, "The camera eight degrees off square, towards the front; rolled 1.5");
  c.camera = side_camera(1, degrees(8));
  c.camera.roll = degrees(1.5);
  c.bar.disc_color = kGreen;
  out.push_back(c);
}

void add_other_views(std::vector<ClipSpec>& out) {
  ClipSpec c = basic("oblique-20", 31, "The camera twenty degrees off square, towards the front");
  c.camera = side_camera(1, degrees(20));
  c.lifter.look = look_by_name("slate");
  c.bar.disc_color = kYellow;
  out.push_back(c);

  c = basic_female("oblique-minus20", 32, "Twenty degrees off square, towards the back");
  c.camera = side_camera(-1, degrees(-20));
  c.lifter.look = look_by_name("sand");
  c.bar.disc_color = kRed;
  out.push_back(c);

  c = basic("front", 33, "Seen from the front");
  c.camera.azimuth = degrees(90);
  c.camera.aim_x = 0;
  c.camera.distance = 5.6;
  c.camera.focal_px = 1280;
  c.camera.height = 1.15;
  c.motion.knee_in = degrees(5);
  c.bar.disc_color = kBlue;
  out.push_back(c);
}

void add_difficult_pictures(std::vector<ClipSpec>& out) {
  ClipSpec c = basic("poor-light", 41, "A dark gym, much sensor noise");
  c.light.gain = 0.20F;
  c.light.ambient = 0.60F;
  c.light.tint = {1.0F, 0.88F, 0.70F};
  c.light.noise = 9.0F;
  c.bar.disc_color = kBlack;
  c.lifter.look = look_by_name("sand");
  c.motion.lead_in = 0.35;
  c.motion.rest = 0.25;
  out.push_back(c);

  c = basic_female("compressed", 42, "Strongly compressed, as sent by a messenger");
  c.quality = 36;
  c.light.noise = 3.0F;
  c.motion.lead_in = 0.35;
  c.motion.rest = 0.25;
  out.push_back(c);

  c = basic("two-people", 43, "A second person stands aside and watches");
  Bystander b;
  b.lifter = person("Runa Feldsted", Sex::Female, 1.72, 66, "dusk", 143);
  b.place.x = -0.78;
  b.place.z = -1.15;
  b.place.turn = degrees(-35);
  c.bystander = b;
  c.camera.focal_px = 1580;
  out.push_back(c);

  c = basic("vfr", 44, "A phone's uneven frame times");
  c.variable_rate = true;
  c.lifter.look = look_by_name("kelp");
  c.bar.disc_color = kYellow;
  out.push_back(c);
}

void add_other_loads(std::vector<ClipSpec>& out) {
  ClipSpec c = basic("pipe", 51, "A plastic pipe in place of the bar, no discs");
  c.bar.kind = BarKind::Pipe;
  c.bar.length = 1.50;
  c.setup.bar_mass = 0.5;
  c.motion.shank_bottom = 0.70;
  c.motion.balance_bottom = -0.025;
  c.lifter = person("Jorek Tallmoor", Sex::Male, 1.80, 83, "slate", 51);
  out.push_back(c);

  c = basic_female("unloaded", 52, "Empty hands overhead");
  c.bar.kind = BarKind::None;
  c.setup.bar_mass = 0;
  c.setup.grip_width = 0.56;
  c.motion.shank_bottom = 0.70;
  c.motion.balance_bottom = -0.028;
  c.motion.lead_in = 0.3;
  c.motion.rest = 0.2;
  out.push_back(c);

  c = basic("back-bar", 53, "The bar on the back");
  c.setup.arms = ArmPose::Back;
  c.setup.bar_mass = 80;
  c.setup.grip_width = 0.58;
  c.bar.disc_color = kBlue;
  c.motion.shank_bottom = 0.62;
  out.push_back(c);

  c = basic_female("small-discs", 54, "Technique discs of 350 mm, stated in the athlete's file");
  c.bar.disc_diameter = 0.350;
  c.bar.disc_thickness = 0.045;
  c.bar.disc_color = kGreen;
  c.setup.bar_mass = 20;
  c.camera = side_camera(1, 0);
  c.camera.focal_px = 1740;
  c.motion.lead_in = 0.3;
  c.motion.rest = 0.2;
  out.push_back(c);
}

void add_events(std::vector<ClipSpec>& out) {
  ClipSpec c = basic("five-reps", 61, "Five quick repetitions");
  c.motion.repetitions = 5;
  c.motion.lead_in = 0.3;
  c.motion.descent = 0.85;
  c.motion.pause = 0.10;
  c.motion.ascent = 0.75;
  c.motion.rest = 0.20;
  c.rate_hz = 25;
  out.push_back(c);

  c = basic_female("shoulder-gives-way", 62, "The shoulders give way in the deep half");
  c.motion.give_way = 0.10;
  c.motion.shank_bottom = 0.58;
  c.motion.thigh_bottom = degrees(96);
  c.bar.disc_color = kRed;
  out.push_back(c);

  c = basic("failed-rep", 63, "One good repetition, then one that sticks and sinks back");
  c.motion.repetitions = 2;
  c.motion.failed_repetition = 1;
  c.motion.lead_in = 0.3;
  c.motion.descent = 0.95;
  c.motion.pause = 0.15;
  c.motion.ascent = 0.85;
  c.motion.rest = 0.25;
  c.rate_hz = 25;
  c.camera = side_camera(-1, 0);
  c.lifter.look = look_by_name("slate");
  out.push_back(c);

  c = basic_female("forward-bend", 64, "A bend at the hips with nearly straight knees, no squat");
  c.motion.movement = Movement::ForwardBend;
  c.bar.kind = BarKind::None;
  c.setup.bar_mass = 0;
  c.setup.arms = ArmPose::Hanging;
  c.motion.shank_top = 0.05;
  c.motion.shank_bottom = 0.02;
  c.motion.knee_lead = 0;
  c.motion.lead_in = 0.3;
  c.motion.rest = 0.2;
  out.push_back(c);
}

void add_setups(std::vector<ClipSpec>& out) {
  ClipSpec c = basic("heels-lift", 71, "The heels leave the floor on the way down");
  c.motion.heel_lift = degrees(13);
  c.motion.shank_bottom = 0.70;
  c.motion.balance_bottom = 0.022;
  c.motion.bar_offset = 0.01;
  c.lifter.look = look_by_name("kelp");
  c.motion.lead_in = 0.35;
  c.motion.rest = 0.25;
  out.push_back(c);

  c = basic_female("wide-stance", 72, "A wide stance with the toes well out");
  c.setup.stance_width = 0.58;
  c.setup.toe_out = degrees(32);
  c.motion.shank_bottom = 0.52;
  c.motion.lead_in = 0.35;
  c.motion.rest = 0.25;
  out.push_back(c);
}

std::vector<ClipSpec> make_table() {
  std::vector<ClipSpec> out;
  add_showcase(out);
  add_side_views(out);
  add_other_views(out);
  add_difficult_pictures(out);
  add_other_loads(out);
  add_events(out);
  add_setups(out);
  return out;
}

}  // namespace

const std::vector<ClipSpec>& clip_table() {
  static const std::vector<ClipSpec> table = make_table();
  return table;
}

std::vector<double> frame_times(const ClipSpec& clip) {
  const double end = std::min(clip.longest, Motion(clip.motion, clip.seed).duration());
  std::vector<double> times;
  Random random(clip.seed, 0x7f);
  double time = 0;
  for (int i = 0; time <= end + 1e-9; ++i) {
    times.push_back(time);
    if (clip.variable_rate) {
      // Whole ticks of 1/600 s, as phones write them; now and then frames are dropped.
      double ticks = std::round(20 * random.uniform(0.65, 1.5));
      if (random.uniform() < 0.04) ticks += 50;
      time += ticks / 600.0;
    } else {
      time = (i + 1) / clip.rate_hz;
    }
  }
  return times;
}

Side near_side(const ClipSpec& clip) {
  return std::cos(clip.camera.azimuth) >= 0 ? kRight : kLeft;
}

}  // namespace lintel::demo
