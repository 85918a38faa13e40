#include "kinematics/camera_check.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;
using testing::Film;

double squat(double t) {
  return t < 0.5 || t > 3.5 ? 0 : std::pow(std::sin((t - 0.5) * std::numbers::pi / 3), 2);
}

ClipObservation side_clip(const Film& settings, double rate = 20) {
  const auto time = testing::frame_times(4, rate);
  return film(time, testing::figures_of(time, squat), settings);
}

CameraCheckOptions known_lengths() {
  CameraCheckOptions options;
  options.lengths = testing::segment_lengths({}, 0.03);
  return options;
}

bool has(const std::vector<Warning>& warnings, WarningCode code) {
  return std::any_of(warnings.begin(), warnings.end(),
                     [code](const Warning& w) { return w.code == code; });
}

TEST(CameraCheck, OfASquareSideViewHasNothingToSay) {
  for (const BodySide side : {BodySide::Right, BodySide::Left}) {
    Film settings;
    settings.camera.side = side;
    const CameraFinding found = check_camera(side_clip(settings), known_lengths());
    EXPECT_EQ(found.check.view, View::Side);
    EXPECT_EQ(found.check.near_side, side);
    EXPECT_EQ(found.check.facing, side == BodySide::Right ? 1.0 : -1.0);
    EXPECT_GT(found.facing_agreement, 0.99);
    EXPECT_GT(found.side_agreement, 0.99);
    EXPECT_NEAR(found.check.yaw.value, 0, deg(2));
    EXPECT_NEAR(found.check.roll.value, 0, deg(2));
    EXPECT_EQ(found.check.scale_source, ScaleSource::Disc);
    EXPECT_TRUE(found.warnings.empty()) << found.warnings.front().message;
    EXPECT_TRUE(side_measurement_allowed(found.check));
    EXPECT_TRUE(disc_arm_line_allowed(found.check));
  }
}

// The true camera must lie within 2.5 standard errors for turns over the whole range, both sides,
// athlete off the middle of the picture, focal length not told.
TEST(CameraCheck, EstimatesTurnScaleAndDistanceWithinItsErrors) {
  for (const BodySide side : {BodySide::Right, BodySide::Left}) {
    for (const double turn : {-30.0, -20.0, -10.0, -4.0, 0.0, 4.0, 10.0, 20.0, 30.0}) {
      for (const double aside : {-0.5, 0.0, 0.5}) {
        Film settings;
        settings.camera.side = side;
        settings.camera.yaw = deg(turn);
        settings.camera.aim = aside;
        settings.camera.distance = 4.5;
        settings.white_noise = 0.01;
        settings.drift = 0.01;
        settings.disc_noise_px = 0.5;
        settings.seed = 3;
        const CameraFinding found = check_camera(side_clip(settings), known_lengths());
        const CameraCheck& c = found.check;
        SCOPED_TRACE(::testing::Message()
                     << "turn " << turn << " aside " << aside << " estimated "
                     << c.yaw.value / deg(1) << " +- " << c.yaw.standard_error / deg(1));
        EXPECT_EQ(c.near_side, side);
        EXPECT_NEAR(c.yaw.value, deg(turn), 2.5 * c.yaw.standard_error);
        EXPECT_LT(c.yaw.standard_error, deg(12));
        // Scale where the body is: focal / depth of the mid-hip.
        const double depth = in_camera<double>(settings.camera, Eigen::Vector3d(-0.02, 0.8, 0)).z();
        const double scale = settings.camera.focal_px / depth;
        EXPECT_NEAR(c.pixels_per_metre.value, scale, 2.5 * c.pixels_per_metre.standard_error);
        EXPECT_LT(c.pixels_per_metre.standard_error, 0.05 * scale);
        EXPECT_NEAR(c.distance.value, depth, 2.5 * c.distance.standard_error);
      }
    }
  }
}

TEST(CameraCheck, SeesRollFromBodyAndBarWithinItsError) {
  for (const double roll : {-6.0, -3.0, 0.0, 3.0, 6.0}) {
    Film settings;
    settings.camera.roll = deg(roll);
    settings.white_noise = 0.005;
    const CameraFinding found = check_camera(side_clip(settings), known_lengths());
    EXPECT_NEAR(found.check.roll.value, deg(roll), 2 * found.check.roll.standard_error);
    EXPECT_LT(found.check.roll.standard_error, deg(4));
    if (roll == 0 || std::abs(roll) > 5) {  // between, it depends on the error
      EXPECT_EQ(has(found.warnings, WarningCode::CameraRolled), roll != 0) << roll;
    }
  }
}

TEST(CameraCheck, BelievesAGivenVertical) {
  CameraCheckOptions options = known_lengths();
  options.vertical_roll = Estimate{deg(4), deg(0.2)};
  const CameraFinding found = check_camera(side_clip({}), options);
  EXPECT_EQ(found.check.roll.value, deg(4));
  EXPECT_EQ(found.check.roll.standard_error, deg(0.2));
}

TEST(CameraCheck, TellsTheViews) {
  struct Expected {
    double turn;
    View view;
  };
  for (const auto& [turn, view] : {Expected{0, View::Side},
                                   {25, View::Side},
                                   {50, View::Oblique},
                                   {90, View::Front},
                                   {-90, View::Front},
                                   {-50, View::Oblique}}) {
    Film settings;
    settings.camera.yaw = deg(turn);
    settings.disc_radius = std::abs(turn) < 60 ? 0.225 : 0;
    EXPECT_EQ(check_camera(side_clip(settings), known_lengths()).check.view, view) << turn;
  }
}

