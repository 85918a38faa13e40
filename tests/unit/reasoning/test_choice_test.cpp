#include "reasoning/test_choice.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "jobs/thread_pool.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using ::testing::HasSubstr;

constexpr double kDegree = kRadiansPerDegree;

// Two parts in play: ankle = x, hip = 0, the rest far below.
std::vector<DrawSample> two_parts(std::size_t count, std::vector<double>& x) {
  std::vector<DrawSample> samples(count);
  x.resize(count);
  for (std::size_t k = 0; k < count; ++k) {
    Random random(11, k);
    x[k] = random.normal();
    samples[k].parts.fill(-100.0);
    samples[k].parts[index_of(Factor::Ankle)] = x[k];
    samples[k].parts[index_of(Factor::Hip)] = 0.0;
  }
  return samples;
}

// x ~ N(0, 1), y = x + e: the posterior mean is N(0, r^2), r = 1 / sqrt(1 + e^2), so that the value
// of deciding after y is E[max(mean, 0)] = r / sqrt(2 pi), and x and y agree in sign with
// probability 1/2 + asin(r) / pi (the orthant probability of the bivariate normal, Sheppard 1899).
TEST(ValueOfSignal, IsThatOfTheNormalDistributionInClosedForm) {
  std::vector<double> x;
  const auto samples = two_parts(40000, x);
  for (const double error : {0.2, 0.5, 1.0, 2.0}) {
    const SignalValue v = value_of_signal(samples, x, error);
    const double r = 1.0 / std::sqrt(1.0 + error * error);
    EXPECT_NEAR(v.gain, r / std::sqrt(2.0 * std::numbers::pi), 0.01) << error;
    EXPECT_NEAR(v.probability_right, 0.5 + std::asin(r) / std::numbers::pi, 0.01) << error;
    EXPECT_GT(v.information, 0.0);
    EXPECT_LT(v.information, 1.0);  // one bit is all there is to know
  }
}

TEST(ValueOfSignal, FallsWithTheErrorAndIsNothingForASignalThatTellsNothing) {
  std::vector<double> x;
  const auto samples = two_parts(4000, x);
  double before = 1.0;
  for (const double error : {0.1, 0.3, 1.0, 3.0, 10.0}) {
    const double gain = value_of_signal(samples, x, error).gain;
    EXPECT_LT(gain, before);
    before = gain;
  }
  std::vector<double> noise(samples.size());
  for (std::size_t k = 0; k < noise.size(); ++k) noise[k] = Random(99, k).normal();
  EXPECT_LT(value_of_signal(samples, noise, 0.3).gain, 0.01);
  EXPECT_LT(value_of_signal(samples, noise, 0.3).information, 0.005);
  const std::vector<double> constant(samples.size(), 3.0);
  EXPECT_NEAR(value_of_signal(samples, constant, 0.3).gain, 0.0, 1e-12);
}

// Few draws promise too much; what chance makes of them is taken off again.
TEST(ValueOfSignal, IsNotFlatteredByFewDraws) {
  double sum = 0.0;
  constexpr int kCases = 40;
  for (int i = 0; i < kCases; ++i) {
    std::vector<double> x;
    const auto samples = two_parts(100, x);
    std::vector<double> noise(samples.size());
    for (std::size_t k = 0; k < noise.size(); ++k) {
      noise[k] = Random(500 + static_cast<std::uint64_t>(i), k).normal();
    }
    sum += value_of_signal(samples, noise, 0.3).gain;
  }
  EXPECT_LT(sum / kCases, 0.03);  // a tenth of what a perfect signal is worth, 0.4
}

TEST(ValueOfSignal, CountsWeights) {
  std::vector<double> x;
  auto samples = two_parts(4000, x);
  // All weight on positive x: the decision is made, nothing is left to gain.
  for (std::size_t k = 0; k < x.size(); ++k) samples[k].weight = x[k] > 0.0 ? 1.0 : 0.0;
  EXPECT_NEAR(value_of_signal(samples, x, 0.2).gain, 0.0, 1e-3);
  EXPECT_NEAR(value_of_signal(samples, x, 0.2).probability_right, 1.0, 1e-3);
}

