// Documents of records: intake, visit, day of the log, plan as it is kept; what a client may leave
// out; questions to the model.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/intake_json.h"
#include "formats/json_defaults.h"
#include "formats/plan_record_json.h"
#include "formats/question_json.h"
#include "formats/record_json.h"
#include "formats/visit_json.h"
#include "support/example_plan.h"

namespace lintel::formats {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

const char* const kIntake = R"({
  "schema": "lintel-intake-1",
  "athlete": {"schema": "lintel-athlete-1", "id": "sk-07", "name": "Ilka Tornvald", "sex": "female",
              "body": {"stature_cm": 168, "mass_kg": 66}, "warning_signs": ["pregnancy"]},
  "birth_date": "1998-04-17",
  "sport": "weightlifting, class to 71 kg",
  "goal": {"lift": "snatch", "trunk_deg": 30, "date": "2027-02-01", "words": "stay upright at 60 kg"},
  "history": "Left ankle sprained in 2021.",
  "consent": {"given": true, "date": "2026-11-25", "by": "Ilka Tornvald"},
  "tags": ["Squad A", "monday", "squad a"],
  "minutes": 20, "sessions_per_week": 4,
  "equipment": ["pipe", "wedge"],
  "notes": "Prefers mornings."
})";

std::vector<std::string> fields_of(const std::vector<Error>& faults) {
  std::vector<std::string> fields;
  for (const Error& fault : faults) fields.push_back(fault.place.field);
  return fields;
}

TEST(Intake, IsReadWholeAndWrittenTheSame) {
  const IntakeReading reading = read_intake_json(kIntake, "intake.json");
  ASSERT_TRUE(reading.intake) << describe(reading.faults.front());
  const Intake& intake = *reading.intake;
  EXPECT_EQ(intake.athlete.id, "sk-07");
  EXPECT_DOUBLE_EQ(intake.athlete.stature, 1.68);
  EXPECT_EQ(intake.birth_date->iso(), "1998-04-17");
  EXPECT_EQ(intake.goal->lift, plan::Lift::Snatch);
  EXPECT_NEAR(*intake.goal->trunk_inclination * kDegreesPerRadian, 30.0, 1e-12);
  EXPECT_TRUE(intake.consent->given);
  EXPECT_THAT(intake.tags, ::testing::ElementsAre("squad a", "monday"));
  EXPECT_DOUBLE_EQ(*intake.time_per_session, 1200.0);
  EXPECT_TRUE(intake.equipment.has(plan::Equipment::Wedge));
  const IntakeReading again = read_intake_json(write_intake_json(intake), "again.json");
  ASSERT_TRUE(again.intake);
  EXPECT_EQ(write_intake_json(*again.intake), write_intake_json(intake));
}

TEST(Intake, NamesEveryFaultWithItsFieldLineAndMend) {
  std::string text = kIntake;
  const auto swap = [&](const std::string& from, const std::string& to) {
    text.replace(text.find(from), from.size(), to);
  };
  swap("\"stature_cm\": 168", "\"stature_cm\": 16.8");
  swap("\"1998-04-17\"", "\"1998-02-30\"");
  swap("\"lift\": \"snatch\"", "\"lift\": \"snach\"");
  swap("\"given\": true, ", "");
  swap("\"minutes\": 20", "\"minutes\": 500");
  swap("\"wedge\"", "\"wedgie\"");
  swap("\"notes\"", "\"note\"");
  const IntakeReading reading = read_intake_json(text, "intake.json");
  EXPECT_FALSE(reading.intake);
  EXPECT_THAT(fields_of(reading.faults),
              ::testing::UnorderedElementsAre("athlete.body.stature_cm", "birth_date", "goal.lift",
                                              "consent.given", "minutes", "equipment[1]", "note"));
  for (const Error& fault : reading.faults) {
    EXPECT_GT(fault.place.line, 1) << fault.place.field;
    EXPECT_FALSE(fault.message.empty());
  }
  const auto lift = std::find_if(reading.faults.begin(), reading.faults.end(),
                                 [](const Error& e) { return e.place.field == "goal.lift"; });
  EXPECT_THAT(lift->mend, HasSubstr("snatch"));
}

