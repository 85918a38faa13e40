// A whole visit through the API, its numbers against those of the command line's use cases on
// files: the same athlete, tests, clip and decisions must say the same.
#include "app/findings_use_case.h"
#include "app/plan_use_case.h"
#include "app/posture_commands.h"
#include "app/progress_use_case.h"
#include "app/test_entry.h"
#include "formats/assessment_json.h"
#include "support/demo_measurement.h"
#include "support/kept_trial.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

namespace fs = std::filesystem;
using app::Role;
using ::testing::HasSubstr;
using ::testing::StartsWith;

constexpr int kDraws = 400;

class VisitPath : public RecordsTest {
 protected:
  fs::path write(const std::string& name, const std::string& text) const {
    const fs::path file = folder_.path() / name;
    std::ofstream(file, std::ios::binary) << text;
    return file;
  }
  fs::path example_file(const std::string& name) const { return write(name, example_text(name)); }

  // Athlete, visit and tests of the example.
  void enter_example() {
    athlete_ = add_athlete()["id"];
    visit_ = add_visit(athlete_, "2026-09-07")["id"];
    tests_ = put_first("/api/v1/visits/" + visit_ + "/tests", example("tests.json"));
  }

  // The same as files: the athlete with the tests filled in.
  fs::path tested_athlete() {
    app::TestEntryRequest request;
    request.record = example_file("tests.json");
    request.athlete = example_file("athlete.json");
    const auto entered = value_of(app::enter_tests(request));
    outcome_ = Json::parse(entered.json);
    return write("tested.json", entered.athlete_json);
  }

  // A measured clip, as a worker leaves it.
  std::string add_measured_clip() {
    const auto measurement = test_support::demo_measurement({});
    view::Assessment assessment = test_support::demo_assessment(measurement);
    assessment.athlete_id = "ansa-brinvik";
    assessment_ = formats::write_assessment_json(assessment);
    const auto media = value_of(server_.practice().media->add_bytes(assessment_));
    formats::TrialDocument trial =
        measured_trial({{"assessment.json", media.sha256, "application/json", media.bytes}});
    trial.summary = "five squats";
    const auto readable = formats::read_trial_json(formats::write_trial_json(trial), "");
    EXPECT_TRUE(readable.trial) << describe(readable.faults.front());
    store::IndexRows index;
    index.date = "2026-09-07";
    return keep_trial(server_, athlete_, visit_, trial, std::move(index));
  }

  TemporaryFolder folder_;
  std::string athlete_, visit_, assessment_;
  Json tests_, outcome_;
};

// What the API adds to a document of the command line.
Json without(Json document, const std::vector<std::string>& keys) {
  for (const std::string& key : keys) document.erase(key);
  return document;
}

TEST_F(VisitPath, TestsAreJudgedAsByTheCommandLine) {
  enter_example();
  tested_athlete();
  EXPECT_EQ(difference(tests_["outcome"], outcome_), "");
}

TEST_F(VisitPath, FindingsAreThoseOfTheCommandLine) {
  enter_example();
  put_first("/api/v1/visits/" + visit_ + "/overrulings", example("overrulings.json"));
  const std::string trial = add_measured_clip();
  const Json found = expect_json(
      client_.get("/api/v1/visits/" + visit_ + "/findings?draws=" + std::to_string(kDraws)), 200);
  EXPECT_EQ(found["trial"], trial);
  EXPECT_EQ(found["tests"], tests_["id"]);
  app::FindingsRequest request;
  request.athlete = tested_athlete();
  request.seen.assessment = write("assessment.json", assessment_);
  request.overrulings = example_file("overrulings.json");
  request.draws = kDraws;
  const Json expected = Json::parse(value_of(app::findings_of_athlete(request, {})).json);
  EXPECT_EQ(difference(without(found, {"explanation", "figures", "best_change", "trial", "tests"}),
                       expected),
            "");
  app::PostureRequest posture;
  posture.athlete = request.athlete;
  posture.seen = request.seen;
  posture.draws = kDraws;
  EXPECT_EQ(difference(found["explanation"],
                       Json::parse(value_of(app::explain_athlete(posture, {})).json)),
            "");
  // The figure leans as much as was seen, and the most upright one less.
  const double seen = found["figures"]["seen"]["trunk_deg"];
  EXPECT_NEAR(seen, found["explanation"]["observed_trunk_inclination_deg"]["value"], 0.5);
  EXPECT_LT(found["figures"]["upright"]["trunk_deg"], seen);
  // The word of the practitioner is not remembered with the numbers.
  const Json none = {{"overrulings", Json::array()}};
  expect_json(client_.put("/api/v1/visits/" + visit_ + "/overrulings", none.dump(), if_version(1)),
              200);
  const Json again = expect_json(
      client_.get("/api/v1/visits/" + visit_ + "/findings?draws=" + std::to_string(kDraws)), 200);
  for (const Json& finding : again["findings"]) {
    EXPECT_NE(finding["status"], "overruled") << finding["id"];
  }
  EXPECT_EQ(client_.get("/api/v1/visits/" + visit_ + "/findings?assessment=" + visit_).status, 404);
}

