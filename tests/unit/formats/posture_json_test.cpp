#include "formats/posture_json.h"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "base/cautions.h"
#include "support/reasoning_athletes.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::json;

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

}  // namespace
}  // namespace lintel::formats
