#include "formats/posture_json.h"

#include <cmath>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "base/cautions.h"
#include "formats/assessment_json.h"
#include "support/demo_measurement.h"
#include "support/reasoning_athletes.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::json;
using kinematics::Channel;

reasoning::ExplainResult explained(bool observed) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 34);
  SerialExecutor executor;
  reasoning::ExplainOptions options;
  options.draws = 40;
  return reasoning::explain(athlete, observed ? test::seen_lean(40) : reasoning::Observation{},
                            options, executor, {})
      .value();
}

TEST(PostureJson, PartsSumToTheWholeInDegrees) {
  const Json root = Json::parse(write_explanation_json(explained(true), "a1"));
  EXPECT_EQ(root["schema"], "lintel-explanation-1");
  EXPECT_EQ(root["athlete"]["id"], "a1");
  double sum = 0.0;
  for (const Json& part : root["parts"]) sum += part["share_deg"].get<double>();
  EXPECT_EQ(root["parts"].size(), 10u);
  EXPECT_NEAR(sum, root["whole_deg"].get<double>(), 1e-4);
  EXPECT_NEAR(root["observed_trunk_inclination_deg"]["value"].get<double>(), 40.0, 1e-6);
  EXPECT_EQ(root["cautions"].size(), cautions().size());
  EXPECT_EQ(root["what_if"]["single"].size(), static_cast<std::size_t>(reasoning::kLeverCount));
  EXPECT_FALSE(root["sentences"].empty());
}

TEST(PostureJson, LeavesHabitOutWhereNothingWasSeen) {
  const Json root = Json::parse(write_explanation_json(explained(false), ""));
  EXPECT_TRUE(root["observed_trunk_inclination_deg"].is_null());
  EXPECT_TRUE(root["athlete"]["id"].is_null());
  EXPECT_EQ(root["parts"].size(), 9u);
}

TEST(PostureJson, WritesGripAndTableInCentimetresAndDegrees) {
  const auto r = explained(false);
  const Json grip = Json::parse(write_grip_json(*r.grip, r.setup, "a1"));
  EXPECT_NEAR(grip["recommended_cm"].get<double>(), 100.0 * r.grip->recommended, 1e-3);
  EXPECT_EQ(grip["pass_through"], r.grip->pass_through);
  const Json table = Json::parse(write_what_if_json(*r.what_if, "a1"));
  const auto& first = r.what_if->single.front();
  EXPECT_NEAR(table["single"][0]["trunk_change_deg"]["value"].get<double>(),
              first.trunk_change * kDegreesPerRadian, 1e-4);
  EXPECT_EQ(table["single"][0]["changes"][0]["lever"],
            std::string(reasoning::lever_name(first.changes.front().lever)));
}

TEST(AssessmentBottoms, ReadBackWhatTheAssessmentWriterWrote) {
  const kinematics::Measurement m = test_support::demo_measurement({});
  view::Assessment assessment;
  assessment.side = &m;
  const auto readings = read_assessment_bottoms(write_assessment_json(assessment), "a.json");
  ASSERT_TRUE(readings) << describe(readings.error());
  std::size_t k = 0;
  for (const auto& repetition : m.repetitions) {
    if (repetition.outcome != kinematics::RepetitionOutcome::Completed) continue;
    ASSERT_LT(k, readings->size());
    const auto& trunk =
        repetition.channels[static_cast<std::size_t>(Channel::TrunkInclination)].bottom;
    const auto& depth = repetition.channels[static_cast<std::size_t>(Channel::Depth)].bottom;
    EXPECT_NEAR((*readings)[k].trunk_inclination.value, trunk.value, 1e-6);
    EXPECT_NEAR((*readings)[k].trunk_inclination.standard_error, trunk.standard_error, 1e-6);
    EXPECT_NEAR((*readings)[k].depth.value, depth.value, 1e-6);
    ++k;
  }
  EXPECT_EQ(k, readings->size());
  EXPECT_GT(k, 0u);
}

TEST(AssessmentBottoms, NullIsNotKnownAndOtherKindsAreFaultsWithTheirPlace) {
  const auto with = [](const std::string& bottom) {
    return "{\"schema\": \"lintel-assessment-1\", \"repetitions\": [\n {\"outcome\": "
           "\"completed\", "
           "\"channels\": {\"trunk_inclination_deg\": {\"bottom\": " +
           bottom + "}}}]}";
  };
  const auto unknown =
      read_assessment_bottoms(with("{\"value\": null, \"standard_error\": null}"), "a.json");
  ASSERT_TRUE(unknown);
  EXPECT_TRUE(std::isnan(unknown->front().trunk_inclination.value));
  const auto bad = read_assessment_bottoms(with("{\"value\": \"x\"}"), "a.json");
  ASSERT_FALSE(bad);
  EXPECT_EQ(bad.error().place.file, "a.json");
  EXPECT_EQ(bad.error().place.line, 2);
  EXPECT_EQ(bad.error().place.field, "repetitions[0].channels.trunk_inclination_deg.bottom.value");
  for (const char* text :
       {"", "{}", "[]", "{\"schema\": \"lintel-athlete-1\"}", "{\"schema\": 3}"}) {
    EXPECT_FALSE(read_assessment_bottoms(text, "a.json")) << text;
  }
}

}  // namespace
}  // namespace lintel::formats