struct Asked {
  ExplainResult explained;
  TestChoice choice;
};
Asked ask(const body::Athlete& athlete, const Observation& seen, Executor& executor,
          std::vector<MobilityTest> can_be_done = {}) {
  ExplainOptions options;
  options.draws = 600;
  options.extras = Extras::SharesOnly;
  options.samples = Samples::Kept;
  Asked out{explain(athlete, seen, options, executor, {}).value(), {}};
  out.choice = choose_test({athlete, out.explained, std::move(can_be_done)}).value();
  return out;
}
Asked ask(const body::Athlete& athlete, const Observation& seen) {
  SerialExecutor executor;
  return ask(athlete, seen, executor);
}

const TestOption* option(const TestChoice& choice, MobilityTest test) {
  for (const TestOption& o : choice.options) {
    if (o.test == test) return &o;
  }
  return nullptr;
}

body::Athlete untested() {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.tests = {};
  return athlete;
}

TEST(ChooseTest, AsksForTheAnkleFirstWhenTheTrunkIsForwardAndNothingWasTested) {
  const auto asked = ask(untested(), test::seen_lean(45));
  EXPECT_EQ(asked.choice.stop, StopReason::NotYet);
  ASSERT_FALSE(asked.choice.options.empty());
  EXPECT_EQ(asked.choice.options.front().limit, posture::Limit::AnkleDorsiflexion);
  EXPECT_THAT(asked.choice.sentence, HasSubstr("Next: "));
  EXPECT_GT(asked.choice.value_at_best, asked.choice.value_now);
  for (std::size_t i = 1; i < asked.choice.options.size(); ++i) {
    EXPECT_LE(asked.choice.options[i].value.information,
              asked.choice.options[i - 1].value.information);
  }
}

// A physiotherapist reads these: natural frequencies instead of bits, and the numbers in them are
// those that were computed.
TEST(ChooseTest, TellsTheWorthOfATestInPlainWords) {
  const auto asked = ask(untested(), test::seen_lean(45));
  const TestChoice& choice = asked.choice;
  EXPECT_THAT(choice.sentence, testing::Not(testing::ContainsRegex("[ 0-9]bits?[ .,]")));
  bool told = false;
  for (const TestOption& o : choice.options) {
    EXPECT_THAT(o.why, testing::Not(testing::ContainsRegex("[ 0-9]bits?[ .,]")));
    const auto now = std::to_string(std::lround(100.0 * choice.probability_right_now));
    const auto then = std::to_string(std::lround(100.0 * o.value.probability_right));
    EXPECT_THAT(o.why, HasSubstr("is the largest for " + now));
    if (now == then) continue;
    told = true;
    EXPECT_THAT(o.why, testing::EndsWith(" for " + then + "."));
  }
  EXPECT_TRUE(told);
}

TEST(ChooseTest, StopsWhereEverythingIsKnownWell) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 26);
  for (auto& result : athlete.tests.results) {
    for (auto& side : result) {
      if (side) side->standard_error = 0.2 * kDegree;
    }
  }
  const auto lean = ask(athlete, {}).explained.shares.most_upright;
  const auto asked = ask(athlete, test::seen_lean(lean / kDegree));
  EXPECT_EQ(asked.choice.stop, StopReason::Decided);
  EXPECT_THAT(asked.choice.sentence,
              HasSubstr("under half a degree larger than ankle range (the largest part with "
                        "probability"));
}

