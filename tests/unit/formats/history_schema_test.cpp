// history.schema.json and progress.schema.json against reader and writers.
#include <gtest/gtest.h>

#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/progress_json.h"
#include "formats/protocol_json.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using nlohmann::json;
using test_support::read_schema;
using test_support::schema_complaints;

json full_history() {
  return json::parse(R"({"schema": "lintel-history-1", "athlete": "sk-017",
    "sessions": [{"date": "2026-11-04", "drills": [
        {"drill": "slow-heel-drop", "step": 2, "sets": 3, "repetitions": 12, "hold_s": 1.5,
         "load_kg": 10, "effort": 6.5, "pain_during": 1, "pain_next_morning": 0,
         "stop_sign": "heel_lift", "notes": "right heel"}]}],
    "tests": [{"date": "2026-11-02", "protocol": "knee_to_wall_distance", "side": "left",
               "tries_cm": [6, 6.5]}],
    "standard_errors": [{"protocol": "knee_to_wall_distance", "value_cm": 0.4, "tries": 3,
                         "share_between_tries": 0.5, "source": "own repeats"}],
    "releases": [{"date": "2026-11-20", "by": "physician", "notes": "nothing found"}],
    "best_lifts": [{"date": "2026-10-01", "lift": "snatch", "load_kg": 62.5}]})");
}

bool reads(const json& document) {
  return read_history_json(document.dump(), "h.json", built_in_protocols(), built_in_drills())
      .history.has_value();
}

TEST(HistorySchema, TakesWhatTheReaderTakesAndTheWriterWrites) {
  const json schema = read_schema("history.schema.json");
  const json full = full_history();
  EXPECT_EQ(schema_complaints(schema, full), "");
  const auto reading =
      read_history_json(full.dump(), "h.json", built_in_protocols(), built_in_drills());
  ASSERT_TRUE(reading.history);
  EXPECT_EQ(schema_complaints(
                schema, json::parse(write_history_json(*reading.history, built_in_protocols()))),
            "");
}

TEST(HistorySchema, RefusesWhatTheReaderRefuses) {
  const json schema = read_schema("history.schema.json");
  const auto refused = [&](const char* pointer, const json& value) {
    json bad = full_history();
    bad[json::json_pointer(pointer)] = value;
    EXPECT_NE(schema_complaints(schema, bad), "") << pointer;
    EXPECT_FALSE(reads(bad)) << pointer;
  };
  refused("/schema", "lintel-history-2");
  refused("/athlete", "");
  refused("/sesions", json::array());
  refused("/sessions/0/date", "4.11.2026");
  refused("/sessions/0/day", 1);
  refused("/sessions/0/drills/0/sets", -1);
  refused("/sessions/0/drills/0/sets", 2.5);
  refused("/sessions/0/drills/0/step", 0);
  refused("/sessions/0/drills/0/pain_during", 11);
  refused("/sessions/0/drills/0/effort", 10.5);
  refused("/sessions/0/drills/0/stop_sign", "tired");
  refused("/sessions/0/drills/0/load_kg", 500);
  refused("/sessions/0/drills/0/notes", "");
  refused("/tests/0/tries_cm", json::array());
  refused("/tests/0/tries_deg", json::array({40}));
  refused("/tests/0/side", "up");
  refused("/standard_errors/0/tries", 0);
  refused("/standard_errors/0/share_between_tries", 1.5);
  refused("/releases/0/by", "");
  refused("/best_lifts/0/lift", "curl");
  refused("/best_lifts/0/load_kg", 0);
}

ProgressDocument document(bool with_sign) {
  const Date start = Date::parse("2026-03-02").value();
  ProgressDocument d;
  d.athlete_id = "sk-017";
  d.followed.plan_start = start;
  plan::DrillAsked drill;
  drill.drill = "slow-heel-drop";
  drill.name = "Slow heel drop";
  drill.ladder = {{"both feet", 3, 7, false}, {"with a bar", 3, 7, true}};
  drill.sets = 3;
  d.followed.drills = {drill};
  plan::TestFollowed test;
  test.protocol = "knee_to_wall_distance";
  test.name = "Knee to wall";
  test.unit = body::ProtocolUnit::Centimetres;
  test.error = {0.004, 0.004};
  test.target = 0.10;
  test.goal_date = start + 56;
  test.published = plan::PublishedGain{0.02, 0, 6};
  d.followed.tests = {test};
  if (with_sign) d.followed.warning_signs = {body::WarningSign::Numbness};
  plan::History history;
  history.tests = {{start, test.protocol, body::TestSide::Left, test.unit, {0.06, 0.065}},
                   {start + 42, test.protocol, body::TestSide::Left, test.unit, {0.08}},
                   {start, test.protocol, body::TestSide::Right, test.unit, {0.07}}};
  history.best_lifts = {{start, plan::Lift::Snatch, 60}};
  d.follow = plan::follow_up(d.followed, history, start + 43).value();
  plan::LoadQuestion question;
  question.best = plan::best_lifts_of(history, start + 43);
  question.warning_signs = d.followed.warning_signs;
  question.position_held = true;
  d.loads = plan::advise_loads(question, 6);
  return d;
}

TEST(ProgressSchema, TakesEveryDocumentThatIsWritten) {
  const json schema = read_schema("progress.schema.json");
  EXPECT_EQ(schema_complaints(schema, json::parse(write_progress_json(document(false)))), "");
  EXPECT_EQ(schema_complaints(schema, json::parse(write_progress_json(document(true)))), "");
}

TEST(ProgressSchema, RefusesWhatLacksCautionsOrGivesLoadsThatAreNotAllowed) {
  const json schema = read_schema("progress.schema.json");
  json bad = json::parse(write_progress_json(document(false)));
  bad["loads"]["allowed"] = false;
  EXPECT_NE(schema_complaints(schema, bad), "");
  bad = json::parse(write_progress_json(document(false)));
  bad["cautions"].erase(0);
  EXPECT_NE(schema_complaints(schema, bad), "");
}

TEST(ProgressJson, GivesNumbersInTheUnitOfTheProtocol) {
  const json j = json::parse(write_progress_json(document(false)));
  const json& left = j["tests"][0];
  EXPECT_NEAR(left["change_cm"].get<double>(), 1.75, 1e-9);
  EXPECT_EQ(left["target_cm"], 10);
  EXPECT_NEAR(left["forecast"]["useful_gain_cm_per_week"].get<double>(), 1.0 / 6, 1e-6);
  EXPECT_EQ(j["tests"][1]["verdict"], "one_session");
  EXPECT_TRUE(j["tests"][1]["change_cm"].is_null());
}

TEST(ProgressJson, AWarningSignLeavesNoStepAndNoLoad) {
  const json j = json::parse(write_progress_json(document(true)));
  EXPECT_EQ(j["drills"][0]["decision"], "refer");
  EXPECT_TRUE(j["drills"][0]["next_step"].is_null());
  EXPECT_FALSE(j["loads"]["allowed"].get<bool>());
  EXPECT_TRUE(j["loads"]["weeks"].empty());
  EXPECT_EQ(j["watch"][0]["watch"], "see_a_clinician");
}

}  // namespace
}  // namespace lintel::formats
