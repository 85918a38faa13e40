#include "base/normal.h"

#include <gtest/gtest.h>

namespace lintel {
namespace {

// R 4.2.2: pnorm and qnorm.
TEST(Normal, DistributionAndQuantileAreThoseOfR) {
  EXPECT_DOUBLE_EQ(normal_cdf(0), 0.5);
  EXPECT_NEAR(normal_cdf(1.0), 0.841344746068543, 1e-15);
  EXPECT_NEAR(normal_cdf(-3.0), 0.00134989803163009, 1e-17);
  EXPECT_NEAR(normal_quantile(0.975), 1.95996398454005, 1e-14);
  EXPECT_NEAR(normal_quantile(0.95), 1.64485362695147, 1e-14);
  EXPECT_NEAR(normal_quantile(0.5), 0.0, 1e-15);
  EXPECT_NEAR(normal_quantile(1e-10), -6.36134090240406, 1e-13);
}

TEST(Normal, QuantileUndoesTheDistribution) {
  for (double z = -8; z <= 5; z += 0.37) {
    EXPECT_NEAR(normal_quantile(normal_cdf(z)), z, 1e-9 * std::max(1.0, std::abs(z))) << z;
  }
}

}  // namespace
}  // namespace lintel
