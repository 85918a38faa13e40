#include "kinematics/landmarks.h"

#include <gtest/gtest.h>

#include <set>
#include <string>

#include "kinematics/measurement.h"
#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

// The order of the landmark network, as its documentation lists it (11 left shoulder, 12 right
// shoulder, ... 23 left hip, 31 left foot index, 32 right foot index).
TEST(LandmarkNames, FollowTheOrderOfTheNetwork) {
  EXPECT_EQ(landmark_name(static_cast<Landmark>(0)), "nose");
  EXPECT_EQ(landmark_name(static_cast<Landmark>(11)), "left_shoulder");
  EXPECT_EQ(landmark_name(static_cast<Landmark>(16)), "right_wrist");
  EXPECT_EQ(landmark_name(static_cast<Landmark>(17)), "left_little_knuckle");
  EXPECT_EQ(landmark_name(static_cast<Landmark>(23)), "left_hip");
  EXPECT_EQ(landmark_name(static_cast<Landmark>(28)), "right_ankle");
  EXPECT_EQ(landmark_name(static_cast<Landmark>(32)), "right_toe");
}

TEST(LandmarkNames, AreAllDifferent) {
  std::set<std::string> names;
  for (int i = 0; i < kLandmarkCount; ++i) {
    names.emplace(landmark_name(static_cast<Landmark>(i)));
  }
  EXPECT_EQ(names.size(), static_cast<std::size_t>(kLandmarkCount));
}

TEST(PairedLandmarks, NameTheSideThatWasAskedFor) {
  for (int j = 0; j <= static_cast<int>(PairedLandmark::Toe); ++j) {
    const auto joint = static_cast<PairedLandmark>(j);
    const std::string left(landmark_name(landmark_of(joint, BodySide::Left)));
    const std::string right(landmark_name(landmark_of(joint, BodySide::Right)));
    EXPECT_EQ(left.substr(0, 5), "left_");
    EXPECT_EQ(right.substr(0, 6), "right_");
    EXPECT_EQ(left.substr(5), right.substr(6));
  }
}

TEST(ChannelNames, AreStableStemsWithTheUnitOfTheChannel) {
  std::set<std::string_view> names;
  for (int c = 0; c < kChannelCount; ++c) {
    const ChannelInfo& info = channel_info(static_cast<Channel>(c));
    names.insert(info.name);
    EXPECT_FALSE(info.label.empty());
    EXPECT_EQ(info.name.find(' '), std::string_view::npos);
  }
  EXPECT_EQ(names.size(), static_cast<std::size_t>(kChannelCount));
  EXPECT_EQ(channel_info(Channel::ElbowFlexion).unit, ChannelUnit::Radian);
  EXPECT_EQ(channel_info(Channel::HeelLift).unit, ChannelUnit::Metre);
  EXPECT_EQ(channel_info(Channel::CenterOfMassY).name, "center_of_mass_y");
}

TEST(WarningCodes, HaveDifferentNames) {
  std::set<std::string_view> names;
  for (int w = 0; w <= static_cast<int>(WarningCode::CorrectedByHand); ++w) {
    names.insert(warning_code_name(static_cast<WarningCode>(w)));
  }
  EXPECT_EQ(names.size(), static_cast<std::size_t>(WarningCode::CorrectedByHand) + 1);
  EXPECT_FALSE(names.contains("unknown"));
}

TEST(SagittalFromPicture, TurnsDownwardPixelsIntoForwardAndUp) {
  const Eigen::Vector2d p(100, 40);
  EXPECT_EQ(sagittal_from_picture(p, 1.0), Eigen::Vector2d(100, -40));
  EXPECT_EQ(sagittal_from_picture(p, -1.0), Eigen::Vector2d(-100, -40));
}

TEST(SagittalFromPicture, TakesTheRollOut) {
  // A plumb line that the picture shows turned clockwise by 10 degrees.
  const double roll = testing::deg(10);
  const Eigen::Vector2d top(std::sin(roll), -std::cos(roll));
  EXPECT_NEAR((sagittal_from_picture(top, 1.0, roll) - Eigen::Vector2d(0, 1)).norm(), 0, 1e-12);
  EXPECT_NEAR((sagittal_from_picture(top, -1.0, roll) - Eigen::Vector2d(0, 1)).norm(), 0, 1e-12);
}

TEST(UpsideDown, IsToldFromTheHeadBelowTheFeet) {
  const auto time = testing::frame_times(0.2, 30);
  auto clip = film(time, testing::figures_of(time, [](double) { return 0.0; }), {});
  EXPECT_FALSE(is_upside_down(clip));
  for (auto& frame : clip.frames) {
    for (auto& l : frame.body->landmarks) {
      l.position_px = {1920.0f - l.position_px.x(), 1080.0f - l.position_px.y()};
    }
  }
  EXPECT_TRUE(is_upside_down(clip));
  EXPECT_FALSE(is_upside_down(ClipObservation{}));
}

}  // namespace
}  // namespace lintel::kinematics