TEST(ChooseTest, OffersOneTestOfALimitWhereTheOtherWouldNotBeTaken) {
  body::Athlete athlete = test::ordinary_athlete();  // ankle by its angle
  const auto angle = ask(athlete, test::seen_lean(45));
  EXPECT_EQ(option(angle.choice, MobilityTest::KneeToWall), nullptr);
  ASSERT_NE(option(angle.choice, MobilityTest::AnkleDorsiflexion), nullptr);
  EXPECT_TRUE(option(angle.choice, MobilityTest::AnkleDorsiflexion)->repeat);
  const auto fresh = ask(untested(), test::seen_lean(45));
  EXPECT_FALSE(option(fresh.choice, MobilityTest::KneeToWall)->repeat);
  EXPECT_GT(option(fresh.choice, MobilityTest::AnkleDorsiflexion)->value.gain,
            option(angle.choice, MobilityTest::AnkleDorsiflexion)->value.gain);
}

TEST(ChooseTest, ThePreciserTestOfALimitIsWorthMore) {
  const auto fresh = ask(untested(), test::seen_lean(45));
  // Rotation tells about extension through a ratio that is itself uncertain.
  const TestOption* rotation = option(fresh.choice, MobilityTest::ThoracicRotation);
  const TestOption* extension = option(fresh.choice, MobilityTest::ThoracicExtension);
  ASSERT_TRUE(rotation != nullptr && extension != nullptr);
  EXPECT_GT(rotation->error, extension->error);
  EXPECT_LE(rotation->value.information, extension->value.information + 1e-6);
}

TEST(ChooseTest, KeepsToWhatCanBeDoneAndToWhatTheBarAsks) {
  SerialExecutor executor;
  const auto few = ask(untested(), test::seen_lean(45), executor, {MobilityTest::HipFlexion});
  ASSERT_EQ(few.choice.options.size(), 1u);
  EXPECT_EQ(few.choice.options.front().test, MobilityTest::HipFlexion);
  const auto none = ask(untested(), test::seen_lean(45), executor,
                        {MobilityTest::HipInternalRotation});  // no limit of a part
  EXPECT_EQ(none.choice.stop, StopReason::NoTestLeft);
  body::Athlete back = untested();
  back.setup.bar_position = body::BarPosition::Back;
  for (const TestOption& o : ask(back, test::seen_lean(45)).choice.options) {
    EXPECT_NE(o.limit, posture::Limit::ShoulderElevation);
    EXPECT_NE(o.limit, posture::Limit::LatissimusLength);
  }
}

TEST(ChooseTest, SaysTheSameForAnyNumberOfThreads) {
  SerialExecutor one;
  jobs::ThreadPool four(4);
  const auto a = ask(untested(), test::seen_lean(48), one);
  const auto b = ask(untested(), test::seen_lean(48), four);
  ASSERT_EQ(a.choice.options.size(), b.choice.options.size());
  for (std::size_t i = 0; i < a.choice.options.size(); ++i) {
    EXPECT_EQ(a.choice.options[i].test, b.choice.options[i].test);
    EXPECT_EQ(a.choice.options[i].value.gain, b.choice.options[i].value.gain);
    EXPECT_EQ(a.choice.options[i].value.information, b.choice.options[i].value.information);
  }
}

TEST(ChooseTest, ATestThatThePostureContradictsIsRepeatedFirst) {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.setup.heel_elevation = 0.0;
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 16);
  const auto asked = ask(athlete, test::seen_lean(18));
  ASSERT_TRUE(asked.explained.uncertainty.contradicted);
  EXPECT_EQ(asked.choice.stop, StopReason::NotYet);
  EXPECT_EQ(asked.choice.options.front().test, MobilityTest::AnkleDorsiflexion);
  EXPECT_TRUE(asked.choice.options.front().repeat);
  EXPECT_THAT(asked.choice.sentence, HasSubstr("contradict"));
}

TEST(ChooseTest, NeedsTheDraws) {
  SerialExecutor executor;
  ExplainOptions options;
  options.draws = 20;
  options.extras = Extras::SharesOnly;
  const body::Athlete athlete = untested();
  const auto r = explain(athlete, {}, options, executor, {}).value();
  EXPECT_EQ(choose_test({athlete, r, {}}).error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::reasoning
