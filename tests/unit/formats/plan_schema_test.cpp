// Drills and plans against their schemas, and schema against reader.
#include <filesystem>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "formats/drill_json.h"
#include "formats/plan_json.h"
#include "support/example_plan.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using test_support::read_json_file;
using test_support::read_schema;
using test_support::schema_complaints;

std::vector<fs::path> drill_files() {
  return test_support::json_files("data/drills");
}

TEST(DrillSchema, EveryDrillHasSourcesCautionsAndADrawing) {
  const json schema = read_schema("drill.schema.json");
  ASSERT_EQ(drill_files().size(), built_in_drills().size());
  for (const fs::path& file : drill_files()) {
    EXPECT_EQ(schema_complaints(schema, read_json_file(file.string())), "") << file.filename();
  }
}

// Damage that both must refuse.
TEST(DrillSchema, RefusesWhatTheReaderRefuses) {
  const json schema = read_schema("drill.schema.json");
  const json good = read_json_file(drill_files().front().string());
  ASSERT_EQ(schema_complaints(schema, good), "");
  const auto refused = [&](const json& bad) {
    EXPECT_NE(schema_complaints(schema, bad), "") << bad.dump().substr(0, 300);
    EXPECT_FALSE(read_drill_json(bad.dump(), "bad.json").drill) << bad.dump().substr(0, 300);
  };
  for (const auto& [key, value] : good.items()) {
    json bad = good;
    bad.erase(key);
    refused(bad);
  }
  for (const char* list : {"cautions", "steps", "cues", "targets", "doses", "ladder"}) {
    json bad = good;
    bad[list] = json::array();
    refused(bad);
  }
  json bad = good;
  bad["source"] = "everybody knows";
  refused(bad);
  bad = good;
  bad["targets"][0]["source"] = "my own view";
  refused(bad);
  bad = good;
  bad["drawing"]["panels"] = json::array();
  refused(bad);
  bad = good;
  bad["ladder"][0]["loaded"] = true;  // in a drill that is not loaded
  refused(bad);
  bad = good;
  bad["equipment"] = json::array({json::array({"trampoline"})});
  refused(bad);
  bad = good;
  bad["colour"] = "blue";
  refused(bad);
}

TEST(PlanSchema, TakesPlansWithAndWithoutDrills) {
  const json schema = read_schema("plan.schema.json");
  EXPECT_EQ(schema_complaints(schema, json::parse(write_plan_json(test_support::example_plan()))),
            "");
  EXPECT_EQ(schema_complaints(schema, json::parse(write_plan_json(test_support::red_flag_plan()))),
            "");
}

TEST(PlanSchema, RefusesWhatTheReaderRefuses) {
  const json schema = read_schema("plan.schema.json");
  const json good = json::parse(write_plan_json(test_support::example_plan()));
  const auto refused = [&](const json& bad) {
    EXPECT_NE(schema_complaints(schema, bad), "") << bad.dump().substr(0, 300);
    EXPECT_FALSE(read_plan_json(bad.dump(), "bad.json").plan) << bad.dump().substr(0, 300);
  };
  for (const auto& [key, value] : good.items()) {
    if (key == "seated_hold") continue;
    if (key == "stop_rules" || key == "notes") continue;  // lists of texts that may be absent
    json bad = good;
    bad.erase(key);
    refused(bad);
  }
  json bad = good;
  bad["cautions"].erase(0);
  refused(bad);
  bad = good;
  bad["warning_signs"] = {"pain"};
  bad["clearance"] = "unloaded_only";
  bad["referral"] = "see somebody";
  bad["drills"][0]["loaded"] = true;
  refused(bad);
  bad = good;
  bad["warning_signs"] = {"fever"};
  bad["clearance"] = "no_drills";
  bad["referral"] = "see somebody";
  refused(bad);  // drills in spite of it
  bad = good;
  bad["goals"][0]["probability"] = 1.2;
  refused(bad);
}

}  // namespace
}  // namespace lintel::formats
