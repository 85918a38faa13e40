#include "reasoning/setups_to_film.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "body/tables.h"
#include "reasoning/defaults.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using ::testing::HasSubstr;

constexpr double kDegree = kRadiansPerDegree;

ExplainResult explained(const body::Athlete& athlete, const Observation& seen) {
  SerialExecutor executor;
  ExplainOptions options;
  options.draws = 300;
  options.samples = Samples::Kept;
  return explain(athlete, seen, options, executor, {}).value();
}

std::set<Lever> levers_of(const SetupToFilm& s) {
  std::set<Lever> levers;
  for (const Change& c : s.changes) levers.insert(c.lever);
  return levers;
}

bool moves(const SetupToFilm& s, Lever lever) {
  return levers_of(s).count(lever) > 0;
}

body::Athlete narrow_and_stiff() {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.setup.stance_width = 0.26;
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 32);
  return athlete;
}

TEST(SetupsToFilm, AreFewDistinctRoundedAndWithinWhatCanBeSetUp) {
  for (const double lean : {35.0, 45.0, 55.0}) {
    const auto r = explained(narrow_and_stiff(), test::seen_lean(lean));
    const auto setups = find_setups_to_film(r).value();
    ASSERT_FALSE(setups.empty());
    EXPECT_LE(setups.size(), 3u);
    std::set<std::set<Lever>> seen;
    for (const SetupToFilm& s : setups) {
      EXPECT_TRUE(seen.insert(levers_of(s)).second) << s.how;
      EXPECT_LE(s.changes.size(), 2u);
      for (const Change& c : s.changes) {
        const double step = default_table().value("film.step." + std::string(lever_name(c.lever)));
        EXPECT_NEAR(c.to / step, std::round(c.to / step), 1e-6) << s.how;
        EXPECT_GT(std::abs(c.to - c.from), 0.5 * step) << s.how;
        if (c.lever == Lever::Heel && !s.within_allowed) {
          EXPECT_LE(c.to, default_table().value("film.heel_plate") + 1e-9);
        } else {
          EXPECT_TRUE(r.allowed[static_cast<Factor>(c.lever)].contains(c.to)) << s.how;
        }
      }
      EXPECT_LE(s.change.low, s.change.value);
      EXPECT_GE(s.change.high, s.change.value);
      EXPECT_FALSE(s.how.empty() || s.why.empty() || s.shows.empty());
      EXPECT_GE(s.score, default_table().value("film.least"));
    }
    // One change at a time first, the most useful first.
    EXPECT_TRUE(std::is_sorted(setups.begin(), setups.end(), [](const auto& a, const auto& b) {
      if (a.changes.size() != b.changes.size()) return a.changes.size() < b.changes.size();
      return a.score > b.score;
    }));
  }
}

TEST(SetupsToFilm, AStiffAnkleOnTheFloorAsksForHeelsOnAPlate) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 30);
  athlete.setup.heel_elevation = 0.0;
  const auto setups = find_setups_to_film(explained(athlete, test::seen_lean(45))).value();
  const auto heel = std::find_if(setups.begin(), setups.end(),
                                 [](const auto& s) { return moves(s, Lever::Heel); });
  ASSERT_NE(heel, setups.end());
  EXPECT_LT(heel->change.value, -2.0 * kDegree);
  EXPECT_THAT(heel->how, HasSubstr("Heels up"));
}

// A plate under heels that are held by the ankle lifts the trunk; under heels that are not it does
// little: the film tells the two apart.
TEST(SetupsToFilm, SayWhatTheFilmWouldShowUnderEachHypothesis) {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.setup.heel_elevation = 0.0;
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
  const auto setups = find_setups_to_film(explained(athlete, test::seen_lean(42))).value();
  const auto heel = std::find_if(setups.begin(), setups.end(), [](const auto& s) {
    return s.changes.size() == 1 && moves(s, Lever::Heel);
  });
  ASSERT_NE(heel, setups.end());
  ASSERT_TRUE(heel->against && heel->other);
  EXPECT_NE(heel->against, heel->other);
  EXPECT_GE(std::abs(heel->change_if_against - heel->change_if_other),
            default_table().value("film.error"));
  EXPECT_THAT(heel->shows, HasSubstr("If "));
  EXPECT_GT(heel->value.information, 0.0);
}

TEST(SetupsToFilm, PredictWhatTheModelPredicts) {
  const auto r = explained(narrow_and_stiff(), test::seen_lean(45));
  const WhatIfInput input{r.fitted_body,      r.setup,
                          r.fitted_limits,    r.allowed,
                          r.setup.grip_width, r.shares.most_upright};
  const auto setups = find_setups_to_film(r).value();
  for (const SetupToFilm& s : setups) {
    const double plain = evaluate_changes(input, s.changes).value().trunk_change;
    EXPECT_NEAR(s.change.value, plain, 1.5 * kDegree) << s.how;
    EXPECT_GT(plain, s.change.low - 1.0 * kDegree) << s.how;
    EXPECT_LT(plain, s.change.high + 1.0 * kDegree) << s.how;
  }
}

TEST(SetupsToFilm, LeaveTheGripAloneWhereTheBarIsNotOverhead) {
  body::Athlete athlete = narrow_and_stiff();
  athlete.setup.bar_position = body::BarPosition::Back;
  const auto setups = find_setups_to_film(explained(athlete, test::seen_lean(45))).value();
  for (const SetupToFilm& s : setups) {
    EXPECT_FALSE(moves(s, Lever::Grip));
  }
}

TEST(SetupsToFilm, NothingIsFilmedOnTestsThatThePostureContradicts) {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.setup.heel_elevation = 0.0;
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 16);
  const auto r = explained(athlete, test::seen_lean(18));
  ASSERT_TRUE(r.uncertainty.contradicted);
  EXPECT_TRUE(find_setups_to_film(r).value().empty());
}

TEST(SetupsToFilm, AreTheSameEveryTimeAndNeedTheDraws) {
  const auto r = explained(narrow_and_stiff(), test::seen_lean(45));
  const auto a = find_setups_to_film(r).value();
  const auto b = find_setups_to_film(r).value();
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) EXPECT_EQ(a[i].score, b[i].score);
  ExplainResult bare = r;
  bare.uncertainty.samples.clear();
  EXPECT_EQ(find_setups_to_film(bare).error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::reasoning
