#include "kinematics/front_view.h"

#include <gtest/gtest.h>

#include <cmath>

#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;
using testing::FigurePose;
using testing::Film;

double squat(double t) {
  return t < 0.5 || t > 3.5 ? 0 : std::pow(std::sin((t - 0.5) * std::numbers::pi / 3), 2);
}

Film front_film(double turn = 90) {
  Film settings;
  settings.camera.yaw = deg(turn);
  settings.disc_radius = 0;
  return settings;
}

FrontFinding measure(const std::function<void(FigurePose&)>& change, const Film& settings) {
  const auto time = testing::frame_times(4, 30);
  FrontOptions options;
  options.lengths = testing::segment_lengths({}, 0.03);
  const auto found =
      measure_front(film(time, testing::figures_of(time, squat, change), settings), options);
  EXPECT_TRUE(found.has_value());
  return found.value_or(FrontFinding{});
}

void expect_within(const Estimate& e, double truth, double most_error, const char* what) {
  EXPECT_NEAR(e.value, truth, 2.0 * e.standard_error) << what;
  EXPECT_GT(e.standard_error, 0) << what;
  EXPECT_LT(e.standard_error, most_error) << what;
}

TEST(FrontView, MeasuresStanceToesAndGripWithinItsErrors) {
  for (const double toe_out : {0.0, 15.0, 30.0}) {
    for (const double stance : {0.3, 0.45}) {
      Film settings = front_film();
      settings.white_noise = 0.01;
      settings.seed = 5;
      const auto found = measure(
          [&](FigurePose& pose) {
            pose.stance = stance;
            pose.toe_out = deg(toe_out);
            pose.grip = 0.85;
          },
          settings);
      // Heels lie inwards of the ankles by a quarter of the foot's turned length.
      const double heels = stance - 2 * 0.25 * 0.26 * std::sin(deg(toe_out));
      expect_within(found.measurement.stance_width, heels, 0.04, "stance");
      expect_within(found.measurement.grip_width, 0.85, 0.06, "grip");
      for (const Estimate& toe : found.measurement.toe_out) {
        expect_within(toe, deg(toe_out), deg(12), "toe-out");
      }
    }
  }
}

TEST(FrontView, FromBehindSwapsNothing) {
  const auto change = [](FigurePose& pose) {
    pose.toe_out = deg(20);
    pose.hip_shift = 0.04;
  };
  const auto front = measure(change, front_film(90));
  const auto behind = measure(change, front_film(-90));
  EXPECT_FALSE(front.from_behind);
  EXPECT_TRUE(behind.from_behind);
  EXPECT_NEAR(front.measurement.hip_shift_bottom.value, 0.04, 0.01);
  EXPECT_NEAR(behind.measurement.hip_shift_bottom.value, 0.04, 0.01);
  EXPECT_GT(behind.measurement.stance_width.value, 0.2);
}

TEST(FrontView, FindsTheBottomAndTheKneesThere) {
  // Toes and knees out: truth from the figure itself.
  const auto found = measure([](FigurePose& pose) { pose.toe_out = deg(25); }, front_film());
  ASSERT_TRUE(found.squat_seen);
  EXPECT_NEAR(static_cast<double>(found.bottom_frame) / 30, 2.0, 0.1);
  FigurePose pose = testing::squat_pose(1);
  pose.toe_out = deg(25);
  const auto figure = testing::make_figure(pose);
  const auto front = [&](Landmark l) { return Eigen::Vector2d(figure[l].z(), figure[l].y()); };
  const Eigen::Vector2d up = front(Landmark::RightHip) - front(Landmark::RightAnkle);
  const Eigen::Vector2d knee = front(Landmark::RightKnee) - front(Landmark::RightAnkle);
  const double truth = (knee.x() * up.y() - knee.y() * up.x()) / up.norm();
  for (const Estimate& e : found.measurement.knee_line_bottom)
    expect_within(e, truth, 0.05, "knee");
  expect_within(found.measurement.hip_shift_bottom, 0.0, 0.03, "hips");
  expect_within(found.measurement.bar_tilt_bottom, 0.0, deg(4), "bar");
}

TEST(FrontView, SeesATiltedBarRightEndDownPositive) {
  const auto time = testing::frame_times(4, 30);
  auto figures = testing::figures_of(time, squat);
  for (auto& figure : figures) {
    figure[Landmark::RightIndexKnuckle].y() -= 0.5 * 0.9 * std::tan(deg(6));
    figure[Landmark::LeftIndexKnuckle].y() += 0.5 * 0.9 * std::tan(deg(6));
  }
  for (const double turn : {90.0, -90.0}) {
    const auto found = measure_front(film(time, figures, front_film(turn)),
                                     {.lengths = testing::segment_lengths({}, 0.03)});
    ASSERT_TRUE(found.has_value());
    EXPECT_NEAR(found->measurement.bar_tilt_bottom.value, deg(6), deg(0.7)) << turn;
  }
}

TEST(FrontView, OfAnAthleteWhoOnlyStandsLeavesTheBottomOpen) {
  const auto time = testing::frame_times(2, 30);
  const auto found =
      measure_front(film(time, testing::figures_of(time, [](double) { return 0.0; }), front_film()),
                    {.lengths = testing::segment_lengths({}, 0.03)});
  ASSERT_TRUE(found.has_value());
  EXPECT_FALSE(found->squat_seen);
  EXPECT_TRUE(std::isnan(found->measurement.hip_shift_bottom.value));
  EXPECT_TRUE(std::isnan(found->measurement.knee_line_bottom[0].value));
  EXPECT_FALSE(std::isnan(found->measurement.stance_width.value));
}

TEST(FrontView, WithoutLengthsGivesAnglesOnly) {
  const auto time = testing::frame_times(4, 30);
  const auto found = measure_front(film(time, testing::figures_of(time, squat), front_film()));
  ASSERT_TRUE(found.has_value());
  EXPECT_TRUE(std::isnan(found->measurement.stance_width.value));
  EXPECT_TRUE(std::isnan(found->pixels_per_metre.value));
  EXPECT_NEAR(found->measurement.bar_tilt_bottom.value, 0, deg(1));
}

TEST(FrontView, RefusesSideViewsAndEmptyClips) {
  const auto time = testing::frame_times(4, 30);
  const auto side = measure_front(film(time, testing::figures_of(time, squat), front_film(0)));
  ASSERT_FALSE(side.has_value());
  EXPECT_EQ(side.error().code, ErrorCode::Unsupported);
  EXPECT_FALSE(side.error().mend.empty());
  const auto empty = measure_front(ClipObservation{});
  ASSERT_FALSE(empty.has_value());
  EXPECT_EQ(empty.error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::kinematics
