// The answers of the posture model against their JSON Schemas.
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "formats/posture_json.h"
#include "support/reasoning_athletes.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::json;
using test_support::read_schema;
using test_support::schema_complaints;

reasoning::ExplainResult explained(const body::Athlete& athlete, bool observed) {
  SerialExecutor executor;
  reasoning::ExplainOptions options;
  options.draws = 40;
  return reasoning::explain(athlete, observed ? test::seen_lean(40) : reasoning::Observation{},
                            options, executor, {})
      .value();
}

// Tested and seen; untested and unseen; a bar on the back: no grip, no shoulders.
std::vector<reasoning::ExplainResult> examples() {
  body::Athlete tested = test::ordinary_athlete();
  test::set_test(tested, body::MobilityTest::AnkleDorsiflexion, 34);
  body::Athlete back = test::ordinary_athlete();
  back.setup.bar_position = body::BarPosition::Back;
  return {explained(tested, true), explained(test::ordinary_athlete(), false),
          explained(back, true)};
}

TEST(PostureSchemas, TakeWhatIsWritten) {
  for (const auto& r : examples()) {
    EXPECT_EQ(schema_complaints(read_schema("explanation.schema.json"),
                                Json::parse(write_explanation_json(r, "a1"))),
              "");
    ASSERT_TRUE(r.what_if);
    EXPECT_EQ(schema_complaints(read_schema("what-if.schema.json"),
                                Json::parse(write_what_if_json(*r.what_if, ""))),
              "");
    if (!r.grip) continue;
    EXPECT_EQ(schema_complaints(read_schema("grip.schema.json"),
                                Json::parse(write_grip_json(*r.grip, r.setup, "a1"))),
              "");
  }
}

TEST(PostureSchemas, RefuseWhatLacksACautionASpreadOrAUnit) {
  const Json schema = read_schema("explanation.schema.json");
  const Json good = Json::parse(write_explanation_json(examples().front(), "a1"));
  Json bad = good;
  bad["cautions"].erase(0);
  EXPECT_NE(schema_complaints(schema, bad), "");
  bad = good;
  bad["parts"][0].erase("spread_95_deg");
  EXPECT_NE(schema_complaints(schema, bad), "");
  bad = good;
  bad["binding_limits"][0]["edge"] = 1;
  EXPECT_NE(schema_complaints(schema, bad), "");
  bad = good;
  bad["parts"][0]["factor"] = "luck";
  EXPECT_NE(schema_complaints(schema, bad), "");
}

}  // namespace
}  // namespace lintel::formats
