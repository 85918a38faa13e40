#include "reasoning/what_if_errors.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <gtest/gtest.h>

#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

constexpr double kDegree = kRadiansPerDegree;

UncertainInput input_of(const body::Athlete& athlete) {
  const auto c = test::reasoning_case(athlete);
  return {c.body, athlete.setup, c.comparison.best, c.limits, {}, {}, 0.0};
}

body::Athlete stiff_ankles() {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 34);
  return athlete;
}

body::Athlete untested() {
  body::Athlete athlete;
  athlete.id = "a2";
  athlete.sex = body::Sex::Female;
  athlete.stature = 1.68;
  athlete.body_mass = 64.0;
  return athlete;
}

// All errors made smaller by this factor: then everything is linear.
UncertainInput with_errors(UncertainInput input, double factor) {
  for (Estimate& length : input.body.lengths.length) length.standard_error *= factor;
  for (double& error : input.limits.standard_error) error *= factor;
  return input;
}

// The solver has no derivatives by couplings.
ActiveDeviates without_couplings(const UncertainInput& input) {
  ActiveDeviates active = active_deviates(input);
  std::fill(active.end() - 1 - kCouplingCount, active.end(), false);
  return active;
}

Change heel(const UncertainInput& input, double by) {
  return {Lever::Heel, input.today.heel_elevation, input.today.heel_elevation + by};
}
Change stance(const UncertainInput& input, double by) {
  return {Lever::Stance, input.today.stance_width, input.today.stance_width + by};
}
Change bar(const UncertainInput& input, double to) {
  return {Lever::BarMass, input.today.bar_mass, to};
}
Change ankle(const UncertainInput& input, double by) {
  const double now = input.limits.limits[posture::Limit::AnkleDorsiflexion].edge;
  return {Lever::AnkleRange, now, now + by};
}

struct Deviation {
  std::vector<double> values;
  void add(double value) { values.push_back(value); }
  double deviation() const {
    const auto n = static_cast<double>(values.size());
    const double mean = std::accumulate(values.begin(), values.end(), 0.0) / n;
    double squares = 0.0;
    for (const double v : values) squares += (v - mean) * (v - mean);
    return std::sqrt(squares / (n - 1.0));
  }
};

using Question = std::vector<Change>;

// The spread over the draws of the explanation, which know nothing of matching; one a question.
std::vector<WhatIfErrors> sampled(const UncertainInput& input,
                                  const std::vector<Question>& questions, int draws) {
  struct Spreads {
    Deviation today, after, change;
  };
  std::vector<Spreads> spreads(questions.size());
  const Evaluated mean =
      evaluate_most_upright(input.body, input.today, input.limits.limits).value();
  for (int k = 0; k < draws; ++k) {
    const Comparison c = draw_comparison(input, 20261127, static_cast<std::uint64_t>(k)).comparison;
    const auto before = evaluate_most_upright(c.body, c.today, c.limits_today, &mean.warm);
    if (!before) continue;
    for (std::size_t i = 0; i < questions.size(); ++i) {
      const auto then =
          evaluate_changed(c.body, c.today, c.limits_today, questions[i], &before->warm);
      if (!then) continue;
      const double gain = then->lean() - before->lean();
      spreads[i].today.add(before->trunk_inclination);
      spreads[i].after.add(before->trunk_inclination + gain);
      spreads[i].change.add(gain);
    }
  }
  std::vector<WhatIfErrors> out;
  for (const Spreads& s : spreads) {
    out.push_back({s.today.deviation(), s.after.deviation(), s.change.deviation(), {}});
  }
  return out;
}

