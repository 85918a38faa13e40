#include "formats/trial_json.h"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "formats/athlete_json.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using test_support::read_schema;
using test_support::schema_complaints;

std::string corpus(const std::string& name) {
  std::ifstream in(std::string(LINTEL_SOURCE_DIR) + "/tests/fuzz/corpus/trial_json/" + name);
  return {std::istreambuf_iterator<char>(in), {}};
}

bool has_fault(const std::vector<Error>& faults, const std::string& field) {
  for (const Error& fault : faults) {
    if (fault.place.field == field) return true;
  }
  return false;
}

TEST(TrialJson, ReadsWhatItWrote) {
  const auto reading = read_trial_json(corpus("good.json"), "trial.json");
  ASSERT_TRUE(reading.trial) << (reading.faults.empty() ? "" : reading.faults.front().message);
  const TrialDocument& trial = *reading.trial;
  EXPECT_EQ(trial.edit.corrections.points.front().landmark, kinematics::Landmark::LeftKnee);
  EXPECT_NEAR(*trial.edit.corrections.vertical_roll, 1.5 * kRadiansPerDegree, 1e-12);
  EXPECT_NEAR(*trial.edit.corrections.disc_diameter, 0.45, 1e-12);
  EXPECT_EQ(trial.edit.corrections.events.front().moment, kinematics::RepetitionMoment::Bottom);
  EXPECT_EQ(trial.state, TrialState::Measured);
  ASSERT_NE(trial.result("points.json"), nullptr);
  EXPECT_EQ(trial.result("overlay.mp4"), nullptr);
  const std::string text = write_trial_json(trial);
  EXPECT_EQ(schema_complaints(read_schema("trial.schema.json"), nlohmann::json::parse(text)), "");
  const auto again = read_trial_json(text, "trial.json");
  ASSERT_TRUE(again.trial);
  EXPECT_EQ(write_trial_json(*again.trial), text);
}

TEST(TrialJson, FindsEveryFaultWithItsField) {
  const auto reading = read_trial_json(corpus("faults.json"), "trial.json");
  ASSERT_FALSE(reading.trial);
  for (const char* field :
       {"view", "network", "setup.grip", "person", "corrections.points[0].frame",
        "corrections.points[0].landmark", "corrections.points[0].x_px",
        "corrections.points[0].y_px", "corrections.events[0].repetition",
        "corrections.events[0].event", "corrections.events[0].frame", "corrections.disc", "media",
        "state", "results"}) {
    EXPECT_TRUE(has_fault(reading.faults, field)) << field;
  }
  for (const Error& fault : reading.faults) EXPECT_GT(fault.place.line, 0) << fault.message;
}

TEST(TrialJson, AnEditTakesWhatAPersonWritesAndPassesOverTheRest) {
  auto json = nlohmann::json::parse(corpus("good.json"));
  json["results"] = "made up";
  json["state"] = 5;
  const auto reading = read_trial_edit_json(json.dump());
  ASSERT_TRUE(reading.edit);
  EXPECT_EQ(reading.edit->name, "overhead 40 kg");
  const auto original = read_trial_json(corpus("good.json"), "");
  EXPECT_TRUE(same_measurement(*reading.edit, original.trial->edit));
  json["notes"] = "other words";
  EXPECT_TRUE(same_measurement(*read_trial_edit_json(json.dump()).edit, original.trial->edit));
  json["corrections"]["points"][0]["x_px"] = 211;
  EXPECT_FALSE(same_measurement(*read_trial_edit_json(json.dump()).edit, original.trial->edit));
}

TEST(TrialJson, ThePersonCorrectedDecidesTheLook) {
  TrialEdit edit;
  edit.person = 1;
  EXPECT_EQ(look_of(edit).person, 1);
  edit.corrections.person = 2;
  EXPECT_EQ(look_of(edit).person, 2);
  TrialEdit same = edit;
  same.person = 3;
  EXPECT_EQ(look_of(edit), look_of(same));
  same.look_for_disc = false;
  EXPECT_FALSE(look_of(edit) == look_of(same));
}

TEST(TrialJson, ANewTrialNamesOneClip) {
  const auto body = read_new_trial_json(corpus("new.json"));
  ASSERT_TRUE(body.body);
  EXPECT_EQ(body.body->edit.view, "front");
  EXPECT_FALSE(read_new_trial_json("{}").body);
  EXPECT_FALSE(read_new_trial_json(R"({"upload":"a","media":"b"})").body);
}

TEST(TrialJson, PutsTheSetupIntoTheAthleteOfAnIntake) {
  const std::string intake =
      R"({"schema":"lintel-intake-1","athlete":{"schema":"lintel-athlete-1","id":"ansa",)"
      R"("name":"Ansa Brinvik","sex":"female","body":{"stature_cm":168,"mass_kg":63},)"
      R"("setup":{"bar_mass_kg":20,"stance_width_cm":34}}})";
  const auto text = athlete_of_intake(intake, R"({"bar_mass_kg":40})");
  ASSERT_TRUE(text) << text.error();
  const auto athlete = read_athlete_json(*text, "athlete.json");
  ASSERT_TRUE(athlete.athlete);
  EXPECT_DOUBLE_EQ(athlete.athlete->setup.bar_mass, 40);
  EXPECT_DOUBLE_EQ(athlete.athlete->setup.stance_width, 0.34);
  EXPECT_FALSE(athlete_of_intake("{}", ""));
  EXPECT_FALSE(athlete_of_intake(intake, "[1]"));
}

TEST(TrialJson, ReadsTheDayOfAVisit) {
  EXPECT_EQ(date_of_visit(R"({"date":"2026-03-09"})"), "2026-03-09");
  EXPECT_EQ(date_of_visit(R"({"date":"9 March"})"), "");
  EXPECT_EQ(date_of_visit("x"), "");
}

}  // namespace
}  // namespace lintel::formats