TEST_F(VisitPath, AQuestionStartsFromWhatTheFindingsStartFrom) {
  enter_example();
  std::ifstream file(tested_athlete());
  const Json tested = Json::parse(file);
  const auto question_of = [&](const std::string& visit) {
    return expect_json(client_.get("/api/v1/visits/" + visit + "/question"), 200);
  };
  Json now = question_of(visit_);
  EXPECT_EQ(difference(now["question"]["athlete"], tested), "");
  EXPECT_TRUE(now["seen"].is_null() && !now["question"].contains("observed_deg"));
  const std::string trial = add_measured_clip();
  now = question_of(visit_);
  EXPECT_EQ(now["seen"], "clip");
  EXPECT_EQ(now["trial"], trial);
  const Json seen = expect_json(client_.get("/api/v1/visits/" + visit_ + "/findings?draws=100"),
                                200)["explanation"]["observed_trunk_inclination_deg"];
  EXPECT_NEAR(now["question"]["observed_deg"], seen["value"], 1e-4);
  EXPECT_NEAR(now["question"]["observed_error_deg"], seen["standard_error"], 1e-4);

  // A visit later on, before anything is tested or filmed: what was tested before still counts.
  const std::string later = add_visit(athlete_, "2026-10-05")["id"];
  Json next = question_of(later);
  EXPECT_EQ(difference(next["question"]["athlete"], tested), "");
  EXPECT_TRUE(next["seen"].is_null() && next["trial"].is_null());
  Json ask = next["question"];
  ask["changes"] = {{{"lever", "heel"}, {"to", 1.0}, {"unit", "cm"}}};
  const Json answer = expect_json(client_.post("/api/v1/questions/what-if", ask.dump()), 200);
  const auto is_ankle = [](const Json& part) { return part["limit"] == "ankle_dorsiflexion"; };
  const auto ankle = std::ranges::find_if(answer["error_parts"], is_ankle);
  ASSERT_NE(ankle, answer["error_parts"].end()) << answer["error_parts"].dump();
  EXPECT_EQ((*ankle)["source"], "test");
}

TEST_F(VisitPath, TheModelsAnswersAreThoseOfTheCommandLine) {
  const Json athlete = Json::parse([&] {
    std::ifstream file(tested_athlete());
    return Json::parse(file).dump();
  }());
  app::PostureRequest request;
  request.athlete = folder_.path() / "tested.json";
  request.draws = kDraws;
  const Json ask = {{"athlete", athlete}, {"draws", kDraws}};
  EXPECT_EQ(
      difference(expect_json(client_.post("/api/v1/questions/what-if/table", ask.dump()), 200),
                 Json::parse(value_of(app::what_if_athlete(request, {})).json)),
      "");
  const Json grip = {{"athlete", athlete}};
  EXPECT_EQ(difference(expect_json(client_.post("/api/v1/questions/grip", grip.dump()), 200),
                       Json::parse(value_of(app::grip_for_athlete(request, {})).json)),
            "");
  Json seen = ask;
  seen["observed_deg"] = 48;
  request.seen.trunk_inclination = Angle::degrees(48);
  const Json first = expect_json(client_.post("/api/v1/questions/explanation", seen.dump()), 200);
  EXPECT_EQ(difference(without(first, {"figures", "best_change"}),
                       Json::parse(value_of(app::explain_athlete(request, {})).json)),
            "");
  // The second time it is remembered, word for word.
  EXPECT_EQ(expect_json(client_.post("/api/v1/questions/explanation", seen.dump()), 200), first);
}

