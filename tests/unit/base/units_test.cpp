#include "base/units.h"

#include <gtest/gtest.h>
#include <functional>
#include <type_traits>

namespace lintel {
namespace {

TEST(Units, DegreeIsTheUcumDegree) {
  // UCUM: deg = 2 [pi].rad/360 = 0.017453292519943295 rad.
  EXPECT_DOUBLE_EQ(Angle::degrees(1).radians(), 0.017453292519943295);
  EXPECT_DOUBLE_EQ(Angle::degrees(180).radians(), 3.141592653589793);
}

TEST(Units, InchAndPoundAreTheInternationalOnes) {
  // International yard and pound agreement, 1959: 25.4 mm and 0.45359237 kg exactly.
  EXPECT_DOUBLE_EQ(Length::inches(1).millimetres(), 25.4);
  EXPECT_DOUBLE_EQ(Mass::pounds(1).kilograms(), 0.45359237);
}

TEST(Units, QuantitiesAddOnlyWithTheirOwnKind) {
  static_assert(std::is_same_v<decltype(Length() / Length()), double>);
  static_assert(!std::is_invocable_v<std::plus<>, Length, Angle>);
  static_assert(!std::is_convertible_v<double, Length>);
  const Length sum = Length::centimetres(40) + Length::metres(1);
  EXPECT_DOUBLE_EQ(sum.metres(), 1.4);
}

}  // namespace
}  // namespace lintel
