#include "reasoning/explain.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using ::testing::HasSubstr;

constexpr double kDegree = kRadiansPerDegree;

Result<ExplainResult> run(const body::Athlete& athlete, const Observation& seen, int draws = 200) {
  SerialExecutor executor;
  ExplainOptions options;
  options.draws = draws;
  return explain(athlete, seen, options, executor, {});
}

Factor top_factor(const ExplainResult& r) {
  const auto& p = r.uncertainty.probability_largest;
  return static_cast<Factor>(std::max_element(p.begin(), p.end()) - p.begin());
}

double top_probability(const ExplainResult& r) {
  const auto& p = r.uncertainty.probability_largest;
  return *std::max_element(p.begin(), p.end());
}

std::string joined(const ExplainResult& r) {
  std::string all;
  for (const std::string& sentence : r.sentences) all += sentence + "\n";
  return all;
}

TEST(Explain, KneeToWallAtAHandsBreadthIsNotAnkleLimited) {
  // Common practice, no source. A hand as the old measure has it: 4 inches.
  for (const auto sex : {body::Sex::Female, body::Sex::Male}) {
    for (const double stature : {1.60, 1.70, 1.80}) {
      body::Athlete athlete = test::ordinary_athlete(sex, stature);
      athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
      const double breadth = 4.0 * kMetresPerInch;
      athlete.tests[MobilityTest::KneeToWall] = {Estimate{breadth, 0}, Estimate{breadth, 0}};
      const auto r = run(athlete, test::seen_lean(40)).value();
      EXPECT_NE(top_factor(r), Factor::Ankle);
      EXPECT_LT(r.uncertainty.probability_largest[index_of(Factor::Ankle)], 0.25) << stature;
      EXPECT_LT(r.shares.parts[index_of(Factor::Ankle)], 4.0 * kDegree);
    }
  }
}

TEST(Explain, PassingTheAnkleTestAndNotTravellingForwardIsHabit) {
  // Common practice, no source.
  body::Athlete athlete = test::ordinary_athlete();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
  athlete.tests[MobilityTest::KneeToWall] = {Estimate{0.10, 0}, Estimate{0.10, 0}};
  Observation seen = test::seen_lean(54);
  seen.shank_inclination = test::degrees_of(19, 1.5);
  const auto r = run(athlete, seen).value();
  EXPECT_EQ(top_factor(r), Factor::Habit);
  EXPECT_GT(top_probability(r), 0.8);
  EXPECT_THAT(joined(r), HasSubstr("The range is there and is not used"));
  EXPECT_THAT(joined(r), HasSubstr("The shank came to 19 deg"));
}

TEST(Explain, StiffAnklesAreNamedWithTheirProbabilityAndNotAsHabit) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 30);
  const auto lean = run(athlete, {}).value().shares.most_upright;
  const auto r = run(athlete, test::seen_lean(lean / kDegree)).value();
  EXPECT_EQ(top_factor(r), Factor::Ankle);
  EXPECT_THAT(r.sentences.front(), HasSubstr("ankle range"));
  EXPECT_THAT(r.sentences.front(), HasSubstr("probability"));
  EXPECT_THAT(joined(r), HasSubstr("as upright as the body allows"));
}

TEST(Explain, ALimiterIsNeverNamedWithoutItsProbability) {
  for (const double ankle : {26.0, 34.0, 40.0, 46.0}) {
    for (const double lean : {20.0, 35.0, 50.0}) {
      body::Athlete athlete = test::ordinary_athlete();
      test::set_test(athlete, MobilityTest::AnkleDorsiflexion, ankle);
      const auto r = run(athlete, test::seen_lean(lean), 60).value();
      for (const std::string& sentence : r.sentences) {
        if (sentence.find("largest part") != std::string::npos ||
            sentence.find("stands out") != std::string::npos) {
          EXPECT_THAT(sentence, HasSubstr("probability"));
        }
      }
      EXPECT_NEAR(std::accumulate(r.shares.parts.begin(), r.shares.parts.end(), 0.0),
                  r.shares.whole, 1e-9);
    }
  }
}

TEST(Explain, ALeanDoesNotProveAStiffAnkle) {
  // Sensitivity 1.00, specificity 0.35: Rabin & Kozol 2017, JSCR 31:1251-1258.
  body::Athlete athlete = test::ordinary_athlete();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
  const auto r = run(athlete, test::seen_lean(45)).value();
  EXPECT_THAT(joined(r), HasSubstr("does not prove a stiff ankle"));
  EXPECT_THAT(joined(r), HasSubstr("Rabin & Kozol"));
  ASSERT_FALSE(r.missing.empty());
  EXPECT_EQ(r.missing.front().test, MobilityTest::KneeToWall);
  const auto tested = run(test::ordinary_athlete(), test::seen_lean(45)).value();
  EXPECT_THAT(joined(tested), ::testing::Not(HasSubstr("Rabin")));
}

TEST(Explain, WithoutAnyTestItSaysWhatCannotBeTold) {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.tests = {};
  const auto r = run(athlete, test::seen_lean(45)).value();
  EXPECT_EQ(r.tests_done, 0);
  EXPECT_FALSE(r.cannot_tell.empty());
  EXPECT_THAT(joined(r), HasSubstr("only tests can tell"));
  EXPECT_THAT(joined(r), ::testing::Not(HasSubstr("is not used")));
  EXPECT_THAT(joined(r), ::testing::Not(HasSubstr("largest part")));
  EXPECT_EQ(r.missing.front().test, MobilityTest::KneeToWall);
}

