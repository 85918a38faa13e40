#include "body/knee_to_wall.h"

#include <cmath>

#include <gtest/gtest.h>

#include "body/anthropometry.h"

namespace lintel::body {
namespace {

TEST(KneeToWall, ConvertsDistanceWithTheAthletesOwnShank) {
  SegmentLengths lengths = estimate_segments(Sex::Male, 1.75).value();
  lengths[Segment::Foot].value = 0.27;
  lengths[Segment::HeelToAnkle].value = 0.05;
  lengths[Segment::Shank].value = 0.44;
  const auto angle = dorsiflexion_from_knee_to_wall({0.10, 0.005}, lengths);
  ASSERT_TRUE(angle);
  EXPECT_NEAR(angle->value, std::asin((0.22 + 0.10 - 0.05) / 0.44), 1e-12);
  lengths[Segment::Shank].value = 0.48;  // a longer shank needs less angle for the same distance
  EXPECT_LT(dorsiflexion_from_knee_to_wall({0.10, 0.005}, lengths)->value, angle->value);
}

TEST(KneeToWall, AgreesWithMeasuredPairs) {
  // Hall & Docherty 2017: 10.3 cm with 39.0 degrees at the tibial tuberosity and 44.9 degrees 15 cm
  // below it; ratio of the SDs 1.5 to 1.8 degrees per cm. Calatayud et al. 2015: 11.7 cm, 40.6.
  const SegmentLengths lengths = estimate_segments(Sex::Male, 1.75).value();
  const auto degrees = [&](double d) {
    return dorsiflexion_from_knee_to_wall({d, 0.0}, lengths)->value * kDegreesPerRadian;
  };
  EXPECT_GT(degrees(0.103), 39.0);
  EXPECT_LT(degrees(0.103), 44.9);
  EXPECT_NEAR(degrees(0.117), 40.6, 4.0);
  const double slope = (degrees(0.113) - degrees(0.093)) / 2.0;
  EXPECT_GT(slope, 1.5);
  EXPECT_LT(slope, 1.9);
}

TEST(KneeToWall, PropagatesErrorsLikeRandomDraws) {
  const SegmentLengths lengths = estimate_segments(Sex::Female, 1.66).value();
  const auto angle = dorsiflexion_from_knee_to_wall({0.09, 0.006}, lengths);
  ASSERT_TRUE(angle);
  const auto changed = [&](Segment s) {
    SegmentLengths l = lengths;
    l[s].value += l[s].standard_error;
    return dorsiflexion_from_knee_to_wall({0.09, 0.0}, l)->value - angle->value;
  };
  const double by_distance =
      dorsiflexion_from_knee_to_wall({0.096, 0.0}, lengths)->value - angle->value;
  const double sum =
      std::sqrt(by_distance * by_distance + std::pow(changed(Segment::Shank), 2) +
                std::pow(changed(Segment::Foot), 2) + std::pow(changed(Segment::HeelToAnkle), 2) +
                std::pow(by_distance * 0.008 / 0.006, 2));
  EXPECT_NEAR(angle->standard_error, sum, 0.05 * sum);
}

TEST(KneeToWall, GoesThereAndBack) {
  const SegmentLengths lengths = estimate_segments(Sex::Female, 1.66).value();
  for (const double d : {-0.02, 0.0, 0.05, 0.12, 0.15}) {
    const auto angle = dorsiflexion_from_knee_to_wall({d, 0.005}, lengths);
    ASSERT_TRUE(angle);
    EXPECT_NEAR(knee_to_wall_from_dorsiflexion(*angle, lengths).value, d, 1e-12);
  }
}

TEST(KneeToWall, RefusesAWallOutOfReach) {
  SegmentLengths lengths = estimate_segments(Sex::Female, 1.66).value();
  lengths[Segment::Shank].value = 0.33;
  const auto angle = dorsiflexion_from_knee_to_wall({0.25, 0.005}, lengths);
  ASSERT_FALSE(angle);
  EXPECT_EQ(angle.error().place.field, "tests.knee_to_wall");
}

TEST(HeelPitch, MatchesThePublishedHeelAngle) {
  // Published check 9: foot 266 mm, heel 13 mm: 3.8 degrees by geometry (0.1), 3.5 measured by Sato
  // et al. 2012 (0.5).
  const double pitch = heel_pitch(0.013, 0.266) * kDegreesPerRadian;
  EXPECT_NEAR(pitch, 3.8, 0.1);
  EXPECT_NEAR(pitch, 3.5, 0.5);
}

}  // namespace
}  // namespace lintel::body
