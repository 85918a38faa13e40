// Outputs against the JSON Schemas (draft 7) of docs/schema.
#include <gtest/gtest.h>
#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>

#include "body/tables.h"
#include "formats/assessment_json.h"
#include "formats/athlete_fields.h"
#include "formats/athlete_json.h"
#include "support/demo_measurement.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::json;

const auto complaints = test_support::schema_complaints;

Json read_schema_file(const std::string& name) {
  return test_support::read_schema(name);
}

view::Assessment full_assessment(const kinematics::Measurement& m,
                                 const kinematics::FrontMeasurement& front) {
  view::Assessment a = test_support::demo_assessment(m);
  a.front = &front;
  return a;
}

TEST(AssessmentSchema, TakesFullAndEmptyAssessments) {
  const Json schema = read_schema_file("assessment.schema.json");
  kinematics::FrontMeasurement front;
  front.stance_width = {0.36, 0.01};
  auto m = test_support::demo_measurement({});
  m.repetitions[1].pauses.push_back({1.2, 0.8});
  EXPECT_EQ(complaints(schema, Json::parse(write_assessment_json(full_assessment(m, front)))), "");
  EXPECT_EQ(complaints(schema, Json::parse(write_assessment_json({}))), "");
  test_support::DemoOptions no_bar;
  no_bar.bar_seen = false;
  no_bar.repetitions = 0;
  const auto empty = test_support::demo_measurement(no_bar);
  view::Assessment a = test_support::demo_assessment(empty);
  a.explanation->parts.clear();
  a.explanation->observed_inclination.reset();
  EXPECT_EQ(complaints(schema, Json::parse(write_assessment_json(a))), "");
}

TEST(AssessmentSchema, RefusesWhatLacksACautionAnErrorOrAUnit) {
  const Json schema = read_schema_file("assessment.schema.json");
  const auto m = test_support::demo_measurement({});
  const Json good = Json::parse(write_assessment_json(test_support::demo_assessment(m)));
  Json bad = good;
  bad["cautions"].erase(0);
  EXPECT_NE(complaints(schema, bad), "");
  bad = good;
  bad["camera"]["yaw_deg"].erase("standard_error");
  EXPECT_NE(complaints(schema, bad), "");
  bad = good;
  bad["camera"]["yaw"] = bad["camera"]["yaw_deg"];
  EXPECT_NE(complaints(schema, bad), "");
}

TEST(AssessmentJsonNumbers, EachMeasuredValueHasItsErrorAndItsUnit) {
  kinematics::FrontMeasurement front;
  const auto m = test_support::demo_measurement({});
  const Json json = Json::parse(write_assessment_json(full_assessment(m, front)));
  int counted = 0;
  const std::function<void(const Json&, bool)> walk = [&](const Json& node, bool has_unit) {
    if (node.is_array()) {
      for (const Json& item : node) walk(item, has_unit);
    }
    if (!node.is_object()) return;
    if (node.contains("value")) {
      EXPECT_TRUE(node.contains("standard_error")) << node.dump();
      EXPECT_TRUE(has_unit) << node.dump();
      ++counted;
    }
    for (const auto& [key, child] : node.items()) {
      bool named = has_unit || key == "pixels_per_metre";
      for (const char* unit : {"_deg", "_cm", "_m"}) {
        const std::string suffix = unit;
        named = named || (key.size() > suffix.size() &&
                          key.compare(key.size() - suffix.size(), suffix.size(), suffix) == 0);
      }
      walk(child, named);
    }
  };
  walk(json, false);
  EXPECT_GT(counted, 5 * 17 * 3);
}

TEST(AthleteSchema, AgreesWithTheReaderOnEveryField) {
  const Json schema = read_schema_file("athlete.schema.json");
  const Json base = Json::parse(R"({"schema": "lintel-athlete-1", "id": "x", "sex": "male",
                                    "body": {"stature_cm": 175, "mass_kg": 80}})");
  ASSERT_EQ(complaints(schema, base), "");
  ASSERT_TRUE(read_athlete_json(base.dump(), "").athlete);
  int known = 0;
  for (const AthleteField& field : athlete_fields()) {
    for (const double value : {-1000.0, 1e6}) {
      Json json = base;
      json[field.section][field.key] = value;
      EXPECT_NE(complaints(schema, json), "") << field.key;
      EXPECT_FALSE(read_athlete_json(json.dump(), "").athlete) << field.key;
    }
    const Json& section = schema["properties"][field.section]["properties"];
    ASSERT_TRUE(section.contains(field.key)) << field.key;
    const Json& entry = section[field.key];
    const Json& number = entry.contains("oneOf") ? entry["oneOf"][0] : entry;
    const body::Number& range = body::range_table()[field.range_key];
    EXPECT_NEAR(number["minimum"].get<double>(), range.low / field.si_per_unit, 1e-6) << field.key;
    EXPECT_NEAR(number["maximum"].get<double>(), range.high / field.si_per_unit, 1e-6) << field.key;
    ++known;
  }
  std::size_t in_schema = 0;
  for (const char* section : {"body", "setup", "tests"}) {
    in_schema += schema["properties"][section]["properties"].size();
  }
  EXPECT_EQ(in_schema, static_cast<std::size_t>(known) + 1);  // and bar_position
}

TEST(AthleteSchema, TakesWhatTheWriterWrites) {
  body::Athlete athlete;
  athlete.id = "skarnholm-03";
  athlete.stature = 1.81;
  athlete.body_mass = 88;
  athlete.tests[body::MobilityTest::AnkleDorsiflexion][0] = Estimate{0.6, 0.03};
  athlete.warning_signs = {body::WarningSign::Fever};
  EXPECT_EQ(
      complaints(read_schema_file("athlete.schema.json"), Json::parse(write_athlete_json(athlete))),
      "");
}

}  // namespace
}  // namespace lintel::formats
