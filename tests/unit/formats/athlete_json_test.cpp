#include "formats/athlete_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/random.h"
#include "body/tables.h"
#include "formats/athlete_fields.h"

namespace lintel::formats {
namespace {

using body::MobilityTest;
using ::testing::HasSubstr;

constexpr const char* kGood = R"({
  "schema": "lintel-athlete-1",
  "id": "skarnholm-07",
  "name": "Runa Fjellgård",
  "sex": "female",
  "body": {"stature_cm": 168, "mass_kg": 63.5, "shank_cm": {"value": 39.5, "standard_error": 0.5}},
  "setup": {"bar_mass_kg": 20, "disc_diameter_mm": 450, "bar_position": "overhead",
            "stance_width_cm": 36, "toe_out_deg": 20, "grip_width_cm": 92},
  "tests": {
    "knee_to_wall_left_cm": 7.5,
    "knee_to_wall_right_cm": {"value": 9, "standard_error": 0.4},
    "thoracic_extension_deg": 18
  },
  "warning_signs": ["numbness"]
})";

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

TEST(AthleteJson, TurnsDegreesAndCentimetresIntoSi) {
  const AthleteReading reading = read_athlete_json(kGood, "runa.json");
  ASSERT_TRUE(reading.athlete) << (reading.faults.empty() ? "" : describe(reading.faults[0]));
  const body::Athlete& athlete = *reading.athlete;
  EXPECT_EQ(athlete.id, "skarnholm-07");
  EXPECT_EQ(athlete.name, "Runa Fjellgård");
  EXPECT_EQ(athlete.sex, body::Sex::Female);
  EXPECT_DOUBLE_EQ(athlete.stature, 1.68);
  EXPECT_DOUBLE_EQ(athlete.body_mass, 63.5);
  EXPECT_DOUBLE_EQ(athlete.measured_lengths[0]->value, 0.395);
  EXPECT_DOUBLE_EQ(athlete.measured_lengths[0]->standard_error, 0.005);
  EXPECT_DOUBLE_EQ(athlete.setup.disc_diameter, 0.45);
  EXPECT_NEAR(athlete.setup.toe_out, 0.34906585, 1e-8);  // 20 deg
  EXPECT_DOUBLE_EQ(athlete.tests[MobilityTest::KneeToWall][0]->value, 0.075);
  EXPECT_DOUBLE_EQ(athlete.tests[MobilityTest::KneeToWall][0]->standard_error, 0);
  EXPECT_DOUBLE_EQ(athlete.tests[MobilityTest::KneeToWall][1]->standard_error, 0.004);
  EXPECT_NEAR(athlete.tests[MobilityTest::ThoracicExtension][0]->value, 0.31415927, 1e-8);  // 18
  EXPECT_FALSE(athlete.tests[MobilityTest::HipFlexion][0]);
  ASSERT_EQ(athlete.warning_signs.size(), 1u);
  EXPECT_EQ(athlete.warning_signs[0], body::WarningSign::Numbness);
}

TEST(AthleteJson, NamesThePlaceAndTheAllowedRangeOfANumberOutside) {
  const auto reading = read_athlete_json(
      replaced(kGood, "\"stature_cm\": 168", "\"stature_cm\": 1680"), "runa.json");
  EXPECT_FALSE(reading.athlete);
  ASSERT_EQ(reading.faults.size(), 1u);
  const Error& fault = reading.faults[0];
  EXPECT_EQ(fault.place.file, "runa.json");
  EXPECT_EQ(fault.place.field, "body.stature_cm");
  EXPECT_EQ(fault.place.line, 6);
  EXPECT_EQ(fault.place.column, 26);  // counted by hand
  EXPECT_THAT(fault.message, HasSubstr("1680"));
  EXPECT_THAT(fault.message, HasSubstr("120 to 230 cm"));
}

TEST(AthleteJson, SuggestsTheNearestKnownKey) {
  const auto reading =
      read_athlete_json(replaced(kGood, "thoracic_extension_deg", "thoracic_extention_deg"), "");
  ASSERT_EQ(reading.faults.size(), 1u);
  EXPECT_EQ(reading.faults[0].place.line, 12);
  EXPECT_EQ(reading.faults[0].place.column, 5);
  EXPECT_EQ(reading.faults[0].place.field, "tests.thoracic_extention_deg");
  EXPECT_THAT(reading.faults[0].mend, HasSubstr("thoracic_extension_deg"));
}

TEST(AthleteJson, ReportsAllFaultsOfAFileInItsOrder) {
  std::string text = replaced(kGood, "lintel-athlete-1", "lintel-athlete-9");
  text = replaced(text, "\"female\"", "\"f\"");
  text = replaced(text, "\"mass_kg\": 63.5", "\"mass_kg\": \"63\"");
  text = replaced(text, "\"overhead\"", "\"low\"");
  text = replaced(text, "\"grip_width_cm\": 92", "\"grip_width_cm\": 1e9");
  text = replaced(text, "\"standard_error\": 0.4", "\"standard_error\": -1");
  text = replaced(text, "\"numbness\"", "\"numbnes\", 7");
  const auto reading = read_athlete_json(text, "");
  std::vector<std::string> fields;
  for (const Error& fault : reading.faults) fields.push_back(fault.place.field);
  EXPECT_THAT(fields, ::testing::ElementsAre("schema", "sex", "body.mass_kg", "setup.bar_position",
                                             "setup.grip_width_cm",
                                             "tests.knee_to_wall_right_cm.standard_error",
                                             "warning_signs[0]", "warning_signs[1]"));
  EXPECT_FALSE(reading.athlete);
}

