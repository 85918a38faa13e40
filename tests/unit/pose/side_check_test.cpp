#include "pose/side_check.h"

#include <gtest/gtest.h>

namespace lintel::pose {
namespace {

using kinematics::BodyObservation;
using kinematics::BodySide;
using kinematics::ClipObservation;
using kinematics::Landmark;

// A side view with a trunk of 200 px; positive separation = the right side is nearer.
BodyObservation body(float hip_separation, float knee_separation) {
  BodyObservation result;
  for (const Landmark l : {Landmark::LeftShoulder, Landmark::RightShoulder}) {
    result[l].position_px = {500, 200};
  }
  for (const Landmark l : {Landmark::LeftHip, Landmark::RightHip}) {
    result[l].position_px = {500, 400};
  }
  result[Landmark::LeftHip].depth_px = hip_separation / 2;
  result[Landmark::RightHip].depth_px = -hip_separation / 2;
  result[Landmark::LeftKnee].depth_px = knee_separation / 2;
  result[Landmark::RightKnee].depth_px = -knee_separation / 2;
  return result;
}

ClipObservation clip_of(const std::vector<std::optional<BodyObservation>>& bodies) {
  ClipObservation clip;
  for (const auto& entry : bodies) {
    clip.frames.emplace_back();
    clip.frames.back().body = entry;
  }
  return clip;
}

TEST(SideCheck, VotesForTheSideWhoseHipIsNearer) {
  const SideCheck right = check_sides(clip_of({body(80, 80), body(60, 40), std::nullopt}));
  EXPECT_TRUE(right.decided);
  EXPECT_EQ(right.near_side, BodySide::Right);
  EXPECT_FLOAT_EQ(right.agreement, 1);
  EXPECT_EQ(check_sides(clip_of({body(-80, -80)})).near_side, BodySide::Left);
}

TEST(SideCheck, MarksFramesWhereHipsAndKneesAreReversed) {
  const SideCheck check = check_sides(clip_of(
      {body(80, 80), body(80, 60), body(-60, -60), body(-30, 60), body(70, -90), body(90, 70)}));
  EXPECT_TRUE(check.decided);
  EXPECT_EQ(check.swapped, (std::vector<bool>{false, false, true, false, false, false}));
}

TEST(SideCheck, DecidesNothingInAFrontView) {
  const SideCheck check = check_sides(clip_of({body(6, 4), body(-5, 3), body(4, -30)}));
  EXPECT_FALSE(check.decided);
  EXPECT_EQ(check.swapped, std::vector<bool>(3, false));
  EXPECT_FALSE(check_sides(ClipObservation{}).decided);
}

TEST(SideCheck, MendsTheFramesThatItMarked) {
  ClipObservation clip = clip_of({body(80, 80), body(80, 80), body(-40, -60)});
  EXPECT_EQ(mend_swapped_sides(clip, check_sides(clip)), 1);
  EXPECT_FLOAT_EQ((*clip.frames[2].body)[Landmark::RightHip].depth_px, -20);
  EXPECT_EQ(check_sides(clip).swapped, std::vector<bool>(3, false));
}

TEST(SideCheck, ExchangesEveryPairAndLeavesTheNose) {
  BodyObservation before;
  for (std::size_t i = 0; i < before.landmarks.size(); ++i) {
    before.landmarks[i].depth_px = static_cast<float>(i);
  }
  BodyObservation after = before;
  exchange_sides(after);
  EXPECT_EQ(after[Landmark::Nose].depth_px, 0);
  for (std::size_t i = 1; i < after.landmarks.size(); ++i) {
    EXPECT_NE(after.landmarks[i].depth_px, before.landmarks[i].depth_px) << i;
  }
  EXPECT_EQ(after[Landmark::LeftToe].depth_px, 32);
  EXPECT_EQ(after[Landmark::LeftEyeOuter].depth_px, 6);
  exchange_sides(after);
  for (std::size_t i = 0; i < after.landmarks.size(); ++i) {
    EXPECT_EQ(after.landmarks[i].depth_px, before.landmarks[i].depth_px);
  }
}

}  // namespace
}  // namespace lintel::pose