TEST(Visit, IsStrict) {
  const auto good = read_visit_json(
      R"({"schema":"lintel-visit-1","date":"2026-11-25","purpose":"re-test"})", "v.json");
  ASSERT_TRUE(good.visit);
  EXPECT_EQ(good.visit->purpose, "re-test");
  VisitDocument typed = *good.visit;
  typed.trunk = TypedTrunk{0.8, 0.07, "goniometer"};
  const auto read_back = read_visit_json(write_visit_json(typed), "v.json");
  ASSERT_TRUE(read_back.visit && read_back.visit->trunk);
  EXPECT_NEAR(read_back.visit->trunk->inclination, 0.8, 1e-6);
  EXPECT_NEAR(read_back.visit->trunk->standard_error, 0.07, 1e-6);
  EXPECT_EQ(read_back.visit->trunk->method, "goniometer");
  EXPECT_EQ(read_visit_json(write_visit_json(*good.visit), "v.json").visit->date.iso(),
            "2026-11-25");
  const auto bad =
      read_visit_json(R"({"schema":"lintel-visit-1","date":"25.11.2026","porpose":"x"})", "v.json");
  EXPECT_THAT(fields_of(bad.faults), ::testing::ElementsAre("date", "porpose"));
}

TEST(DayLog, KeepsWhatWasDoneAndRefusesAnUnknownDrill) {
  const auto& drills = built_in_drills();
  const std::string id = drills.front().id;
  const std::string text =
      R"({"schema":"lintel-log-1","date":"2026-11-25","drills":[{"drill":")" + id +
      R"(","sets":3,"effort":6,"pain_during":1,"stop_sign":"heel_lift"}],)"
      R"("releases":[{"date":"2026-11-24","by":"physician"}],)"
      R"("best_lifts":[{"date":"2026-10-01","lift":"snatch","load_kg":62.5}]})";
  const auto reading = read_day_log_json(text, "log.json", drills);
  ASSERT_TRUE(reading.log) << describe(reading.faults.front());
  EXPECT_EQ(reading.log->session.drills.front().stop_sign, plan::StopSign::HeelLift);
  const auto again = read_day_log_json(write_day_log_json(*reading.log), "again.json", drills);
  ASSERT_TRUE(again.log);
  EXPECT_EQ(write_day_log_json(*again.log), write_day_log_json(*reading.log));
  EXPECT_DOUBLE_EQ(again.log->best_lifts.front().mass, 62.5);
  const auto bad = read_day_log_json(
      R"({"schema":"lintel-log-1","date":"2026-11-25","drills":[{"drill":"no-such","sets":200}]})",
      "log.json", drills);
  EXPECT_THAT(fields_of(bad.faults),
              ::testing::UnorderedElementsAre("drills[0].drill", "drills[0].sets"));
}

TEST(Defaults, ArePutInWithoutMovingALine) {
  const std::string text =
      "{\n  \"athlete\": {\n    \"sex\": \"male\"\n  },\n  \"list\": [{\"a\": 1}, {}]\n}";
  std::string out = with_defaults(text, "", {{"schema", "\"s\""}, {"athlete", "{}"}});
  EXPECT_EQ(json::parse(out)["schema"], "s");
  EXPECT_EQ(json::parse(out)["athlete"]["sex"], "male");
  EXPECT_EQ(std::count(out.begin(), out.end(), '\n'), std::count(text.begin(), text.end(), '\n'));
  out = with_defaults(out, "athlete", {{"id", json_text_of("a \"b\"")}});
  EXPECT_EQ(json::parse(out)["athlete"]["id"], "a \"b\"");
  out = with_defaults(out, "list[]", {{"who", "\"x\""}, {"a", "2"}});
  EXPECT_EQ(json::parse(out)["list"], json::parse(R"([{"a":1,"who":"x"},{"who":"x","a":2}])"));
  // What is no such document comes back as it was.
  for (const char* other : {"", "[]", "{\"a\":", "7", "{\"a\":1,\"a\":2}"}) {
    EXPECT_EQ(with_defaults(other, "", {{"x", "1"}}), other);
  }
}

