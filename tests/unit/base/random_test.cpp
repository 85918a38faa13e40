#include "base/random.h"

#include <gtest/gtest.h>
#include <cmath>

namespace lintel {
namespace {

TEST(Random, SameSeedAndStreamGiveTheSameNumbers) {
  Random a(7, 3);
  Random b(7, 3);
  Random other(7, 4);
  bool differs = false;
  for (int i = 0; i < 100; ++i) {
    const auto x = a.next();
    EXPECT_EQ(x, b.next());
    differs = differs || x != other.next();
  }
  EXPECT_TRUE(differs);
}

TEST(Random, NormalVariatesHaveTheMomentsOfTheNormalDistribution) {
  // Standard normal: mean 0, variance 1, fourth moment 3 (handbook values); bounds are 5 standard
  // errors of each sample moment at n = 200 000.
  Random random(1);
  const int n = 200000;
  double m1 = 0;
  double m2 = 0;
  double m4 = 0;
  for (int i = 0; i < n; ++i) {
    const double x = random.normal();
    m1 += x;
    m2 += x * x;
    m4 += x * x * x * x;
  }
  EXPECT_NEAR(m1 / n, 0.0, 5.0 / std::sqrt(n));
  EXPECT_NEAR(m2 / n, 1.0, 5.0 * std::sqrt(2.0 / n));
  EXPECT_NEAR(m4 / n, 3.0, 5.0 * std::sqrt(96.0 / n));
}

TEST(Random, UniformStaysInItsInterval) {
  Random random(2);
  for (int i = 0; i < 10000; ++i) {
    const double x = random.uniform(-2, 5);
    EXPECT_GE(x, -2);
    EXPECT_LT(x, 5);
  }
}

}  // namespace
}  // namespace lintel