TEST(MatchedDeviates, HaveMeanZeroDeviationOneAndDoNotGoTogether) {
  ActiveDeviates active{};
  for (std::size_t k = 0; k < kDeviateCount; ++k) active[k] = k % 5 != 2;
  const auto rows = matched_deviates(7, 60, active);
  ASSERT_EQ(rows.size(), 60u);
  for (std::size_t a = 0; a < kDeviateCount; ++a) {
    for (std::size_t b = a; b < kDeviateCount; ++b) {
      double sum = 0.0, product = 0.0;
      for (const Deviates& row : rows) {
        sum += row[a];
        product += row[a] * row[b];
      }
      EXPECT_NEAR(sum, 0.0, 1e-9);
      EXPECT_NEAR(product / 59.0, a == b && active[a] ? 1.0 : 0.0, 1e-9) << a << " " << b;
    }
  }
  EXPECT_EQ(matched_deviates(7, 60, active), rows);
  EXPECT_NE(matched_deviates(8, 60, active), rows);
}

// Small errors: the exact sensitivities of the solver say what today's error must be.
TEST(WhatIfErrors, OfTodayAreThoseOfTheExactSensitivitiesWhereErrorsAreSmall) {
  const UncertainInput input = with_errors(input_of(stiff_ankles()), 0.02);
  const auto model =
      posture::Model::create(input.body, input.today, elastic(input.limits.limits)).value();
  const auto sensitivities =
      posture::compute_sensitivities(model, posture::solve_most_upright(model)).value();
  double squares = 0.0;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    const double part =
        sensitivities.trunk_inclination.by_limit[i] * input.limits.standard_error[i];
    if (std::isfinite(input.limits.limits.edges[i].edge)) squares += part * part;
  }
  for (std::size_t i = 0; i < body::kSegmentCount; ++i) {
    const double part =
        sensitivities.trunk_inclination.by_length[i] * input.body.lengths.length[i].standard_error;
    squares += part * part;
  }
  const WhatIfDraws draws =
      WhatIfDraws::create(input, 3, TodayIs::Posture, without_couplings(input)).value();
  EXPECT_NEAR(draws.errors_of({}).today, std::sqrt(squares), 0.02 * std::sqrt(squares));
}

// The change: derivatives of the difference, one input after the other.
TEST(WhatIfErrors, OfAChangeFollowFromWhatEachInputDoesToTheDifference) {
  const UncertainInput input = with_errors(input_of(stiff_ankles()), 0.05);
  const std::vector<Change> changes = {heel(input, 0.015)};
  const auto gain = [&](const Deviates& at) {
    const Comparison c = comparison_at(input, at).comparison;
    const Evaluated before = evaluate_most_upright(c.body, c.today, c.limits_today).value();
    return evaluate_changed(c.body, c.today, c.limits_today, changes, &before.warm)->lean() -
           before.lean();
  };
  const ActiveDeviates active = without_couplings(input);
  double squares = 0.0;
  for (std::size_t k = 0; k < kDeviateCount; ++k) {
    if (!active[k]) continue;
    Deviates up{}, down{};
    up[k] = 1.0;
    down[k] = -1.0;
    squares += std::pow(0.5 * (gain(up) - gain(down)), 2.0);
  }
  const WhatIfErrors errors =
      WhatIfDraws::create(input, 5, TodayIs::Posture, active)->errors_of(changes);
  EXPECT_NEAR(errors.change, std::sqrt(squares), 0.05 * std::sqrt(squares));
  ASSERT_FALSE(errors.parts.empty());
}

// Full errors: within 15 % of the spread of 2,000 plain draws where the change does something.
TEST(WhatIfErrors, AreThoseOfManyPlainDraws) {
  for (const body::Athlete& athlete : {stiff_ankles(), test::ordinary_athlete(), untested()}) {
    const UncertainInput input = input_of(athlete);
    const WhatIfDraws draws = WhatIfDraws::create(input, 1).value();
    const std::vector<Question> questions = {{heel(input, 0.015)},
                                             {stance(input, 0.06)},
                                             {bar(input, 0.5 * input.today.bar_mass)},
                                             {ankle(input, 5.0 * kDegree)},
                                             {heel(input, 0.015), stance(input, 0.06)}};
    const std::vector<WhatIfErrors> plain = sampled(input, questions, 2000);
    for (std::size_t i = 0; i < questions.size(); ++i) {
      const WhatIfErrors few = draws.errors_of(questions[i]);
      const WhatIfErrors& many = plain[i];
      const auto name = std::string(lever_name(questions[i].front().lever)) + " of " + athlete.id;
      EXPECT_NEAR(few.change, many.change, 0.15 * many.change) << name;
      EXPECT_NEAR(few.after, many.after, 0.12 * many.after) << name;
      EXPECT_NEAR(few.today, many.today, 0.12 * many.today) << name;
    }
  }
}

