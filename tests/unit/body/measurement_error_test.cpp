#include "body/measurement_error.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace lintel::body {
namespace {

TEST(MeasurementError, OnlyTheTrialPartShrinksWithTries) {
  const MeasurementError error{3.0, 4.0};
  EXPECT_DOUBLE_EQ(error_of_mean(error, 1), 5.0);
  EXPECT_DOUBLE_EQ(error_of_mean(error, 4), std::sqrt(9.0 + 4.0));
  EXPECT_NEAR(error_of_mean(error, 1000000), 3.0, 1e-5);
  EXPECT_DOUBLE_EQ(error_of_mean({0.0, 4.0}, 4), 2.0);
}

TEST(MeasurementError, FewerThanOneTryCountsAsOne) {
  EXPECT_DOUBLE_EQ(error_of_mean({3.0, 4.0}, 0), 5.0);
}

TEST(MeasurementError, DetectableChangeOfUnequalSessionsIsTheirQuadraticSum) {
  EXPECT_DOUBLE_EQ(minimal_detectable_change(3.0, 4.0), 1.96 * 5.0);
  EXPECT_NEAR(minimal_detectable_change(1.0, 1.0), 2.7719, 5e-5);
  // 2.3264, and 1.1915 between the two, as the table of formulas has them (Weir 2005).
  const double mdc90 = minimal_detectable_change(1.0, 1.0, Confidence::Percent90);
  EXPECT_NEAR(mdc90, 2.3262, 5e-4);
  EXPECT_NEAR(minimal_detectable_change(1.0, 1.0) / mdc90, 1.1915, 5e-4);
}

}  // namespace
}  // namespace lintel::body