TEST_F(VisitPath, ThePlanIsThatOfTheCommandLineAndBringsItsPages) {
  enter_example();
  const Json wish = {{"minutes", 20},  {"sessions", 4},
                     {"weeks", 8},     {"from", "2026-09-07"},
                     {"goal_deg", 30}, {"equipment", {"ball", "wedge", "pipe"}}};
  const HttpReply made = client_.post("/api/v1/visits/" + visit_ + "/plan", wish.dump());
  const Json record = expect_json(made, 201);
  EXPECT_EQ(made.header("location"), "/api/v1/plans/" + record["id"].get<std::string>());
  app::PlanRequest request;
  request.athlete = example_file("athlete.json");
  request.tests = example_file("tests.json");
  request.minutes = 20;
  request.sessions = 4;
  request.weeks = 8;
  request.goal = Angle::degrees(30);
  request.equipment = {"ball", "wedge", "pipe"};
  request.from = "2026-09-07";
  const auto expected = value_of(app::plan_for_athlete(request, {}));
  EXPECT_EQ(difference(record["document"]["plan"], Json::parse(expected.json)), "");
  EXPECT_GE(record["cautions"].size(), 6u);

  const std::string files = "/api/v1/plans/" + record["id"].get<std::string>() + "/files/";
  std::vector<std::string> names;
  for (const Json& file : record["document"]["files"]) {
    names.push_back(file["name"]);
    const HttpReply reply = client_.get(files + names.back());
    EXPECT_EQ(reply.status, 200) << names.back();
    EXPECT_EQ(reply.header("content-type").find(file["media_type"].get<std::string>()), 0u);
    if (file["media_type"] == "application/pdf") {
      EXPECT_THAT(reply.body, StartsWith("%PDF-"));
    }
    if (file["media_type"] == "text/calendar") {
      EXPECT_THAT(reply.body, StartsWith("BEGIN:VCALENDAR\r\n"));
    }
  }
  EXPECT_THAT(names, ::testing::IsSupersetOf(
                         {"handout.pdf", "record.pdf", "letter.pdf", "plan.json", "retests.ics"}));
  EXPECT_EQ(client_.get(files + "passwd").status, 404);
  EXPECT_EQ(client_.get(files + "..%2F..%2Fpasswd").status, 400);
  const HttpReply calendar = client_.get("/api/v1/athletes/" + athlete_ + "/calendar.ics");
  EXPECT_THAT(calendar.body, StartsWith("BEGIN:VCALENDAR\r\n"));
  EXPECT_THAT(calendar.body, HasSubstr("RE-TEST"));
  // The caseload knows what is due.
  const Json row = expect_json(client_.get("/api/v1/athletes"), 200)["items"][0];
  EXPECT_EQ(row["due_what"], "retest");
}

TEST_F(VisitPath, ProgressIsThatOfTheCommandLine) {
  // The history of the example, as visits and days of a log.
  const Json history = example("history.json");
  athlete_ = add_athlete()["id"];
  std::map<std::string, Json> by_day;
  for (Json test : history["tests"]) {
    const std::string date = test["date"];
    test.erase("date");
    by_day[date].push_back(test);
  }
  for (const auto& [date, results] : by_day) {
    const std::string visit = add_visit(athlete_, date)["id"];
    put_first("/api/v1/visits/" + visit + "/tests", {{"results", results}});
    if (visit_.empty()) visit_ = visit;
  }
  const std::string log = "/api/v1/athletes/" + athlete_ + "/log";
  for (const Json& session : history["sessions"]) {
    // Drill by drill, as somebody ticks them off.
    for (const Json& drill : session["drills"]) {
      const HttpReply reply = client_.post(
          log, Json{{"date", session["date"]}, {"drills", Json::array({drill})}}.dump());
      EXPECT_EQ(reply.status, drill == session["drills"][0] ? 201 : 200) << reply.body;
    }
  }
  expect_json(client_.post(log, Json{{"date", "2026-10-04"},
                                     {"drills", Json::array()},
                                     {"best_lifts", history["best_lifts"]}}
                                    .dump()),
              201);
  const Json plan =
      expect_json(client_.post("/api/v1/visits/" + visit_ + "/plan",
                               R"({"from":"2026-09-07","weeks":8,"equipment":["ball","bench"]})"),
                  201)["document"]["plan"];
  app::ProgressRequest request;
  request.plan_or_athlete = write("plan.json", plan.dump());
  request.athlete = example_file("athlete.json");
  request.history = example_file("history.json");
  request.date = "2026-10-05";
  const Json expected = Json::parse(value_of(app::report_progress(request)).json);
  const Json progress = expect_json(client_.get("/api/v1/athletes/" + athlete_ + "/progress"), 200);
  EXPECT_EQ(difference(progress, expected), "");
  EXPECT_EQ(expect_json(client_.get(log + "?limit=500"), 200)["items"].size(),
            history["sessions"].size() + 1);
  EXPECT_EQ(client_.get("/api/v1/athletes/" + athlete_ + "/progress?date=soon").status, 422);
}

TEST_F(VisitPath, TheVisitGoesOutAsFhir) {
  enter_example();
  add_measured_clip();
  const HttpReply reply = client_.get("/api/v1/athletes/" + athlete_ + "/fhir?visit=" + visit_);
  EXPECT_EQ(reply.header("content-type").find("application/fhir+json"), 0u);
  const Json bundle = expect_json(reply, 200);
  EXPECT_EQ(bundle["resourceType"], "Bundle");
  std::map<std::string, int> kinds;
  for (const Json& entry : bundle["entry"]) ++kinds[entry["resource"]["resourceType"]];
  EXPECT_EQ(kinds["Patient"], 1);
  EXPECT_GT(kinds["Observation"], 15);
  EXPECT_EQ(client_.get("/api/v1/athletes/" + athlete_ + "/fhir").body, reply.body);
  EXPECT_EQ(server_.as(Role::Reviewer).get("/api/v1/athletes/" + athlete_ + "/fhir").status, 403);
}

}  // namespace
}  // namespace lintel::test