TEST(Explain, ALimitedLatissimusShowsAsShoulderChangeOnTheWayDown) {
  // Common practice, no source. Hips that run out of flexion round the low back at the bottom.
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, MobilityTest::HipFlexion, 100);
  test::set_test(athlete, MobilityTest::ArmToWallTurnedOut, 12);
  Observation seen = test::seen_lean(35);
  seen.shoulder_change_given = test::degrees_of(-12, 2);
  const auto r = run(athlete, seen).value();
  ASSERT_TRUE(r.shoulders);
  EXPECT_LT(r.shoulders->expected_change_by_latissimus, -3.0 * kDegree);
  EXPECT_THAT(joined(r), HasSubstr("latissimus is the stop"));
  EXPECT_THAT(joined(r), HasSubstr("which is what was seen"));
  // The same with the joint as the stop is not the latissimus.
  test::set_test(athlete, MobilityTest::ArmToWallTurnedOut, -20);
  test::set_test(athlete, MobilityTest::ShoulderFlexion, 168);
  const auto joint = run(athlete, seen).value();
  EXPECT_GT(joint.shoulders->expected_change_by_latissimus, -1.0 * kDegree);
  EXPECT_THAT(joined(joint), ::testing::Not(HasSubstr("latissimus is the stop")));
}

TEST(Explain, AMoreUprightPostureThanTheTestsAllowIsSaid) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 24);
  const auto r = run(athlete, test::seen_lean(15)).value();
  EXPECT_LT(r.shares.parts[index_of(Factor::Habit)], 0.0);
  EXPECT_THAT(joined(r), HasSubstr("more upright than the tests should allow"));
}

TEST(Explain, UsesTheDepthThatWasSeen) {
  Observation seen = test::seen_lean(40);
  seen.depth = Estimate{-0.10, 0.01};
  const auto r = run(test::ordinary_athlete(), seen).value();
  EXPECT_EQ(r.setup.depth, -0.10);
  ASSERT_TRUE(r.seen);
  EXPECT_NEAR(r.seen->depth, -0.10, 1e-6);
  EXPECT_NEAR(r.seen->trunk_inclination, 40.0 * kDegree, 0.5 * kDegree);
}

TEST(Explain, BadInputNamesTheFieldAndTheRange) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto expect_fault = [](const body::Athlete& athlete, const Observation& seen,
                               const std::string& field, const std::string& range) {
    const auto r = run(athlete, seen, 10);
    ASSERT_FALSE(r) << field;
    EXPECT_EQ(r.error().code, ErrorCode::Invalid);
    EXPECT_EQ(r.error().place.field, field);
    EXPECT_THAT(r.error().message + r.error().mend, HasSubstr(range));
  };
  body::Athlete a = test::ordinary_athlete();
  a.measured_lengths[static_cast<std::size_t>(body::Segment::Shank)] = Estimate{-0.4, 0};
  expect_fault(a, {}, "measured_lengths.shank", "0.25 m");
  a = test::ordinary_athlete();
  a.tests[MobilityTest::AnkleDorsiflexion][0] = test::degrees_of(300);
  expect_fault(a, {}, "tests.ankle_dorsiflexion.left", "60 deg");
  a = test::ordinary_athlete();
  a.setup.grip_width = 0.26;
  expect_fault(a, {}, "setup.grip_width", "narrower than the shoulders");
  a = test::ordinary_athlete();
  a.setup.bar_mass = 900;
  expect_fault(a, {}, "setup.bar_mass", "350 kg");
  a = test::ordinary_athlete();
  a.stature = 0;
  expect_fault(a, {}, "athlete.stature", "1.2");
  a = test::ordinary_athlete();
  a.setup.stance_width = nan;
  expect_fault(a, {}, "setup.stance_width", "1.3 m");
  Observation seen = test::seen_lean(170);
  expect_fault(test::ordinary_athlete(), seen, "observation.trunk_inclination", "100 deg");
  seen = test::seen_lean(40);
  seen.depth = Estimate{nan, 0.01};
  expect_fault(test::ordinary_athlete(), seen, "observation.depth", "30 cm");
}

TEST(Explain, StopsWhenAskedTo) {
  SerialExecutor executor;
  std::stop_source stop;
  stop.request_stop();
  const auto r = explain(test::ordinary_athlete(), {}, {}, executor, {stop.get_token(), {}});
  ASSERT_FALSE(r);
  EXPECT_EQ(r.error().code, ErrorCode::Cancelled);
}

TEST(MeanOverRepetitions, KeepsTheCommonErrorAndAveragesTheSpread) {
  const std::vector<Estimate> values = {{0.50, 0.02}, {0.54, 0.02}, {0.46, 0.02}};
  const auto mean = mean_over_repetitions(values);
  ASSERT_TRUE(mean);
  EXPECT_NEAR(mean->value, 0.50, 1e-12);
  EXPECT_NEAR(mean->standard_error, std::hypot(0.02, 0.04 / std::sqrt(3.0)), 1e-12);
  EXPECT_FALSE(mean_over_repetitions({}));
}

}  // namespace
}  // namespace lintel::reasoning
