// From findings and posture model to what the planner asks for.
#include "app/plan_targets.h"

#include <gtest/gtest.h>

#include <cmath>

#include "formats/protocol_json.h"
#include "jobs/thread_pool.h"
#include "support/reasoning_athletes.h"

namespace lintel::app {
namespace {

using reasoning::Factor;

struct Explained {
  body::Athlete athlete;
  reasoning::ExplainResult result;
  std::vector<reasoning::Target> targets;
};

// A stiff ankle and short latissimus on an ordinary body, seen to lean 55 degrees.
const Explained& stiff() {
  static const Explained explained = [] {
    Explained e;
    e.athlete = test::ordinary_athlete();
    test::set_test(e.athlete, body::MobilityTest::AnkleDorsiflexion, 26);
    test::set_test(e.athlete, body::MobilityTest::ArmToWallTurnedOut, 20);
    e.athlete.setup.stance_width = 0.30;
    e.athlete.setup.toe_out = 0.15;
    jobs::ThreadPool pool(2);
    reasoning::ExplainOptions options;
    options.draws = 500;
    options.samples = reasoning::Samples::Kept;
    const reasoning::Observation seen = test::seen_lean(55);
    e.result = reasoning::explain(e.athlete, seen, options, pool, {}).value();
    const auto findings = reasoning::find_findings({e.athlete, seen, e.result, {}, {}}).value();
    e.targets = reasoning::targets_from_findings(findings);
    return e;
  }();
  return explained;
}

TEST(PlannerTargets, AreTheFindingsPartsOnceEachWithLeanForRange) {
  const auto targets = planner_targets(stiff().targets, {}, stiff().result);
  ASSERT_FALSE(targets.empty());
  bool ankle = false;
  for (std::size_t i = 0; i < targets.size(); ++i) {
    EXPECT_FALSE(reasoning::is_lever(targets[i].part));
    for (std::size_t k = 0; k < i; ++k) EXPECT_NE(targets[i].part, targets[k].part);
    if (targets[i].part != Factor::Ankle) continue;
    ankle = true;
    // 26 degrees against the reference of about 41: the whole deficit is worth the whole part.
    EXPECT_NEAR(*targets[i].range_now, 26 * kRadiansPerDegree, 4 * kRadiansPerDegree);
    const double deficit = targets[i].size.value / targets[i].lean_per_gain;
    EXPECT_NEAR(deficit * kDegreesPerRadian, 41 - *targets[i].range_now * kDegreesPerRadian, 3.0);
  }
  EXPECT_TRUE(ankle);
}

TEST(PlannerTargets, TogetherWithTheSetupPromiseNoMoreThanThereIs) {
  const auto setup = planner_setup_changes(stiff().result);
  ASSERT_FALSE(setup.empty());
  const auto targets = planner_targets(stiff().targets, setup, stiff().result);
  double sum = 0.0, by_setup = 0.0;
  for (const auto& change : setup) {
    EXPECT_TRUE(reasoning::is_lever(change.lever));
    EXPECT_FALSE(change.text.empty());
    by_setup += change.lean_gain.value;
  }
  for (const auto& target : targets) sum += target.size.value;
  EXPECT_LE(by_setup + sum, std::max(by_setup, stiff().result.shares.whole) + 1e-9);
  // All of the best row but changes worth less than half a degree.
  EXPECT_LE(by_setup, -stiff().result.best_change->trunk_change + 1e-9);
  EXPECT_GT(by_setup, -stiff().result.best_change->trunk_change - 1.5 * kRadiansPerDegree);
}

TEST(FollowedTests, KnowHowFarATestMovesForARangeGained) {
  const auto tests = followed_tests(formats::built_in_protocols(), std::nullopt, stiff().result);
  ASSERT_EQ(tests.size(), 5u);
  for (const auto& test : tests) {
    EXPECT_GT(test.error.session, 0.0) << test.protocol;
    if (test.part == Factor::Ankle) {
      EXPECT_TRUE(test.is_length);
      // Published geometry: 1.7 to 2.1 degrees a centimetre from 5 to 12 cm (section 2.2), for a
      // shank of 0.43 m; this ankle is stiffer and its shank of like length.
      const double degrees_per_cm = 0.01 / test.per_gain * kDegreesPerRadian;
      EXPECT_GT(degrees_per_cm, 1.2);
      EXPECT_LT(degrees_per_cm, 2.1);
    }
    // 0.4 of the rotation is extension (data/mobility/limits.csv).
    if (test.part == Factor::Thorax) {
      EXPECT_NEAR(test.per_gain, 2.5, 1e-9);
    }
  }
}

// A re-test is held against what was measured before: it goes by the same protocol.
TEST(FollowedTests, GoByTheProtocolThatWasUsed) {
  std::vector<body::TestProtocol> protocols = formats::built_in_protocols();
  const body::TestProtocol* lunge = body::protocol_for(protocols, body::MobilityTest::KneeToWall);
  body::TestProtocol own = *lunge;
  own.id = "quay_lunge";
  own.built_in = false;
  protocols.push_back(own);
  const auto ankle_test = [&](const char* done) {
    std::optional<body::TestRecord> record;
    if (done != nullptr) record.emplace().results.emplace_back().protocol = done;
    for (const auto& test : followed_tests(protocols, record, stiff().result)) {
      if (test.part == Factor::Ankle) return test.protocol;
    }
    return std::string("none");
  };
  EXPECT_EQ(ankle_test(nullptr), "knee_to_wall_distance");
  EXPECT_EQ(ankle_test("knee_to_wall_distance"), "knee_to_wall_distance");
  EXPECT_EQ(ankle_test("quay_lunge"), "quay_lunge");
  protocols.back().archived = true;  // no re-test by what is not offered any more
  EXPECT_EQ(ankle_test("quay_lunge"), "knee_to_wall_distance");
}

}  // namespace
}  // namespace lintel::app
