#include "support/demo_measurement.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/random.h"

namespace lintel::test_support {

using kinematics::Channel;
using kinematics::FigurePoint;
using kinematics::Measurement;

namespace {

constexpr double kPeriod = 3.5;  // [s]
constexpr double kRate = 60;     // [frames/s]
constexpr double kDegree = std::numbers::pi / 180;

// 0 standing, 1 at the bottom.
double depth_share(double t) {
  const double phase = std::fmod(t, kPeriod) / kPeriod;
  return std::pow(std::sin(std::numbers::pi * phase), 2);
}

struct Posture {
  double trunk, shank, thigh, arm;
};

Posture posture_at(double t, double variation) {
  const double s = depth_share(t);
  return {(8 + (30 + variation) * s) * kDegree, (3 + 28 * s) * kDegree, (4 + 91 * s) * kDegree,
          (-4 - 4 * s) * kDegree};
}

}  // namespace

Measurement demo_measurement(const DemoOptions& options) {
  Measurement m;
  Random random(options.seed);
  const double scale = options.height_px / 2.55;  // [px/m]
  m.camera.view = kinematics::View::Side;
  m.camera.facing = options.facing;
  m.camera.yaw = {4 * kDegree, 1.5 * kDegree};
  m.camera.roll = {options.roll, 0.3 * kDegree};
  m.camera.pitch = {1 * kDegree, 1 * kDegree};
  m.camera.distance = {4.2, 0.3};
  m.camera.pixels_per_metre = {scale, scale * 0.01};
  m.camera.scale_source =
      options.bar_seen ? kinematics::ScaleSource::Disc : kinematics::ScaleSource::Stature;
  const double duration = std::max(options.repetitions, 1) * kPeriod;
  const auto frames = static_cast<std::size_t>(duration * kRate) + 1;
  for (kinematics::Series& series : m.series) {
    series.raw.assign(frames, std::nan(""));
    series.filtered = series.fitted = series.standard_error = series.rate = series.raw;
    series.cutoff_hz = 5.5;
  }
  const double ux = options.facing * std::cos(options.roll);  // forward, in the picture
  const double uy = options.facing * std::sin(options.roll);
  const double vx = std::sin(options.roll);  // up
  const double vy = -std::cos(options.roll);
  for (std::size_t i = 0; i < frames; ++i) {
    const double t = static_cast<double>(i) / kRate;
    m.time.push_back(t);
    m.frame_index.push_back(static_cast<std::int64_t>(i));
    const int repetition = static_cast<int>(t / kPeriod);
    const Posture p = posture_at(t, 1.5 * std::sin(2.1 * repetition));
    // Sagittal chain from the floor under mid-foot; lengths of a woman of 1.68 m, about.
    const double ax = -0.06, ay = 0.08;
    const double kx = ax + 0.40 * std::sin(p.shank), ky = ay + 0.40 * std::cos(p.shank);
    const double hx = kx - 0.41 * std::sin(p.thigh), hy = ky + 0.41 * std::cos(p.thigh);
    const double sx = hx + 0.49 * std::sin(p.trunk), sy = hy + 0.49 * std::cos(p.trunk);
    const double bx = 0.02 * std::sin(2 * std::numbers::pi * t / kPeriod) + 0.01;
    const double arm = std::atan2(bx - sx, std::sqrt(std::max(0.36 - (bx - sx) * (bx - sx), 0.01)));
    const double by = sy + 0.60 * std::cos(arm);
    const double ex = sx + 0.29 * std::sin(arm), ey = sy + 0.29 * std::cos(arm);
    const double wx = sx + 0.53 * std::sin(arm), wy = sy + 0.53 * std::cos(arm);
    kinematics::Figure figure;
    const auto place = [&](FigurePoint point, double x, double y) {
      figure[static_cast<std::size_t>(point)] =
          Eigen::Vector2f(static_cast<float>(options.width_px * 0.5 + scale * (x * ux + y * vx)),
                          static_cast<float>(options.height_px * 0.93 + scale * (x * uy + y * vy)));
    };
    place(FigurePoint::Toe, 0.13, 0.0);
    place(FigurePoint::Heel, -0.12, 0.0);
    place(FigurePoint::Ankle, ax, ay);
    place(FigurePoint::Knee, kx, ky);
    place(FigurePoint::Hip, hx, hy);
    place(FigurePoint::Shoulder, sx, sy);
    place(FigurePoint::Elbow, ex, ey);
    place(FigurePoint::Wrist, wx, wy);
    place(FigurePoint::Bar, bx, by);
    place(FigurePoint::MidFoot, 0, 0);
    place(FigurePoint::Head, sx + 0.05, sy + 0.20);
    m.figures.push_back(figure);
    const auto put = [&](Channel channel, double value, double error) {
      kinematics::Series& series = m[channel];
      series.fitted[i] = value;
      series.filtered[i] = value + 0.3 * error * std::sin(3 * t);
      series.raw[i] = value + random.normal(0, error);
      series.standard_error[i] = error;
      if (i > 0) series.rate[i] = (value - series.fitted[i - 1]) * kRate;
    };
    put(Channel::TrunkInclination, p.trunk, 1.8 * kDegree);
    put(Channel::ThighInclination, p.thigh, 1.6 * kDegree);
    put(Channel::ShankInclination, p.shank, 1.2 * kDegree);
    put(Channel::FootInclination, 0, 0.8 * kDegree);
    put(Channel::ArmInclination, arm, 2.0 * kDegree);
    put(Channel::AnkleDorsiflexion, p.shank, 1.3 * kDegree);
    put(Channel::KneeFlexion, p.shank + p.thigh, 1.9 * kDegree);
    put(Channel::HipFlexion, p.trunk + p.thigh, 2.1 * kDegree);
    put(Channel::ShoulderElevation, std::numbers::pi + p.trunk - arm, 2.5 * kDegree);
    put(Channel::ElbowFlexion, 2 * kDegree, 2.5 * kDegree);
    put(Channel::HeelLift, 0.002, 0.004);
    put(Channel::Depth, ky - hy, 0.006);
    put(Channel::HipHeight, hy, 0.006);
    if (options.bar_seen) {
      put(Channel::BarX, bx, 0.006);
      put(Channel::BarY, by, 0.006);
    }
    put(Channel::CenterOfMassX, 0.01, 0.015);
    put(Channel::CenterOfMassY, 0.55 * sy, 0.015);
  }
  for (int r = 0; r < options.repetitions; ++r) {
    kinematics::Repetition repetition;
    const auto frame = [&](double share) {
      return static_cast<std::size_t>(std::lround((r + share) * kPeriod * kRate));
    };
    repetition.start_frame = frame(0.06);
    repetition.bottom_frame = frame(0.5);
    repetition.end_frame = std::min(frame(0.94), frames - 1);
    repetition.descent_duration = 0.44 * kPeriod;
    repetition.bottom_duration = 0.3;
    repetition.ascent_duration = 0.44 * kPeriod;
    for (std::size_t c = 0; c < m.series.size(); ++c) {
      const kinematics::Series& series = m.series[c];
      auto& extreme = repetition.channels[c];
      const auto at = [&](std::size_t i) {
        return Estimate{series.fitted[i], series.standard_error[i]};
      };
      extreme.start = at(repetition.start_frame);
      extreme.bottom = at(repetition.bottom_frame);
      extreme.change = {extreme.bottom.value - extreme.start.value,
                        extreme.bottom.standard_error * 1.1};
    }
    repetition.shoulder_change_demanded = {30 * kDegree, 2 * kDegree};
    repetition.shoulder_change_given = {-4 * kDegree, 3 * kDegree};
    repetition.below_parallel = true;
    m.repetitions.push_back(repetition);
  }
  m.consistency.repetitions = options.repetitions;
  for (std::size_t c = 0; c < m.series.size() && !m.repetitions.empty(); ++c) {
    m.consistency.bottom[c] = {m.repetitions[0].channels[c].bottom.value, 0.02};
  }
  m.warnings.push_back({kinematics::WarningCode::CameraTurned,
                        "The camera looked 4° ± 2° past a true side view.",
                        "Stand level with the hip, square to the bar."});
  return m;
}

kinematics::DiscObservation demo_disc(const Measurement& measurement, std::size_t index) {
  kinematics::DiscObservation disc;
  disc.center_px = measurement.figures[index][static_cast<std::size_t>(FigurePoint::Bar)];
  disc.semi_major_px = static_cast<float>(0.225 * measurement.camera.pixels_per_metre.value);
  disc.semi_minor_px = disc.semi_major_px * 0.98F;
  disc.center_standard_error_px = 0.4F;
  disc.semi_axis_standard_error_px = 0.4F;
  disc.support = 0.9F;
  return disc;
}

Image demo_picture(int width_px, int height_px) {
  Image image(width_px, height_px);
  const int floor_y = height_px * 88 / 100;
  for (int y = 0; y < height_px; ++y) {
    for (int x = 0; x < width_px; ++x) {
      std::uint8_t* p = image.pixel(x, y);
      const bool is_floor = y >= floor_y;
      const int shade = is_floor ? 92 - (y - floor_y) / 8 : 148 + 26 * x / width_px - y / 24;
      p[0] = static_cast<std::uint8_t>(is_floor ? shade - 10 : shade + 6);
      p[1] = static_cast<std::uint8_t>(shade);
      p[2] = static_cast<std::uint8_t>(is_floor ? shade + 14 : shade - 8);
      const bool is_window = x > width_px * 66 / 100 && x < width_px * 92 / 100 &&
                             y > height_px * 10 / 100 && y < height_px * 34 / 100;
      if (is_window) p[0] = p[1] = p[2] = 214;
    }
  }
  return image;
}

view::Assessment demo_assessment(const Measurement& measurement) {
  view::Assessment a;
  a.program_version = "0.1.0";
  a.assessed_on = "2026-11-25";
  a.athlete_id = "skarnholm-07";
  a.athlete_name = "Runa Fjellgard";
  a.clip = {"runa-2026-11-25-side.mp4",
            std::string(64, 'a'),
            "2026-11-25",
            540,
            960,
            60,
            static_cast<std::int64_t>(measurement.time.size()),
            measurement.time.empty() ? 0 : measurement.time.back()};
  a.setup.bar_mass = 20;
  a.setup.stance_width = 0.36;
  a.setup.toe_out = 20 * kDegree;
  a.setup.heel_elevation = 0;
  a.setup.grip_width = 0.92;
  a.setup.bar_position = "overhead";
  a.side = &measurement;
  view::Explanation e;
  e.observed_inclination = Estimate{38 * kDegree, 1.8 * kDegree};
  e.most_upright = Estimate{29 * kDegree, 2.6 * kDegree};
  const auto part = [&](const char* factor, const char* label, double share, double low,
                        double high, double chance) {
    e.parts.push_back({factor, label, share * kDegree, low * kDegree, high * kDegree, chance});
  };
  part("ankle", "ankle range", 8.4, 5.1, 11.8, 0.71);
  part("habit", "habit: range that is there but not used", 5.2, 1.0, 9.3, 0.22);
  part("heel", "heel height", 3.1, 1.9, 4.4, 0.03);
  part("hip", "hip range", 1.9, -0.4, 4.6, 0.04);
  part("stance", "stance width", 1.1, 0.2, 2.0, 0.0);
  part("shoulder", "shoulder range", 0.4, -0.5, 1.4, 0.0);
  part("grip", "grip width", -0.3, -0.9, 0.2, 0.0);
  e.sentences = {"Stiff ankles are the most likely first reason (71 of 100 draws of the model)."};
  e.next_steps = {
      {"Heels up by 1.5 cm", "A wedge or lifting shoes. Keep the bar empty for the first sets.",
       Estimate{4.6 * kDegree, 1.1 * kDegree}},
      {"Ankle stretch at the wall, three minutes a day",
       "Knee over the toes, heel stays down. Test again in three weeks.",
       Estimate{3.2 * kDegree, 1.5 * kDegree}},
      {"Feet 4 cm wider, toes as they are", "Compare on film before you keep it.",
       Estimate{1.4 * kDegree, 0.6 * kDegree}}};
  a.explanation = e;
  return a;
}

}  // namespace lintel::test_support