TEST(CameraCheck, RefusesByItsLimits) {
  CameraCheck check;
  check.view = View::Side;
  check.yaw = {deg(4), deg(2)};
  EXPECT_FALSE(has(camera_warnings(check, true), WarningCode::CameraTurned));
  check.yaw = {deg(-7), deg(2)};
  EXPECT_TRUE(has(camera_warnings(check, true), WarningCode::CameraTurned));
  EXPECT_TRUE(disc_arm_line_allowed(check));
  check.yaw = {deg(12), deg(2)};
  EXPECT_FALSE(disc_arm_line_allowed(check));
  EXPECT_TRUE(side_measurement_allowed(check));
  check.yaw_corrected = true;
  EXPECT_TRUE(disc_arm_line_allowed(check));
  EXPECT_TRUE(has(camera_warnings(check, true), WarningCode::CameraTurnCorrected));
  EXPECT_FALSE(has(camera_warnings(check, true), WarningCode::CameraTurned));
  check.yaw = {deg(36), deg(2)};
  EXPECT_FALSE(side_measurement_allowed(check));
  check.view = View::Oblique;
  for (const Warning& w : camera_warnings(check, true)) EXPECT_FALSE(w.advice.empty());
  EXPECT_TRUE(has(camera_warnings(check, false), WarningCode::CameraTurned));
}

TEST(CameraCheck, WithoutADiscScalesFromTheBodyAndSaysSo) {
  Film settings;
  settings.disc_radius = 0;
  const CameraFinding found = check_camera(side_clip(settings), known_lengths());
  EXPECT_EQ(found.check.scale_source, ScaleSource::Stature);
  EXPECT_NEAR(found.check.pixels_per_metre.value, 300,
              2 * found.check.pixels_per_metre.standard_error);
  EXPECT_TRUE(has(found.warnings, WarningCode::NoDisc));
  EXPECT_TRUE(has(found.warnings, WarningCode::ScaleFromStature));
  const CameraFinding none = check_camera(side_clip(settings));
  EXPECT_EQ(none.check.scale_source, ScaleSource::None);
  EXPECT_TRUE(std::isnan(none.check.pixels_per_metre.value));
}

TEST(CameraCheck, NoticesThatThePictureIsMirrored) {
  ClipObservation clip = side_clip({});
  for (auto& frame : clip.frames) {
    for (auto& l : frame.body->landmarks) l.position_px.x() = 1920.0f - l.position_px.x();
    frame.disc->center_px.x() = 1920.0f - frame.disc->center_px.x();
  }
  const CameraFinding found = check_camera(clip, known_lengths());
  EXPECT_TRUE(has(found.warnings, WarningCode::SideSwapped));
}

TEST(CameraCheck, NoticesLostBodiesAndBodiesOutsideOfThePicture) {
  ClipObservation clip = side_clip({});
  for (std::size_t i = 0; i < clip.frames.size(); i += 2) clip.frames[i].body.reset();
  EXPECT_TRUE(has(check_camera(clip).warnings, WarningCode::BodyLost));
  Film near;
  near.camera.distance = 1.6;
  EXPECT_TRUE(has(check_camera(side_clip(near)).warnings, WarningCode::BodyLeavesPicture));
}

TEST(CameraCheck, OfNothingIsUnknownWithAReason) {
  for (const std::size_t frames : {0u, 5u}) {
    ClipObservation clip;
    clip.width_px = 1920;
    clip.height_px = 1080;
    clip.frames.resize(frames);
    const CameraFinding found = check_camera(clip);
    EXPECT_EQ(found.check.view, View::Unknown);
    EXPECT_TRUE(has(found.warnings, WarningCode::BodyLost));
    EXPECT_FALSE(side_measurement_allowed(found.check));
  }
}

TEST(CameraCheck, SurvivesLandmarksThatAreNotNumbers) {
  ClipObservation clip = side_clip({});
  const float nan = std::numeric_limits<float>::quiet_NaN();
  for (std::size_t i = 0; i < clip.frames.size(); i += 3) {
    for (auto& l : clip.frames[i].body->landmarks) l.position_px = {nan, nan};
  }
  const CameraFinding found = check_camera(clip, known_lengths());
  EXPECT_EQ(found.check.view, View::Side);
  EXPECT_TRUE(std::isfinite(found.check.yaw.value));
  for (auto& frame : clip.frames) {
    for (auto& l : frame.body->landmarks) l.position_px = {nan, nan};
  }
  EXPECT_EQ(check_camera(clip, known_lengths()).check.view, View::Unknown);
  for (auto& frame : clip.frames) {
    for (auto& l : frame.body->landmarks) l.position_px = {500, 500};  // all in one point
  }
  check_camera(clip, known_lengths());
}

TEST(CameraCheck, OfAMirroredClipIsMirrored) {
  Film settings;
  settings.camera.yaw = deg(14);
  settings.camera.aim = 0.3;
  const CameraFinding right = check_camera(side_clip(settings), known_lengths());
  settings.camera.side = BodySide::Left;
  const CameraFinding left = check_camera(side_clip(settings), known_lengths());
  EXPECT_NEAR(right.check.yaw.value, left.check.yaw.value, deg(0.1));
  EXPECT_NEAR(right.check.pixels_per_metre.value, left.check.pixels_per_metre.value, 0.1);
  EXPECT_EQ(right.check.facing, -left.check.facing);
}

}  // namespace
}  // namespace lintel::kinematics