// The same body stands before and after: as two independent leans the change would seem far worse
// known than it is.
TEST(WhatIfErrors, OfTheChangeAreNotThoseOfTwoAthletes) {
  const UncertainInput input = input_of(stiff_ankles());
  const WhatIfErrors errors = WhatIfDraws::create(input, 1)->errors_of({heel(input, 0.015)});
  EXPECT_GT(errors.today, 3.0 * kDegree);
  EXPECT_GT(errors.after, 3.0 * kDegree);
  EXPECT_LT(errors.change, 0.25 * std::hypot(errors.today, errors.after));
  EXPECT_GT(errors.change, 0.5 * kDegree);
}

TEST(WhatIfErrors, StartFromWhatWasSeen) {
  UncertainInput input = input_of(stiff_ankles());
  input.observed = test::degrees_of(48, 2);
  const WhatIfDraws draws = WhatIfDraws::create(input, 1).value();
  const WhatIfErrors none = draws.errors_of({});
  EXPECT_DOUBLE_EQ(none.today, 2.0 * kDegree);
  EXPECT_DOUBLE_EQ(none.after, 2.0 * kDegree);
  EXPECT_EQ(none.change, 0.0);
  EXPECT_TRUE(none.parts.empty());
  const WhatIfErrors raised = draws.errors_of({heel(input, 0.015)});
  EXPECT_NEAR(raised.after, std::hypot(2.0 * kDegree, raised.change), 1e-12);
  input.observed.reset();
  EXPECT_EQ(WhatIfDraws::create(input, 1)->errors_of({heel(input, 0.015)}).change, raised.change);
}

// Who was not tested is known by the population: the ankle is what the error of a heel comes from.
TEST(WhatIfErrors, NameTheInputThatBringsThem) {
  const UncertainInput input = input_of(untested());
  const WhatIfErrors errors = WhatIfDraws::create(input, 1)->errors_of({heel(input, 0.015)});
  ASSERT_FALSE(errors.parts.empty());
  EXPECT_EQ(errors.parts.front().source, ErrorSource::Range);
  EXPECT_EQ(errors.parts.front().limit, posture::Limit::AnkleDorsiflexion);
  double squares = 0.0;
  for (const ErrorPart& part : errors.parts) {
    EXPECT_GE(part.error, 0.25 * errors.change);
    squares += part.error * part.error;
  }
  EXPECT_LE(squares, 1.0001 * errors.change * errors.change);
  // Known well, it brings less.
  UncertainInput tested = input;
  tested.limits.standard_error[static_cast<std::size_t>(posture::Limit::AnkleDorsiflexion)] =
      1.0 * kDegree;
  EXPECT_LT(WhatIfDraws::create(tested, 1)->errors_of({heel(input, 0.015)}).change,
            0.8 * errors.change);
}

TEST(WhatIfErrors, TellWhatIsDistinguishable) {
  EXPECT_TRUE(is_distinguishable(-2.0, 1.0));
  EXPECT_FALSE(is_distinguishable(-1.9, 1.0));
  EXPECT_TRUE(is_distinguishable(1.97, 1.0));
  EXPECT_FALSE(is_distinguishable(0.0, 0.0));
}

}  // namespace
}  // namespace lintel::reasoning
