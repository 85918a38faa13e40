#include "body/athlete.h"

#include <cmath>
#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lintel::body {
namespace {

using testing::HasSubstr;

Athlete good() {
  Athlete a;
  a.sex = Sex::Male;
  a.stature = 1.75;
  a.body_mass = 80.0;
  return a;
}

// The only fault of an athlete that was good before one field was broken.
Error only_fault(const Athlete& athlete) {
  const auto faults = find_faults(athlete);
  EXPECT_EQ(faults.size(), 1u);
  return faults.empty() ? Error{} : faults.front();
}

TEST(Athlete, AcceptsAnOrdinaryOne) {
  EXPECT_TRUE(find_faults(good()).empty());
  EXPECT_TRUE(validate(good()));
}

TEST(Athlete, NamesMissingFields) {
  Athlete a;
  const auto faults = find_faults(a);
  ASSERT_EQ(faults.size(), 2u);
  EXPECT_EQ(faults[0].place.field, "athlete.stature");
  EXPECT_EQ(faults[1].place.field, "athlete.body_mass");
  EXPECT_THAT(faults[0].mend, HasSubstr("1.2 m to 2.3 m"));
}

TEST(Athlete, RefusesANegativeLength) {
  Athlete a = good();
  a.measured_lengths[static_cast<std::size_t>(Segment::Thigh)] = Estimate{-0.43, 0.0};
  const Error e = only_fault(a);
  EXPECT_EQ(e.place.field, "measured_lengths.thigh");
  EXPECT_THAT(e.message, HasSubstr("-0.43 m"));
  EXPECT_THAT(e.message, HasSubstr("0.25 m to 0.62 m"));
}

TEST(Athlete, RefusesAnAnkleRangeOf300Degrees) {
  Athlete a = good();
  a.tests[MobilityTest::AnkleDorsiflexion][1] = Estimate{300.0 * kRadiansPerDegree, 0.0};
  const Error e = only_fault(a);
  EXPECT_EQ(e.place.field, "tests.ankle_dorsiflexion.right");
  EXPECT_THAT(e.message, HasSubstr("300 deg"));
  EXPECT_THAT(e.message, HasSubstr("0 deg to 60 deg"));
}

TEST(Athlete, RefusesAGripNarrowerThanTheShoulders) {
  Athlete a = good();
  a.setup.grip_width = 0.26;
  const Error e = only_fault(a);
  EXPECT_EQ(e.place.field, "setup.grip_width");
  EXPECT_THAT(e.message, HasSubstr("narrower than the shoulders"));
  EXPECT_THAT(e.message, HasSubstr("allowed is"));
}

TEST(Athlete, RefusesABarOf900Kilograms) {
  Athlete a = good();
  a.setup.bar_mass = 900.0;
  const Error e = only_fault(a);
  EXPECT_EQ(e.place.field, "setup.bar_mass");
  EXPECT_THAT(e.message, HasSubstr("0 kg to 350 kg"));
}

TEST(Athlete, RefusesNotANumberEverywhere) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double infinity = std::numeric_limits<double>::infinity();
  for (const double bad : {nan, infinity, -infinity}) {
    for (double Setup::*field :
         {&Setup::stance_width, &Setup::toe_out, &Setup::heel_elevation, &Setup::grip_width,
          &Setup::bar_mass, &Setup::disc_diameter, &Setup::seat_share, &Setup::depth,
          &Setup::center_of_pressure_target}) {
      Athlete a = good();
      a.setup.*field = bad;
      EXPECT_FALSE(validate(a));
    }
    Athlete a = good();
    a.stature = bad;
    EXPECT_EQ(validate(a).error().place.field, "athlete.stature");
    a = good();
    a.body_mass = bad;
    EXPECT_EQ(validate(a).error().place.field, "athlete.body_mass");
    a = good();
    a.tests[MobilityTest::KneeToWall][0] = Estimate{bad, 0.0};
    EXPECT_EQ(validate(a).error().place.field, "tests.knee_to_wall.left");
    a = good();
    a.tests[MobilityTest::KneeToWall][0] = Estimate{0.1, bad};
    EXPECT_EQ(validate(a).error().place.field, "tests.knee_to_wall.left.standard_error");
  }
}

TEST(Athlete, RefusesAShareOnASurfaceThatIsNotThere) {
  Athlete a = good();
  a.setup.seat_share = 0.5;
  EXPECT_EQ(only_fault(a).place.field, "setup.seat_share");
  a.setup.surface_height = 0.4;
  EXPECT_TRUE(find_faults(a).empty());
}

TEST(Athlete, ReportsAllFaultsAtOnce) {
  Athlete a = good();
  a.body_mass = -1.0;
  a.setup.bar_mass = 900.0;
  a.setup.stance_width = 5.0;
  EXPECT_EQ(find_faults(a).size(), 3u);
}

}  // namespace
}  // namespace lintel::body