TEST(RecordJson, KeepsTheDocumentAsItWas) {
  RecordHead head;
  head.id = "r1";
  head.kind = "visit";
  head.state = "active";
  head.version = 3;
  head.reason = "a \"reason\"";
  const json out = json::parse(
      write_record_json(head, "{\"x\": 1.50}\n", {{"outcome", "null"}, {"cautions", "[]"}}));
  EXPECT_EQ(out["document"]["x"], 1.5);
  EXPECT_EQ(out["version"], 3);
  EXPECT_TRUE(out["parent"].is_null());
  EXPECT_EQ(out["reason"], "a \"reason\"");
  EXPECT_TRUE(out.contains("outcome"));
  const json page = json::parse(write_page_json({"{\"a\":1}\n", "{}"}, "cursor"));
  EXPECT_EQ(page["items"].size(), 2u);
  EXPECT_EQ(page["next"], "cursor");
  EXPECT_TRUE(json::parse(write_page_json({}, ""))["next"].is_null());
  EXPECT_EQ(json::parse(with_members("{}", {{"a", "1"}})), json::parse("{\"a\":1}"));
  EXPECT_EQ(json::parse(with_members("{\"b\": 2\n}\n", {{"a", "1"}})),
            json::parse("{\"b\":2,\"a\":1}"));
}

TEST(PlanRecord, IsReadBackWithWishEditsAndFiles) {
  PlanRecordDocument document;
  document.visit = "v";
  document.trial = "t";
  document.plan = test_support::example_plan();
  document.wish.weeks = 6;
  document.wish.goal = 0.5;
  document.wish.equipment.emplace().add(plan::Equipment::Ball);
  document.wish.imperial = true;
  document.wish.recipient = {"Dr. Oddny Hallveig"};
  PlanEdit edit;
  edit.drill = "x";
  edit.step = 1;
  edit.leave_out = true;
  document.edits.push_back(edit);
  document.files.push_back({"handout.pdf", std::string(64, 'a'), "application/pdf"});
  const std::string text = write_plan_record_json(document);
  const auto again = read_plan_record_json(text);
  ASSERT_TRUE(again) << describe(again.error());
  EXPECT_EQ(write_plan_record_json(*again), text);
  EXPECT_EQ(again->wish.recipient, document.wish.recipient);
  EXPECT_EQ(again->edits.front().step, 1);
  EXPECT_FALSE(read_plan_record_json("{}"));
  EXPECT_FALSE(read_plan_record_json("[1,"));
}

TEST(PlanWish, MayBeEmptyAndNamesEveryFault) {
  EXPECT_TRUE(read_plan_wish_json("").wish);
  EXPECT_TRUE(read_plan_wish_json(" {} ").wish);
  const auto bad = read_plan_wish_json(
      R"({"minutes":1,"sessions":9,"from":"soon","equipment":["bal"],"paper":"a5","hurry":true})");
  EXPECT_THAT(fields_of(bad.faults),
              ::testing::UnorderedElementsAre("minutes", "sessions", "from", "equipment[0]",
                                              "paper", "hurry"));
  const auto update = read_plan_update_json(R"({"edits":[]})");
  EXPECT_THAT(fields_of(update.faults), ::testing::ElementsAre("edits"));
}

TEST(Questions, TakeTheUnitOfTheLeverOnly) {
  const std::string athlete =
      R"({"schema":"lintel-athlete-1","id":"a","sex":"male","body":{"stature_cm":180,"mass_kg":80}})";
  const auto ask = [&](const std::string& changes) {
    return read_question_json("{\"athlete\":" + athlete + ",\"changes\":" + changes + "}",
                              ChangesInQuestion::Expected);
  };
  const auto good = ask(
      R"([{"lever":"heel","to":1.5,"unit":"cm"},{"lever":"ankle_range","to":40,"unit":"deg"}])");
  ASSERT_TRUE(good.question) << describe(good.faults.front());
  EXPECT_DOUBLE_EQ(good.question->changes[0].to, 0.015);
  EXPECT_NEAR(good.question->changes[1].to * kDegreesPerRadian, 40.0, 1e-12);
  const auto bad =
      ask(R"([{"lever":"heel","to":1.5,"unit":"mm"},{"lever":"heal","to":1,"unit":"cm"},
      {"lever":"grip","to":80,"unit":"cm"},{"lever":"grip","to":90,"unit":"cm"}])");
  EXPECT_THAT(
      fields_of(bad.faults),
      ::testing::UnorderedElementsAre("changes[0].unit", "changes[1].lever", "changes[3].lever"));
  EXPECT_THAT(fields_of(read_question_json("{}", ChangesInQuestion::Expected).faults),
              ::testing::UnorderedElementsAre("athlete", "changes"));
}

}  // namespace
}  // namespace lintel::formats
