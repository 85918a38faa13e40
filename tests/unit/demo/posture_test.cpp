#include "demo/posture.h"

#include <cmath>
#include <numbers>
#include <ostream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/units.h"
#include "demo/clips.h"
#include "demo/truth.h"

namespace lintel::demo {
namespace {

// Every clip, each tenth frame.
template <typename Check>
void for_frames(const Check& check) {
  for (const ClipSpec& clip : clip_table()) {
    const auto frames = clip_truth(clip);
    ASSERT_TRUE(frames) << clip.name << ": " << frames.error();
    ASSERT_GT(frames->size(), 60U) << clip.name;
    for (std::size_t i = 0; i < frames->size(); i += 10) {
      SCOPED_TRACE(clip.name + " frame " + std::to_string(i));
      check(clip, (*frames)[i].skeleton);
    }
  }
}

TEST(ClosedChain, KeepsEverySegmentLengthExactly) {
  for_frames([](const ClipSpec& clip, const Skeleton& k) {
    const Lengths& l = clip.lifter.lengths;
    for (const Limbs& limb : k.side) {
      EXPECT_NEAR((limb.knee - limb.ankle).norm(), l.shank, 1e-9);
      EXPECT_NEAR((limb.hip - limb.knee).norm(), l.thigh, 1e-9);
      EXPECT_NEAR((limb.elbow - limb.shoulder).norm(), l.upper_arm, 1e-9);
      EXPECT_NEAR((limb.wrist - limb.elbow).norm(), l.forearm, 1e-9);
      EXPECT_NEAR((limb.hand - limb.wrist).norm(), l.grip, 1e-9);
    }
    EXPECT_NEAR((k.mid_shoulder - k.mid_hip).norm(), trunk_length(l, clip.setup), 1e-9);
    EXPECT_NEAR((k.side[kRight].hip - k.side[kLeft].hip).norm(), l.inter_hip, 1e-9);
    EXPECT_NEAR((k.side[kRight].shoulder - k.side[kLeft].shoulder).norm(), l.inter_shoulder, 1e-9);
  });
}

TEST(ClosedChain, KeepsTheBallsOfTheFeetAndTheFlatFeetOnTheFloor) {
  for_frames([](const ClipSpec& clip, const Skeleton& k) {
    for (int side : {kLeft, kRight}) {
      const Limbs& limb = k.side[static_cast<std::size_t>(side)];
      EXPECT_NEAR(limb.ball.y(), 0, 1e-12);
      EXPECT_GE(limb.heel.y(), 0.0349);
      if (clip.motion.heel_lift > 0) continue;
      EXPECT_NEAR(limb.ankle.x(), 0, 1e-12);
      EXPECT_NEAR(limb.ankle.y(), clip.lifter.lengths.ankle_height, 1e-12);
      EXPECT_NEAR(std::fabs(limb.ankle.z()), 0.5 * clip.setup.stance_width, 1e-12);
      EXPECT_NEAR(std::atan2(std::fabs(limb.foot_direction.z()), limb.foot_direction.x()),
                  clip.setup.toe_out, 1e-12);
    }
  });
}

TEST(ClosedChain, KeepsBothHandsOnTheBar) {
  for_frames([](const ClipSpec& clip, const Skeleton& k) {
    if (clip.setup.arms == ArmPose::Hanging) return;
    for (const Limbs& limb : k.side) {
      // Distance of the hand from the bar's axis, which runs along Z.
      EXPECT_NEAR(std::hypot(limb.hand.x() - k.bar.x(), limb.hand.y() - k.bar.y()), 0, 1e-12);
    }
    const double apart = k.side[kRight].hand.z() - k.side[kLeft].hand.z();
    EXPECT_NEAR(apart, clip.setup.grip_width + 2 * index_knuckle_offset(clip.lifter.lengths),
                1e-12);
  });
}

TEST(ClosedChain, KeepsTheElbowsStraightUnderABarOverhead) {
  for_frames([](const ClipSpec& clip, const Skeleton& k) {
    if (clip.setup.arms != ArmPose::Overhead) return;
    EXPECT_NEAR(sagittal_angles(k).elbow_flexion, 0, 1e-6);
  });
}

TEST(ClosedChain, IsMirrorSymmetric) {
  for_frames([](const ClipSpec&, const Skeleton& k) {
    const Limbs& l = k.side[kLeft];
    const Limbs& r = k.side[kRight];
    for (const auto member : {&Limbs::hip, &Limbs::knee, &Limbs::ankle, &Limbs::toe, &Limbs::elbow,
                              &Limbs::wrist, &Limbs::hand}) {
      const Point mirrored((l.*member).x(), (l.*member).y(), -(l.*member).z());
      EXPECT_LT((mirrored - r.*member).norm(), 1e-9);
    }
  });
}

TEST(Balance, HoldsTheCentreOfMassOverTheFeet) {
  for_frames([](const ClipSpec& clip, const Skeleton& k) {
    const Lengths& l = clip.lifter.lengths;
    const double heel = -l.heel_to_ankle;
    const double ball = k.side[kRight].ball.x();
    EXPECT_GT(k.center_of_mass.x(), heel + 0.02);
    EXPECT_LT(k.center_of_mass.x(), ball + 0.01);
  });
}

TEST(Balance, SaysWhenNoPostureBalances) {
  const ClipSpec& clip = clip_table().front();
  PostureInput in;
  in.thigh_inclination = 1.55;  // level thighs on upright shins: falls backward
  in.shank_tilt = 0.0;
  in.bar_x = 0.08;
  const auto k = build_balanced(clip.lifter, clip.setup, in, 0.08, Balance::ByTrunk);
  ASSERT_FALSE(k);
  EXPECT_EQ(k.error().code, ErrorCode::Invalid);
  EXPECT_FALSE(k.error().mend.empty());
}

TEST(ClosedChain, SaysWhenTheStanceIsTooWideForTheThigh) {
  const ClipSpec& clip = clip_table().front();
  demo::Setup setup = clip.setup;
  setup.stance_width = 1.4;
  const auto k = build_skeleton(clip.lifter, setup, {});
  ASSERT_FALSE(k);
  EXPECT_THAT(k.error().message, testing::HasSubstr("stance"));
}

// Shank 0.43 in the sagittal plane and a thigh that must reach 0.10 m across: by hand.
TEST(ClosedChain, AgreesWithAHandComputedPosture) {
  Lifter lifter;
  lifter.lengths = mean_lengths(1.75);
  lifter.lengths.shank = 0.43;
  lifter.lengths.thigh = 0.43;
  lifter.lengths.inter_hip = 0.18;
  demo::Setup setup;
  setup.toe_out = 0;
  setup.stance_width = 0.38;
  PostureInput in;
  in.shank_tilt = 30 * kRadiansPerDegree;
  in.thigh_inclination = 90 * kRadiansPerDegree;
  in.bar_x = 0.0;
  const auto k = build_skeleton(lifter, setup, in);
  ASSERT_TRUE(k) << k.error();
  // Knee: 0.43 sin 30 = 0.215 ahead. Thigh level: hip back by sqrt(0.43^2 - 0.10^2) = 0.418211.
  EXPECT_NEAR(k->side[kRight].knee.x(), 0.215, 1e-12);
  EXPECT_NEAR(k->mid_hip.x(), 0.215 - 0.418211, 1e-6);
  EXPECT_NEAR(k->mid_hip.y(), k->side[kRight].knee.y(), 1e-12);
}

// The published ranges of a loaded deep squat (Sato et al. 2013, as lean from vertical): trunk
// 39 to 43 with a standard deviation of 8 to 10, shank 27 to 31 with 6 degrees. Three of them.
TEST(Motion, BottomPostureIsWithinThePublishedSpread) {
  for (const ClipSpec& clip : clip_table()) {
    if (clip.motion.movement != Movement::Squat) continue;
    const Motion motion(clip.motion, clip.seed);
    const auto k = motion.skeleton(clip.lifter, clip.setup, motion.repetitions().front().bottom);
    ASSERT_TRUE(k) << clip.name;
    const SagittalAngles a = sagittal_angles(*k);
    EXPECT_NEAR(a.trunk * kDegreesPerRadian, 41, 30) << clip.name;
    EXPECT_NEAR(a.shank * kDegreesPerRadian, 29, 18) << clip.name;
    EXPECT_GT(a.thigh * kDegreesPerRadian, 84) << clip.name;
  }
}

TEST(Motion, ShoulderGivesWayOnlyInItsOwnClip) {
  for (const ClipSpec& clip : clip_table()) {
    if (clip.setup.arms != ArmPose::Overhead || clip.motion.movement != Movement::Squat) continue;
    const Motion motion(clip.motion, clip.seed);
    const double bottom = motion.repetitions().front().bottom;
    const auto top = motion.skeleton(clip.lifter, clip.setup, 0);
    const auto low = motion.skeleton(clip.lifter, clip.setup, bottom);
    ASSERT_TRUE(top && low) << clip.name;
    const double drift = low->bar.x() - top->bar.x();
    if (clip.name == "shoulder-gives-way") {
      EXPECT_GT(drift, 0.10);
    } else {
      EXPECT_LT(drift, 0.07) << clip.name;
    }
  }
}

}  // namespace
}  // namespace lintel::demo
