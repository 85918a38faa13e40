#include "kinematics/raw_curves.h"

#include <gtest/gtest.h>

#include <cmath>

#include "kinematics/camera_check.h"
#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;

// The figure's own angles, filmed square from either side and measured back.
TEST(RawCurves, ReturnTheAnglesOfTheFigureFromBothSides) {
  const auto time = testing::frame_times(4, 30);
  const auto depth = [](double t) { return std::pow(std::sin(t * std::numbers::pi / 4), 2); };
  for (const BodySide side : {BodySide::Right, BodySide::Left}) {
    testing::Film settings;
    settings.camera.side = side;
    settings.camera.distance = 50;  // nearly parallel rays: the figure is the truth
    settings.camera.focal_px = 15000;
    settings.disc_radius = 0;
    // Feet under the hips, so that thighs and shanks lie in the plane.
    const auto figures =
        testing::figures_of(time, depth, [](testing::FigurePose& pose) { pose.stance = 0.18; });
    const auto clip = film(time, figures, settings);
    CameraCheckOptions options;
    options.lengths = testing::segment_lengths({}, 0.03);
    CameraCheck check = check_camera(clip, options).check;
    check.roll = {0, 0};
    const auto curves = raw_curves(clip, check);
    const auto at = [&](Channel c, std::size_t i) {
      return curves[static_cast<std::size_t>(c)][i];
    };
    for (std::size_t i = 0; i < time.size(); ++i) {
      const testing::FigurePose pose = testing::squat_pose(depth(time[i]));
      EXPECT_NEAR(at(Channel::TrunkInclination, i), pose.trunk, deg(0.5));
      EXPECT_NEAR(at(Channel::ShankInclination, i), pose.shank, deg(0.5));
      EXPECT_NEAR(at(Channel::ThighInclination, i), pose.thigh, deg(0.5));
      EXPECT_NEAR(at(Channel::ArmInclination, i), pose.arm, deg(0.5));
      EXPECT_NEAR(at(Channel::KneeFlexion, i), pose.thigh + pose.shank, deg(0.5));
      EXPECT_NEAR(at(Channel::HeelLift, i), 0, 0.005);
    }
  }
}

TEST(RawCurves, AreNotNumbersWhereThereIsNoBody) {
  const auto time = testing::frame_times(1, 30);
  auto clip = film(time, testing::figures_of(time, [](double) { return 0.0; }), {});
  clip.frames[7].body.reset();
  const auto curves = raw_curves(clip, check_camera(clip).check);
  EXPECT_TRUE(std::isnan(curves[0][7]));
  EXPECT_FALSE(std::isnan(curves[0][8]));
  for (const auto& curve : raw_curves(ClipObservation{}, CameraCheck{})) EXPECT_TRUE(curve.empty());
}

}  // namespace
}  // namespace lintel::kinematics
