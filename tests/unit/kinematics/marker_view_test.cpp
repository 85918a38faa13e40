#include "kinematics/marker_view.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <cmath>

namespace lintel::kinematics {
namespace {

using ::testing::HasSubstr;

void put(MarkerBody& body, Landmark landmark, const Eigen::Vector3d& p) {
  body[static_cast<std::size_t>(landmark)] = p;
}

// Stands at the origin, faces +x, up is +z: trunk leaning forward by `lean`, shank upright.
MarkerBody standing(double lean) {
  MarkerBody body;
  for (const auto& [left, right, forward, height] :
       std::vector<std::tuple<Landmark, Landmark, double, double>>{
           {Landmark::LeftHip, Landmark::RightHip, 0.0, 0.9},
           {Landmark::LeftShoulder, Landmark::RightShoulder, 0.5 * std::sin(lean),
            0.9 + 0.5 * std::cos(lean)},
           {Landmark::LeftKnee, Landmark::RightKnee, 0.0, 0.5},
           {Landmark::LeftAnkle, Landmark::RightAnkle, 0.0, 0.1}}) {
    put(body, left, {forward, 0.15, height});
    put(body, right, {forward, -0.15, height});
  }
  return body;
}

Eigen::Vector2f pixel(const ClipObservation& clip, std::size_t frame, Landmark landmark) {
  return (*clip.frames[frame].body)[landmark].position_px;
}

TEST(MarkerView, LooksAtTheRightSideWithForwardToTheRight) {
  MarkerClip clip;
  clip.frame_rate = 100;
  clip.frames = {standing(0.3), standing(0.6)};
  const auto view = side_view(clip);
  ASSERT_TRUE(view.has_value()) << describe(view.error());
  EXPECT_EQ(view->frames.size(), 2u);
  EXPECT_DOUBLE_EQ(view->frames[1].time, 0.01);
  for (std::size_t frame = 0; frame < 2; ++frame) {
    const Eigen::Vector2f trunk =
        pixel(*view, frame, Landmark::RightShoulder) - pixel(*view, frame, Landmark::RightHip);
    EXPECT_NEAR(trunk.norm(), 500, 0.1);  // 0.5 m at 1 px a millimetre
    EXPECT_NEAR(std::atan2(trunk.x(), -trunk.y()), frame == 0 ? 0.3 : 0.6, 1e-3);
    EXPECT_EQ(pixel(*view, frame, Landmark::LeftKnee), pixel(*view, frame, Landmark::RightKnee));
  }
  EXPECT_GT(pixel(*view, 0, Landmark::RightAnkle).y(), pixel(*view, 0, Landmark::RightKnee).y());
  for (const auto& landmark : view->frames[0].body->landmarks) {
    if (landmark.confidence == 0) continue;
    EXPECT_GT(landmark.position_px.minCoeff(), 0);
    EXPECT_LT(landmark.position_px.x(), view->width_px);
    EXPECT_LT(landmark.position_px.y(), view->height_px);
  }
}

// However the laboratory's axes lie and wherever the athlete looks, the picture is the same.
TEST(MarkerView, DoesNotDependOnTheAxesOfTheLaboratory) {
  MarkerClip clip;
  clip.frame_rate = 100;
  clip.frames = {standing(0.3), standing(0.7)};
  const ClipObservation wanted = *side_view(clip);
  for (const Eigen::Vector3d& axis :
       {Eigen::Vector3d(0, 0, 1), Eigen::Vector3d(1, 2, 3), Eigen::Vector3d(-1, 0.2, 0.1)}) {
    const Eigen::Matrix3d R = Eigen::AngleAxisd(1.1, axis.normalized()).toRotationMatrix();
    MarkerClip turned = clip;
    turned.up = R * clip.up;
    for (MarkerBody& body : turned.frames) {
      for (auto& landmark : body) {
        if (landmark) landmark = Eigen::Vector3d(R * *landmark + Eigen::Vector3d(1, -2, 0.5));
      }
    }
    const auto view = side_view(turned);
    ASSERT_TRUE(view.has_value());
    for (const Landmark landmark : {Landmark::LeftShoulder, Landmark::RightAnkle}) {
      EXPECT_LT((pixel(*view, 1, landmark) - pixel(wanted, 1, landmark)).norm(), 0.01F);
    }
  }
}

TEST(MarkerView, LeavesOutWhatWasNotSeen) {
  MarkerClip clip;
  clip.frame_rate = 50;
  clip.frames = {standing(0.3), MarkerBody{}};
  clip.frames[0][static_cast<std::size_t>(Landmark::LeftKnee)].reset();
  const auto view = side_view(clip);
  ASSERT_TRUE(view.has_value());
  EXPECT_EQ((*view->frames[0].body)[Landmark::LeftKnee].confidence, 0);
  EXPECT_EQ((*view->frames[0].body)[Landmark::RightKnee].confidence, 1);
  EXPECT_FALSE(view->frames[1].body.has_value());
}

TEST(MarkerView, SaysWhenThereIsNoSideToLookFrom) {
  MarkerClip clip;
  clip.frame_rate = 50;
  EXPECT_THAT(side_view(clip).error().message, HasSubstr("no frame has both hips"));
  clip.frames = {standing(0)};
  clip.up = Eigen::Vector3d::UnitY();  // the hips' own line
  EXPECT_THAT(side_view(clip).error().message, HasSubstr("above one another"));
  clip.up = Eigen::Vector3d::UnitZ();
  put(clip.frames[0], Landmark::LeftToe, {40, 0, 0});
  EXPECT_EQ(side_view(clip).error().code, ErrorCode::Limit);
}

}  // namespace
}  // namespace lintel::kinematics
