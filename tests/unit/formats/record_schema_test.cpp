// Documents of records against docs/schema: what the readers take the schemas take, and the other
// way round.
#include <gtest/gtest.h>

#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/intake_json.h"
#include "formats/visit_json.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::json;

// The athlete's schema stands in a file of its own.
Json intake_schema() {
  Json schema = test_support::read_schema("intake.schema.json");
  Json athlete = test_support::read_schema("athlete.schema.json");
  athlete.erase("$schema");
  schema["properties"]["athlete"] = athlete;
  return schema;
}

Json small_intake() {
  return Json::parse(R"({"schema":"lintel-intake-1","athlete":{"schema":"lintel-athlete-1",
      "id":"a","sex":"male","body":{"stature_cm":180,"mass_kg":80}},"tags":["x"],"minutes":15,
      "sessions_per_week":3,"equipment":["pipe"],"birth_date":"1990-01-31",
      "goal":{"lift":"snatch","trunk_deg":25},"consent":{"given":true,"date":"2026-11-25","by":"x"}})");
}

// Both agree on this document.
void expect_same(const Json& document, bool good, const std::string& what) {
  EXPECT_EQ(read_intake_json(document.dump(), "").intake.has_value(), good) << what;
  EXPECT_EQ(test_support::schema_complaints(intake_schema(), document).empty(), good) << what;
}

TEST(RecordSchemas, IntakeAgreesWithItsReader) {
  expect_same(small_intake(), true, "whole");
  const std::vector<std::pair<std::string, Json>> bad = {{"/schema", "lintel-intake-2"},
                                                         {"/birth_date", "1990"},
                                                         {"/minutes", 4},
                                                         {"/minutes", 121},
                                                         {"/sessions_per_week", 8},
                                                         {"/sessions_per_week", 2.5},
                                                         {"/equipment/0", "sofa"},
                                                         {"/goal/lift", "curl"},
                                                         {"/goal/trunk_deg", 81},
                                                         {"/consent/given", "yes"},
                                                         {"/tags/0", ""},
                                                         {"/athlete/sex", "other"},
                                                         {"/athlete/body/stature_cm", 20},
                                                         {"/sport", " "},
                                                         {"/surprise", true},
                                                         {"/goal/surprise", 1}};
  for (const auto& [where, value] : bad) {
    Json document = small_intake();
    document[Json::json_pointer(where)] = value;
    expect_same(document, false, where + " = " + value.dump());
  }
  for (const char* key : {"schema", "athlete"}) {
    Json document = small_intake();
    document.erase(key);
    expect_same(document, false, std::string("without ") + key);
  }
  const auto reading = read_intake_json(small_intake().dump(), "");
  EXPECT_EQ(test_support::schema_complaints(intake_schema(),
                                            Json::parse(write_intake_json(*reading.intake))),
            "");
}

TEST(RecordSchemas, DayOfTheLogAgreesWithItsReader) {
  const Json schema = test_support::read_schema("log.schema.json");
  const auto& drills = built_in_drills();
  const std::string drill = R"({"drill":")" + drills.front().id + R"(","sets":3)";
  const auto log = [](const std::string& rest) {
    return R"({"schema":"lintel-log-1","date":"2026-11-25")" + rest + "}";
  };
  for (const std::string& text :
       {log(""), log(R"(,"drills":[])"),
        log(R"(,"drills":[)" + drill + R"(,"effort":6,"stop_sign":"heel_lift"}])"),
        log(R"(,"drills":[)" + drill + R"(,"effort":11}])"),
        log(R"(,"drills":[)" + drill + R"(,"stop_sign":"tired"}])"),
        log(R"(,"drills":[{"sets":3}])"), log(R"(,"drills":{})"), log(R"(,"more":1)"),
        log(R"(,"releases":[{"date":"2026-11-24","by":"physician"}])"),
        log(R"(,"releases":[{"date":"2026-11-24"}])"),
        log(R"(,"best_lifts":[{"date":"2026-11-24","lift":"snatch","load_kg":50}])"),
        log(R"(,"best_lifts":[{"date":"2026-11-24","lift":"curl","load_kg":50}])")}) {
    const bool by_reader = read_day_log_json(text, "", drills).log.has_value();
    EXPECT_EQ(test_support::schema_complaints(schema, Json::parse(text)).empty(), by_reader)
        << text;
  }
}

TEST(RecordSchemas, VisitAgreesWithItsReader) {
  const Json schema = test_support::read_schema("visit.schema.json");
  for (
      const char* text :
      {R"({"schema":"lintel-visit-1","date":"2026-11-25"})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","purpose":"a","notes":"b"})",
       R"({"schema":"lintel-visit-1"})", R"({"date":"2026-11-25"})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","purpose":""})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","trunk":{"inclination_deg":48,"standard_error_deg":4,"method":"eye"}})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","trunk":{"inclination_deg":148,"standard_error_deg":4,"method":"eye"}})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","trunk":{"inclination_deg":48,"standard_error_deg":0.1,"method":"eye"}})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","trunk":{"inclination_deg":48,"method":"eye"}})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","trunk":{"inclination_deg":48,"standard_error_deg":4,"method":"guess"}})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","trunk":null})",
       R"({"schema":"lintel-visit-1","date":20261125})",
       R"({"schema":"lintel-visit-1","date":"2026-11-25","more":1})"}) {
    const bool by_reader = read_visit_json(text, "").visit.has_value();
    EXPECT_EQ(test_support::schema_complaints(schema, Json::parse(text)).empty(), by_reader)
        << text;
  }
}

}  // namespace
}  // namespace lintel::formats