TEST(AthleteJson, MissesWhatMustBeThere) {
  const auto reading = read_athlete_json("{}", "");
  std::vector<std::string> fields;
  for (const Error& fault : reading.faults) fields.push_back(fault.place.field);
  EXPECT_THAT(fields, ::testing::UnorderedElementsAre("schema", "id", "sex", "body"));
}

TEST(AthleteJson, FindsAGripNarrowerThanTheShouldersAtItsPlace) {
  // A tall man's shoulder joints are about 40 cm apart; hands 25 cm apart cannot pass them.
  std::string text = replaced(kGood, "\"grip_width_cm\": 92", "\"grip_width_cm\": 25");
  text = replaced(text, "\"shank_cm\": {\"value\": 39.5, \"standard_error\": 0.5}",
                  "\"inter_shoulder_cm\": 42");
  const auto reading = read_athlete_json(text, "");
  ASSERT_EQ(reading.faults.size(), 1u);
  EXPECT_EQ(reading.faults[0].place.field, "setup.grip_width_cm");
  EXPECT_EQ(reading.faults[0].place.line, 8);
}

TEST(AthleteJson, SurvivesHostileText) {
  for (const std::string& text :
       {std::string(), std::string("null"), std::string("[]"), std::string(2'000'000, ' '),
        std::string(5000, '['), std::string("{\"body\": [[[[[[[[[[1]]]]]]]]]]}"),
        std::string("\xEF\xBB\xBF{}"), std::string("{\"id\": \"\xff\"}"),
        std::string("{\"a\":1,\"a\":2}")}) {
    const auto reading = read_athlete_json(text, "x");
    EXPECT_FALSE(reading.athlete);
    EXPECT_FALSE(reading.faults.empty());
  }
}

TEST(AthleteJson, TakesEveryKeyAtBothEndsOfItsRangeAndNoFurther) {
  const nlohmann::json base = nlohmann::json::parse(kGood);
  for (const AthleteField& field : athlete_fields()) {
    // Lengths of one body depend on one another; the ends of the grip depend on the shoulders.
    if (field.key == "grip_width_cm" || field.key == "seat_share_percent") continue;
    const body::Number& range = body::range_table()[field.range_key];
    for (const double end : {range.low, range.high}) {
      nlohmann::json json = base;
      json[field.section][field.key] = end / field.si_per_unit;
      const auto reading = read_athlete_json(json.dump(), "");
      EXPECT_TRUE(reading.athlete)
          << field.key << " " << end << (reading.faults.empty() ? "" : describe(reading.faults[0]));
      const double beyond = end + (end == range.low ? -1 : 1) * 0.01 * (range.high - range.low);
      json[field.section][field.key] = beyond / field.si_per_unit;
      const auto refused = read_athlete_json(json.dump(), "");
      ASSERT_EQ(refused.faults.size(), 1u) << field.key << " " << beyond;
      EXPECT_EQ(refused.faults[0].place.field, field.section + "." + field.key);
    }
  }
}

body::Athlete random_athlete(Random& random) {
  body::Athlete athlete;
  athlete.id = "a" + std::to_string(random.next() % 1000);
  athlete.name = "Tove \"Ankermann\" Øst";
  athlete.sex = random.uniform() < 0.5 ? body::Sex::Female : body::Sex::Male;
  for (const AthleteField& field : athlete_fields()) {
    if (field.presence == Presence::Optional && random.uniform() < 0.4) continue;
    const body::Number& range = body::range_table()[field.range_key];
    const double middle = (range.low + range.high) / 2;
    const double half = (range.high - range.low) / 2;
    Estimate estimate{middle + random.uniform(-0.3, 0.3) * half, 0};
    if (field.error_of_value == ErrorOfValue::Allowed && random.uniform() < 0.5) {
      estimate.standard_error = random.uniform(0.01, 0.05) * half;
    }
    field.set(athlete, estimate);
  }
  if (!athlete.setup.surface_height) athlete.setup.seat_share = 0;
  if (random.uniform() < 0.5) athlete.warning_signs = {body::WarningSign::Pregnancy};
  athlete.setup.bar_position = body::BarPosition::Front;
  return athlete;
}

TEST(AthleteJson, ComesBackAsItWasWritten) {
  Random random(11);
  for (int i = 0; i < 200; ++i) {
    const body::Athlete athlete = random_athlete(random);
    const std::string text = write_athlete_json(athlete);
    const auto reading = read_athlete_json(text, "");
    ASSERT_TRUE(reading.athlete) << text << describe(reading.faults[0]);
    EXPECT_EQ(reading.athlete->id, athlete.id);
    EXPECT_EQ(reading.athlete->name, athlete.name);
    EXPECT_EQ(reading.athlete->sex, athlete.sex);
    EXPECT_EQ(reading.athlete->setup.bar_position, athlete.setup.bar_position);
    EXPECT_EQ(reading.athlete->warning_signs, athlete.warning_signs);
    for (const AthleteField& field : athlete_fields()) {
      const auto before = field.get(athlete);
      const auto after = field.get(*reading.athlete);
      ASSERT_EQ(before.has_value(), after.has_value()) << field.key;
      if (!before) continue;
      // Ten significant digits.
      EXPECT_NEAR(before->value, after->value, 1e-9 * std::abs(before->value)) << field.key;
      EXPECT_NEAR(before->standard_error, after->standard_error, 1e-9 * before->standard_error)
          << field.key;
    }
    EXPECT_EQ(write_athlete_json(*reading.athlete), text);
  }
}

}  // namespace
}  // namespace lintel::formats
