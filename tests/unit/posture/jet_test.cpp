#include "posture/jet.h"

#include <gtest/gtest.h>

namespace lintel::posture {
namespace {

// Something that uses every function of the header.
template <typename T>
T formula(const T& x, const T& y, const T& z) {
  const T a = sin(x * y) + cos(z - x) * sqrt(y);
  const T b = tanh(x - z * y) + y / (x * x + z * z);
  return atan2(a, b) * (a - b) + sin(z) * (-y);
}

TEST(Jet2, GradientAndHessianMatchDifferences) {
  using J = Jet2<double, 3>;
  const std::array<double, 3> x = {0.7, 1.3, -0.4};
  const auto value = [](std::array<double, 3> p) {
    return formula(J::variable(p[0], 0), J::variable(p[1], 1), J::variable(p[2], 2));
  };
  const J f = value(x);
  const double h = 1e-5;
  std::size_t k = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    auto up = x, down = x;
    up[i] += h;
    down[i] -= h;
    EXPECT_NEAR(f.g[i], (value(up).v - value(down).v) / (2 * h), 1e-8);
    for (std::size_t j = i; j < 3; ++j, ++k) {
      EXPECT_NEAR(f.h[k], (value(up).g[j] - value(down).g[j]) / (2 * h), 1e-7);
    }
  }
}

TEST(Jet2, CarriesJetsForMixedDerivatives) {
  using J = Jet2<Jet<1>, 3>;
  const auto with = [](double y) {
    return formula(J::variable(Jet<1>(0.7), 0), J::variable(Jet<1>::variable(y, 0), 1),
                   J::variable(Jet<1>(-0.4), 2));
  };
  const J f = with(1.3);
  // d/dy carried by the inner jet equals the outer derivative by the same variable.
  EXPECT_NEAR(f.v.d[0], f.g[1].v, 1e-14);
  EXPECT_NEAR(f.g[0].d[0], f.h[1].v, 1e-13);
  EXPECT_NEAR(f.g[1].d[0], f.h[3].v, 1e-13);
  EXPECT_NEAR(f.g[2].d[0], f.h[4].v, 1e-13);
}

TEST(Jet, MatchesDifferences) {
  const auto f = [](auto x) {
    using std::asin;
    using std::atan;
    using std::sqrt;
    return asin(x) * atan(x) / sqrt(x) - x;
  };
  const Jet<1> x = Jet<1>::variable(0.6, 0);
  const double h = 1e-6;
  EXPECT_NEAR(f(x).d[0], (f(0.6 + h) - f(0.6 - h)) / (2 * h), 1e-8);
}

}  // namespace
}  // namespace lintel::posture
