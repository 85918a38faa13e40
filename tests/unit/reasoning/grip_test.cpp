#include "reasoning/grip.h"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "reasoning/defaults.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;

// The pipe in the crease with the hip flexed to 90 degrees, the trunk upright: where the hands of
// straight arms close on a pipe in front of the shoulder line. By bisection on the distance
// from shoulder joint to the middle of the hand, in space.
double pipe_grip(const posture::BodyParameters& body) {
  using body::Segment;
  const double arm = body.lengths[Segment::UpperArm].value + body.lengths[Segment::Forearm].value +
                     body.lengths[Segment::Grip].value;
  // The fold of the hip moves with the pelvis, which the hip's own range leaves upright at 90 deg.
  const double ahead = default_table().value("grip.crease_ahead_of_hip");
  const double up = default_table().value("grip.crease_above_hip");
  const double shoulder_z = 0.5 * body.lengths[Segment::InterShoulder].value;
  double low = shoulder_z, high = shoulder_z + arm;
  for (int i = 0; i < 60; ++i) {
    const double z = 0.5 * (low + high);
    const double distance =
        std::hypot(ahead, body.lengths[Segment::Trunk].value - up, z - shoulder_z);
    (distance < arm ? low : high) = z;
  }
  return 2.0 * (low - 0.042);  // hand's middle to index knuckle: ANSUR II 2012, breadth 84 mm
}

posture::Limits limits_of(const body::Athlete& athlete) {
  const auto body = posture::body_parameters(athlete).value();
  return posture::limits_from_tests(athlete, body.lengths).value().limits;
}

GripAdvice advice_for(const body::Athlete& athlete) {
  const auto body = posture::body_parameters(athlete).value();
  return advise_grip(body, athlete.setup, limits_of(athlete)).value();
}

void set_shoulder(body::Athlete& athlete, double degrees) {
  test::set_test(athlete, MobilityTest::ShoulderFlexion, degrees);
  test::set_test(athlete, MobilityTest::ArmToWallTurnedOut, std::max(-20.0, 170.0 - degrees));
}

TEST(Grip, AgreesWithThePipeInTheHipCreaseWithinTwoCentimetresAndPasses) {
  // Common practice, no source. Ordinary proportions, shoulders of an average adult.
  for (const auto sex : {body::Sex::Female, body::Sex::Male}) {
    for (const double stature : {1.58, 1.65, 1.72, 1.79}) {
      body::Athlete athlete = test::ordinary_athlete(sex, stature);
      set_shoulder(athlete, 172);
      const auto body = posture::body_parameters(athlete).value();
      const GripAdvice advice = advice_for(athlete);
      EXPECT_NEAR(advice.recommended, pipe_grip(body), 0.02) << stature;
      EXPECT_NEAR(advice.hip_crease.value, pipe_grip(body), 0.02);
      EXPECT_TRUE(advice.pass_through);
      EXPECT_FALSE(advice.leaves_hip_crease);
    }
  }
}

TEST(Grip, IsOfTheSizeThatLiftersUse) {
  // Snatch grips of adults lie at about half of stature and more, rings of the bar 910 mm apart:
  // common practice, no source.
  for (const double stature : {1.60, 1.75}) {
    const GripAdvice advice = advice_for(test::ordinary_athlete(body::Sex::Male, stature));
    EXPECT_GT(advice.hip_crease.value, 0.50 * stature);
    EXPECT_LT(advice.hip_crease.value, 0.64 * stature);
    EXPECT_GT(advice.hip_crease.standard_error, 0.01);
  }
}

TEST(Grip, AStifferShoulderMovesItOutAMoreMobileOneInWithTheSnatchWarning) {
  body::Athlete athlete = test::ordinary_athlete(body::Sex::Female, 1.66);
  double before = 10.0;
  for (const double shoulder : {155.0, 162.0, 168.0, 172.0, 180.0, 190.0, 200.0}) {
    set_shoulder(athlete, shoulder);
    const GripAdvice advice = advice_for(athlete);
    EXPECT_LE(advice.recommended, before + 1e-9) << shoulder;
    before = advice.recommended;
  }
  set_shoulder(athlete, 166);
  const GripAdvice stiff = advice_for(athlete);
  EXPECT_EQ(stiff.reason, GripReason::ShoulderNeedsRoom);
  EXPECT_GT(stiff.recommended, stiff.hip_crease.value);
  EXPECT_TRUE(stiff.pass_through);
  set_shoulder(athlete, 197);
  const GripAdvice mobile = advice_for(athlete);
  EXPECT_EQ(mobile.reason, GripReason::ShoulderHasRoom);
  EXPECT_LT(mobile.recommended, mobile.hip_crease.value - 0.02);
  EXPECT_TRUE(mobile.leaves_hip_crease);
  EXPECT_TRUE(mobile.pass_through);
}

TEST(Grip, SaysWhenNoGripOnThisBarIsWideEnough) {
  body::Athlete athlete = test::ordinary_athlete();
  set_shoulder(athlete, 145);
  const GripAdvice advice = advice_for(athlete);
  EXPECT_EQ(advice.reason, GripReason::WidestReached);
  EXPECT_FALSE(advice.pass_through);
  EXPECT_NEAR(advice.recommended, advice.bounds.high, 1e-9);
}

TEST(Grip, StaysWithinItsBounds) {
  for (double shoulder = 140; shoulder <= 210; shoulder += 10) {
    body::Athlete athlete = test::ordinary_athlete(body::Sex::Male, 1.88);
    set_shoulder(athlete, shoulder);
    const GripAdvice advice = advice_for(athlete);
    EXPECT_GE(advice.recommended, advice.bounds.low - 1e-9);
    EXPECT_LE(advice.recommended, advice.bounds.high + 1e-9);
    EXPECT_LE(advice.bounds.high, 1.10 + 1e-9);  // sleeves 1310 mm apart, IWF rules
  }
}

TEST(AllowedElevation, GrowsWithTheGripAndFallsWithLumbarFlexion) {
  const auto c = test::reasoning_case(test::ordinary_athlete());
  const auto& limits = c.limits.limits;
  EXPECT_GT(allowed_elevation(c.body, limits, 1.0, 0.0),
            allowed_elevation(c.body, limits, 0.6, 0.0));
  posture::Limits latissimus = limits;
  latissimus[posture::Limit::LatissimusLength].edge = 2.9;
  EXPECT_NEAR(allowed_elevation(c.body, latissimus, 0.9, 0.0) -
                  allowed_elevation(c.body, latissimus, 0.9, 0.2),
              0.5 * 0.2, 1e-9);  // latissimus_elevation.per_lumbar_flexion
}

}  // namespace
}  // namespace lintel::reasoning
