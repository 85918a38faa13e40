#include "body/anthropometry.h"

#include <gtest/gtest.h>

#include "body/body_segments.h"

namespace lintel::body {
namespace {

TEST(EstimateSegments, UsesDrillisAndContiniFractions) {
  // Drillis & Contini 1966: thigh 0.245, trunk 0.288, upper arm 0.186, forearm 0.146 of stature.
  const auto lengths = estimate_segments(Sex::Male, 1.80);
  ASSERT_TRUE(lengths);
  EXPECT_NEAR((*lengths)[Segment::Thigh].value, 0.245 * 1.80, 1e-12);
  EXPECT_NEAR((*lengths)[Segment::Trunk].value, 0.288 * 1.80, 1e-12);
  EXPECT_NEAR((*lengths)[Segment::UpperArm].value, 0.186 * 1.80, 1e-12);
  EXPECT_NEAR((*lengths)[Segment::Forearm].value, 0.146 * 1.80, 1e-12);
  for (const Estimate& length : lengths->length) EXPECT_GT(length.standard_error, 0.0);
}

TEST(EstimateSegments, MeasuredLengthsReplaceEstimates) {
  MeasuredLengths measured;
  measured[static_cast<std::size_t>(Segment::Thigh)] = Estimate{0.47, 0.01};
  measured[static_cast<std::size_t>(Segment::Foot)] = Estimate{0.27, 0.0};
  const auto lengths = estimate_segments(Sex::Female, 1.70, measured);
  ASSERT_TRUE(lengths);
  EXPECT_DOUBLE_EQ((*lengths)[Segment::Thigh].value, 0.47);
  EXPECT_DOUBLE_EQ((*lengths)[Segment::Thigh].standard_error, 0.01);
  EXPECT_EQ(lengths->source[static_cast<std::size_t>(Segment::Thigh)], LengthSource::Measured);
  EXPECT_DOUBLE_EQ((*lengths)[Segment::Foot].standard_error, 0.006);  // default of the table
  // The heel's share follows the measured foot.
  EXPECT_NEAR((*lengths)[Segment::HeelToAnkle].value, 0.19 * 0.27, 1e-12);
}

TEST(EstimateSegments, RefusesWhatIsOutOfRange) {
  EXPECT_FALSE(estimate_segments(Sex::Male, 0.0));
  EXPECT_FALSE(estimate_segments(Sex::Male, 5.0));
  MeasuredLengths measured;
  measured[static_cast<std::size_t>(Segment::Shank)] = Estimate{-0.4, 0.0};
  const auto lengths = estimate_segments(Sex::Male, 1.8, measured);
  ASSERT_FALSE(lengths);
  EXPECT_EQ(lengths.error().place.field, "measured_lengths.shank");
}

TEST(BodySegments, MassesCloseToTheWholeBody) {
  // Published check 1: de Leva 1996, limbs doubled: 1.0000 (male) and 0.9999 (female).
  const auto sum = [](Sex sex) {
    double total = 0.0;
    for (int i = 0; i < kPartCount; ++i) {
      const auto part = static_cast<Part>(i);
      total += (is_paired(part) ? 2.0 : 1.0) * part_parameters(sex, part).mass_fraction;
    }
    return total;
  };
  EXPECT_NEAR(sum(Sex::Male), 1.0000, 0.0002);
  EXPECT_NEAR(sum(Sex::Female), 0.9999, 0.0002);
}

TEST(BodySegments, TrunkPartsCloseToTheWholeTrunk) {
  // Published check 1: 0.4346 and 0.4257; and the whole trunk's centre of mass, mid-shoulder to
  // mid-hip: 0.4310 (male) and 0.3782 (female) from the shoulder (de Leva 1996, table 4).
  const auto check = [](Sex sex, double mass, double center) {
    const TrunkDivision d = trunk_division(sex);
    EXPECT_NEAR(d.pelvis_length + d.lumbar_length + d.thorax_length, 1.0, 1e-9);
    const double pelvis = part_parameters(sex, Part::Pelvis).mass_fraction;
    const double lumbar = part_parameters(sex, Part::Lumbar).mass_fraction;
    const double thorax = part_parameters(sex, Part::Thorax).mass_fraction;
    EXPECT_NEAR(pelvis + lumbar + thorax, mass, 0.0002);
    const double above_hip =
        (pelvis * d.pelvis_center + lumbar * (d.pelvis_length + d.lumbar_center) +
         thorax * (d.pelvis_length + d.lumbar_length + d.thorax_center)) /
        (pelvis + lumbar + thorax);
    EXPECT_NEAR(1.0 - above_hip, center, 0.006);
  };
  check(Sex::Male, 0.4346, 0.4310);
  check(Sex::Female, 0.4257, 0.3782);
}

}  // namespace
}  // namespace lintel::body
