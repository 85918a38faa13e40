// Records of mobility tests: means and errors, pass and reach, sides, the athlete filled in.
#include "body/test_outcome.h"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

namespace lintel::body {
namespace {

TestProtocol knee_protocol() {
  TestProtocol p;
  p.id = "knee";
  p.unit = ProtocolUnit::Centimetres;
  p.lowest = -0.05;
  p.highest = 0.25;
  p.pass_line = PassLine{PassReference::Absolute, 0.08, "8 cm", "x"};
  p.standard_error = {0.006, 3, 0.5, "x"};
  p.side_difference = SideDifference{0.015, "x"};
  p.reach = ReachPrior{0.103, 0.03, "x"};
  p.informs.test = MobilityTest::KneeToWall;
  return p;
}

TestProtocol arms_protocol() {
  TestProtocol p;
  p.id = "arms";
  p.lowest = -0.3;
  p.highest = 1.5;
  p.better = Better::Lower;
  p.pass_line = PassLine{PassReference::Absolute, 0.0, "wall", "x"};
  p.standard_error = {0.06, 3, 0.5, "x"};
  p.reach = ReachPrior{0.1, 0.12, "x"};
  p.informs.test = MobilityTest::ArmToWallTurnedOut;
  return p;
}

Athlete athlete() {
  Athlete a;
  a.id = "a";
  a.sex = Sex::Female;
  a.stature = 1.68;
  a.body_mass = 66;
  return a;
}

TestEntry entry(const char* id, TestSide side, std::vector<double> tries) {
  TestEntry e;
  e.protocol = id;
  e.side = side;
  e.tries = std::move(tries);
  return e;
}

TestRecord record(std::vector<TestEntry> entries) {
  TestRecord r;
  r.athlete_id = "a";
  r.results = std::move(entries);
  return r;
}

TEST(MeanOfTries, KeepsThePublishedErrorWhenTheTriesSpreadAsUsual) {
  const MeasurementError error = measurement_error({0.006, 3, 0.5, "x"});
  // Three tries with the SD that the published error implies: 0.006 sqrt(0.5 * 3).
  const double sd = error.trial;
  const Estimate mean = mean_of_tries({0.10 - sd, 0.10, 0.10 + sd}, error);
  EXPECT_NEAR(mean.value, 0.10, 1e-15);
  EXPECT_NEAR(mean.standard_error, 0.006, 1e-12);
}

TEST(MeanOfTries, AWildTryWidensAndLuckyAgreementDoesNotVanish) {
  const MeasurementError error = measurement_error({0.006, 3, 0.5, "x"});
  EXPECT_GT(mean_of_tries({0.07, 0.10, 0.13}, error).standard_error, 0.010);
  const double agreeing = mean_of_tries({0.10, 0.10, 0.10}, error).standard_error;
  EXPECT_LT(agreeing, 0.006);
  EXPECT_GT(agreeing, error.session);
  // By hand: trial^2 = 4 trial^2 / (4 + 2), over 3 tries.
  EXPECT_NEAR(agreeing,
              std::sqrt(error.session * error.session + error.trial * error.trial * 4 / 6 / 3),
              1e-15);
}

TEST(MeanOfTries, MoreTriesOfTheSameSpreadNeverWiden) {
  const MeasurementError error = measurement_error({0.006, 3, 0.5, "x"});
  const double two = mean_of_tries({0.09, 0.11}, error).standard_error;
  const double four = mean_of_tries({0.09, 0.11, 0.09, 0.11}, error).standard_error;
  EXPECT_LT(four, two);
}

// Against the integral that the closed form solves: p(x) Phi(sign (x - line) / s), by Simpson.
Estimate by_quadrature(const ReachPrior& prior, double line, double s, double sign) {
  double mass = 0, first = 0, second = 0;
  constexpr int kSteps = 40000;
  const double low = prior.mean - 12 * prior.spread, high = prior.mean + 12 * prior.spread;
  for (int i = 0; i <= kSteps; ++i) {
    const double x = low + (high - low) * i / kSteps;
    const double z = (x - prior.mean) / prior.spread;
    const double weight = (i == 0 || i == kSteps ? 1.0
                           : i % 2 == 1          ? 4.0
                                                 : 2.0) *
                          std::exp(-0.5 * z * z) * 0.5 *
                          std::erfc(-sign * (x - line) / s / std::numbers::sqrt2);
    mass += weight;
    first += weight * x;
    second += weight * x * x;
  }
  const double mean = first / mass;
  return {mean, std::sqrt(second / mass - mean * mean)};
}

TEST(ReachOrNoReach, LeavesTheTruncatedPriorOfTheIntegral) {
  const ReachPrior prior{0.103, 0.03, "x"};
  for (const double line : {0.05, 0.08, 0.103, 0.16}) {
    const Estimate yes = value_given_reach(prior, {line, 0}, 0.007, Better::Higher, Reached::Yes);
    const Estimate expected = by_quadrature(prior, line, 0.007, 1.0);
    EXPECT_NEAR(yes.value, expected.value, 1e-7) << line;
    EXPECT_NEAR(yes.standard_error, expected.standard_error, 1e-7) << line;
    const Estimate no = value_given_reach(prior, {line, 0}, 0.007, Better::Higher, Reached::No);
    const Estimate other = by_quadrature(prior, line, 0.007, -1.0);
    EXPECT_NEAR(no.value, other.value, 1e-7) << line;
    EXPECT_NEAR(no.standard_error, other.standard_error, 1e-7) << line;
    EXPECT_LT(no.value, yes.value);
  }
}

TEST(ReachOrNoReach, TurnsRoundWhereLowerIsBetter) {
  const ReachPrior prior{0.1, 0.12, "x"};
  const Estimate yes = value_given_reach(prior, {0, 0}, 0.06, Better::Lower, Reached::Yes);
  EXPECT_LT(yes.value, prior.mean);
  EXPECT_LT(yes.standard_error, prior.spread);
}

TEST(ReachOrNoReach, StaysFiniteFarFromTheLine) {
  const Estimate e =
      value_given_reach({0.0, 0.001, "x"}, {5.0, 0}, 1e-4, Better::Higher, Reached::Yes);
  EXPECT_TRUE(std::isfinite(e.value));
  EXPECT_GE(e.standard_error, 0.0);
}

TEST(Evaluate, FillsTheModelAndKeepsDistanceAndAngleApart) {
  TestProtocol angle = knee_protocol();
  angle.id = "angle";
  angle.unit = ProtocolUnit::Degrees;
  angle.lowest = 0;
  angle.highest = 1.0;
  angle.pass_line.reset();
  angle.reach.reset();
  angle.standard_error = {0.03, 3, 0.5, "x"};
  angle.informs.test = MobilityTest::AnkleDorsiflexion;
  const std::vector<TestProtocol> protocols = {knee_protocol(), angle};
  const TestRecord visit =
      record({entry("knee", TestSide::Left, {0.10}), entry("knee", TestSide::Right, {0.07}),
              entry("angle", TestSide::Left, {0.66})});
  const auto outcome = evaluate_record(visit, protocols, athlete());
  ASSERT_TRUE(outcome) << describe(outcome.error());
  const Athlete next = with_results(athlete(), *outcome);
  EXPECT_NEAR(next.tests[MobilityTest::KneeToWall][0]->value, 0.10, 1e-12);
  EXPECT_NEAR(next.tests[MobilityTest::KneeToWall][1]->value, 0.07, 1e-12);
  EXPECT_NEAR(next.tests[MobilityTest::AnkleDorsiflexion][0]->value, 0.66, 1e-12);
  EXPECT_FALSE(next.tests[MobilityTest::AnkleDorsiflexion][1]);
  EXPECT_GT(next.tests[MobilityTest::KneeToWall][0]->standard_error, 0.006);  // one try of three
  ASSERT_EQ(outcome->remarks.size(), 2u);
  EXPECT_NE(outcome->remarks[0].find("which agrees"), std::string::npos) << outcome->remarks[0];
}

TEST(StoredResults, ComeBackAsARecordThatFillsTheSameAthlete) {
  const std::vector<TestProtocol> protocols = {knee_protocol(), arms_protocol()};
  Athlete stored = athlete();
  stored.tests[MobilityTest::KneeToWall] = {Estimate{0.065, 0.007}, Estimate{0.06, 0.009}};
  stored.tests[MobilityTest::ArmToWallTurnedOut] = {std::nullopt, Estimate{0.1, 0}};
  stored.tests[MobilityTest::HipFlexion] = {Estimate{2.1, 0},
                                            std::nullopt};  // has no protocol here
  const TestRecord back = record_of_stored(stored, protocols);
  ASSERT_EQ(back.results.size(), 3u);
  EXPECT_EQ(back.results[2].side, TestSide::Right);
  const auto outcome = evaluate_record(back, protocols, stored);
  ASSERT_TRUE(outcome) << describe(outcome.error());
  EXPECT_DOUBLE_EQ(outcome->results[0].result.value, 0.065);
  EXPECT_DOUBLE_EQ(outcome->results[1].result.standard_error, 0.009);  // of the worse side
  EXPECT_GT(outcome->results[2].result.standard_error, 0.06);          // published, for one try
  const Athlete again = with_results(athlete(), *outcome);
  for (const MobilityTest test : {MobilityTest::KneeToWall, MobilityTest::ArmToWallTurnedOut}) {
    for (const std::size_t side : {0u, 1u}) {
      ASSERT_EQ(again.tests[test][side].has_value(), stored.tests[test][side].has_value());
      if (again.tests[test][side]) {
        EXPECT_DOUBLE_EQ(again.tests[test][side]->value, stored.tests[test][side]->value);
      }
    }
  }
}

TEST(Evaluate, TellsSidesApartOnlyBeyondTheDetectableDifference) {
  const std::vector<TestProtocol> protocols = {knee_protocol()};
  const auto compare = [&](double right) {
    const TestRecord visit = record({entry("knee", TestSide::Left, {0.10, 0.10, 0.10}),
                                     entry("knee", TestSide::Right, {right, right, right})});
    return evaluate_record(visit, protocols, athlete()).value().sides.at(0);
  };
  const SideComparison close = compare(0.09);
  EXPECT_NEAR(close.difference.value, 0.01, 1e-12);
  EXPECT_NEAR(close.detectable, 1.96 * close.difference.standard_error, 1e-12);
  EXPECT_FALSE(close.beyond_error);
  EXPECT_FALSE(close.beyond_usual);
  const SideComparison apart = compare(0.06);
  EXPECT_TRUE(apart.beyond_error);
  EXPECT_TRUE(apart.beyond_usual);
}

TEST(Evaluate, SaysWhenAResultLiesWithinTheErrorOfTheLine) {
  const std::vector<TestProtocol> protocols = {knee_protocol()};
  const TestRecord visit = record({entry("knee", TestSide::Left, {0.082, 0.082, 0.082}),
                                   entry("knee", TestSide::Right, {0.12, 0.12, 0.12})});
  const auto outcome = evaluate_record(visit, protocols, athlete()).value();
  EXPECT_TRUE(outcome.results[0].pass->passes);
  EXPECT_TRUE(outcome.results[0].pass->within_error);
  EXPECT_FALSE(outcome.results[1].pass->within_error);
  EXPECT_GT(outcome.results[1].pass->probability, 0.999);
}

TEST(Evaluate, TheTestersOwnErrorStandsInPlaceOfThePublishedOne) {
  const std::vector<TestProtocol> protocols = {knee_protocol()};
  TestRecord visit = record({entry("knee", TestSide::Left, {0.10, 0.10, 0.10})});
  const double published =
      evaluate_record(visit, protocols, athlete()).value().results[0].result.standard_error;
  visit.standard_errors.push_back({"knee", {0.003, 3, 0.5, "own"}});
  const auto own = evaluate_record(visit, protocols, athlete()).value();
  EXPECT_TRUE(own.results[0].own_error);
  EXPECT_NEAR(own.results[0].result.standard_error, published / 2, 1e-12);
}

TEST(Evaluate, PhotoErrorsDoNotShrinkWithTries) {
  const std::vector<TestProtocol> protocols = {knee_protocol()};
  TestEntry photo = entry("knee", TestSide::Left, {0.10, 0.10, 0.10});
  photo.tries_error = 0.02;
  const auto outcome = evaluate_record(record({photo}), protocols, athlete()).value();
  EXPECT_GT(outcome.results[0].result.standard_error, 0.02);
}

TEST(Evaluate, NamesTheFieldOfEveryFault) {
  const std::vector<TestProtocol> protocols = {knee_protocol(), arms_protocol()};
  const auto field = [&](std::vector<TestEntry> entries) {
    const TestRecord visit = record(std::move(entries));
    const auto outcome = evaluate_record(visit, protocols, athlete());
    return outcome ? std::string("none") : outcome.error().place.field;
  };
  EXPECT_EQ(field({entry("none", TestSide::Left, {0.1})}), "results[0].protocol");
  EXPECT_EQ(field({entry("knee", TestSide::Both, {0.1})}), "results[0].side");
  EXPECT_EQ(field({entry("knee", TestSide::Left, {})}), "results[0].tries");
  EXPECT_EQ(field({entry("knee", TestSide::Left, {0.3})}), "results[0].tries");
  EXPECT_EQ(field({entry("knee", TestSide::Left, {std::nan("")})}), "results[0].tries");
  EXPECT_EQ(field({entry("knee", TestSide::Left, {0.1}), entry("knee", TestSide::Left, {0.1})}),
            "results[1].protocol");
  TestEntry both = entry("knee", TestSide::Left, {0.1});
  both.reached = Reached::Yes;
  EXPECT_EQ(field({both}), "results[0].reached");
  TestRecord stranger = record({});
  stranger.athlete_id = "b";
  EXPECT_FALSE(evaluate_record(stranger, protocols, athlete()));
}

TEST(Evaluate, ReachOnOneSideOnlyShowsInTheModel) {
  const std::vector<TestProtocol> protocols = {arms_protocol()};
  TestEntry left = entry("arms", TestSide::Left, {}), right = entry("arms", TestSide::Right, {});
  left.reached = Reached::No;
  right.reached = Reached::Yes;
  const TestRecord visit = record({left, right});
  const auto outcome = evaluate_record(visit, protocols, athlete());
  ASSERT_TRUE(outcome) << describe(outcome.error());
  const Athlete next = with_results(athlete(), *outcome);
  const auto& slots = next.tests[MobilityTest::ArmToWallTurnedOut];
  EXPECT_GT(slots[0]->value, slots[1]->value + 0.1);  // further short of the wall
  EXPECT_GT(slots[0]->standard_error, 0.06);
  EXPECT_FALSE(outcome->results[0].pass->passes);
  EXPECT_TRUE(outcome->results[1].pass->passes);
  EXPECT_TRUE(outcome->sides.empty());
}

}  // namespace
}  // namespace lintel::body
