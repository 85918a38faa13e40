// The closed form of the forecast against the same integrals done numerically (Gauss-Kronrod over
// start and gain, Boost): prior times likelihood and nothing else, no linear algebra.
#include <gtest/gtest.h>

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <functional>

#include "base/random.h"
#include "plan/forecast.h"

namespace lintel::plan {
namespace {

using boost::math::quadrature::gauss_kronrod;

struct Model {
  GainModel gain;
  std::vector<Observed> observed;
  Date origin;

  double basis(double weeks) const {
    const double tau = gain.levelling_weeks;
    return tau > 0 ? tau * (1 - std::exp(-weeks / tau)) : weeks;
  }
  double log_density(double start, double slope) const {
    double sum = -std::pow((slope - gain.prior.value) / gain.prior.standard_error, 2) / 2;
    for (const Observed& o : observed) {
      const double expected = start + slope * basis(weeks_between(origin, o.date));
      sum -= std::pow((o.value.value - expected) / o.value.standard_error, 2) / 2;
    }
    return sum;
  }
};

// E[f(start, slope)] under the normalised density, over a window of 12 standard errors about its
// top, which is searched for coordinate by coordinate: nothing is taken from the code under test.
class Numeric {
 public:
  explicit Numeric(const Model& model) : model_(model) {
    start_ = model.observed.front().value.value;
    slope_ = model.gain.prior.value;
    for (int i = 0; i < 4000; ++i) {  // coordinate ascent on a concave quadratic
      start_ = top_of([&](double x) { return model_.log_density(x, slope_); }, start_);
      slope_ = top_of([&](double x) { return model_.log_density(start_, x); }, slope_);
    }
    top_ = model_.log_density(start_, slope_);
    width_start_ = 12 * model.observed.front().value.standard_error;
    width_slope_ = 12 * model.gain.prior.standard_error;
    all_ = integral([](double, double) { return 1.0; });
  }

  double mean(const std::function<double(double, double)>& f) const { return integral(f) / all_; }

  // P(start + slope * h >= target), the slope from the line on.
  double probability_above(double h, double target) const {
    const auto inner = [&](double start) {
      const double line = (target - start) / h;
      const double low = std::max(line, slope_ - width_slope_);
      if (low >= slope_ + width_slope_) return 0.0;
      return one([&](double slope) { return density(start, slope); }, low, slope_ + width_slope_);
    };
    return one(inner, start_ - width_start_, start_ + width_start_) / all_;
  }

 private:
  static double top_of(const std::function<double(double)>& f, double at) {
    // Vertex of the parabola through three points.
    const double h = 1e-2 * std::max(1.0, std::abs(at));
    const double a = f(at - h), b = f(at), c = f(at + h);
    return at + h * (a - c) / (2 * (a - 2 * b + c));
  }
  template <typename F>
  static double one(const F& f, double from, double to) {
    double sum = 0;
    constexpr int kParts = 24;
    for (int i = 0; i < kParts; ++i) {
      const double low = from + (to - from) * i / kParts;
      sum += gauss_kronrod<double, 31>::integrate(f, low, low + (to - from) / kParts, 0);
    }
    return sum;
  }
  double density(double start, double slope) const {
    return std::exp(model_.log_density(start, slope) - top_);
  }
  double integral(const std::function<double(double, double)>& f) const {
    return one(
        [&](double start) {
          return one([&](double slope) { return f(start, slope) * density(start, slope); },
                     slope_ - width_slope_, slope_ + width_slope_);
        },
        start_ - width_start_, start_ + width_start_);
  }

  const Model& model_;
  double start_ = 0, slope_ = 0, top_ = 0, width_start_ = 0, width_slope_ = 0, all_ = 1;
};

Model random_model(std::uint64_t index) {
  Random random(2026, index);
  Model model;
  model.origin = Date::parse("2026-03-02").value();
  model.gain.prior = {random.uniform(-0.2, 1.2), random.uniform(0.2, 0.8)};
  model.gain.levelling_weeks = index % 2 == 0 ? 0.0 : random.uniform(3, 12);
  const int sessions = 1 + static_cast<int>(random.uniform(0, 4));
  for (int i = 0; i < sessions; ++i) {
    const Date date = model.origin + static_cast<int>(14 * i + random.uniform(0, 5)) * (i > 0);
    model.observed.push_back({date, {random.uniform(30, 40), random.uniform(0.8, 2.0)}});
  }
  return model;
}

TEST(Forecast, ClosedFormEqualsNumericalIntegration) {
  for (std::uint64_t i = 0; i < 8; ++i) {
    SCOPED_TRACE(i);
    const Model model = random_model(i);
    const auto p = posterior_gain(model.gain, model.observed);
    ASSERT_TRUE(p) << p.error();
    const Numeric numeric(model);
    const double start = numeric.mean([](double s, double) { return s; });
    const double gain = numeric.mean([](double, double g) { return g; });
    EXPECT_NEAR(p->start.value, start, 1e-8);
    EXPECT_NEAR(p->gain.value, gain, 1e-8);
    EXPECT_NEAR(std::pow(p->start.standard_error, 2),
                numeric.mean([&](double s, double) { return (s - start) * (s - start); }), 1e-8);
    EXPECT_NEAR(std::pow(p->gain.standard_error, 2),
                numeric.mean([&](double, double g) { return (g - gain) * (g - gain); }), 1e-8);
    EXPECT_NEAR(p->covariance,
                numeric.mean([&](double s, double g) { return (s - start) * (g - gain); }), 1e-8);
    const Date day = model.origin + 70;
    const double target = p->start.value + 3;
    EXPECT_NEAR(probability_reached(*p, target, day),
                numeric.probability_above(model.basis(10), target), 1e-6);
  }
}

TEST(Forecast, TwoExactSessionsGiveTheLineThroughThem) {
  // With a vague prior: ordinary least squares through two points.
  const Date start = Date::parse("2026-03-02").value();
  const auto p = posterior_gain({{0, 1e4}}, {{start, {30, 1}}, {start + 28, {34, 1}}});
  ASSERT_TRUE(p);
  EXPECT_NEAR(p->gain.value, 1.0, 1e-6);
  EXPECT_NEAR(p->gain.standard_error, std::sqrt(2.0) / 4, 1e-6);
  EXPECT_NEAR(p->start.value, 30, 1e-6);
}

// Promised against kept: of 4,000 athletes drawn from the prior, as many reach a target by the day
// as the probabilities add up to.
TEST(Forecast, ProbabilitiesAreCalibratedForAthletesOfTheModel) {
  const Date start = Date::parse("2026-03-02").value();
  const GainModel model{{0.8, 0.4}};
  int n = 0, reached = 0;
  double promised = 0;
  for (std::uint64_t i = 0; i < 4000; ++i) {
    Random random(7, i);
    const double first = random.normal(32, 3), gain = random.normal(0.8, 0.4), error = 1.2;
    std::vector<Observed> observed;
    for (const int week : {0, 3, 6}) {
      observed.push_back({start + 7 * week, {random.normal(first + gain * week, error), error}});
    }
    const auto p = posterior_gain(model, observed);
    ASSERT_TRUE(p);
    const double target = observed[0].value.value + 6;
    promised += probability_reached(*p, target, start + 63);
    reached += first + gain * 9 >= target ? 1 : 0;
    ++n;
  }
  EXPECT_NEAR(reached / double(n), promised / n, 3 * std::sqrt(0.25 / n));
}

}  // namespace
}  // namespace lintel::plan
