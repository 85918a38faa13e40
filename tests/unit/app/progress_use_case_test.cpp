#include "app/progress_use_case.h"

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "formats/athlete_json.h"
#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/plan_json.h"
#include "formats/protocol_json.h"
#include "support/reasoning_athletes.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

const Date kStart = Date::parse("2026-09-07").value();

plan::PlannedDrill planned(const std::string& id) {
  const plan::Drill& drill = *plan::find_drill(formats::built_in_drills(), id);
  plan::PlannedDrill out;
  out.id = drill.id;
  out.name = drill.name;
  out.part = drill.targets.front().part;
  out.dose = drill.doses.front();
  out.step_name = drill.ladder.front().name;
  out.step_how = drill.ladder.front().how;
  out.move_on = drill.ladder.front().move_on;
  out.loaded = drill.loaded || drill.ladder.front().loaded;
  out.reason = "test";
  out.cues = drill.cues;
  out.cautions = drill.cautions;
  out.source = drill.source;
  return out;
}

plan::DrillDone done(const std::string& id, double effort) {
  const plan::Drill& drill = *plan::find_drill(formats::built_in_drills(), id);
  plan::DrillDone out;
  out.drill = id;
  out.sets = drill.doses.front().sets;
  out.repetitions = drill.doses.front().repetitions;
  out.hold = drill.doses.front().hold;
  out.effort = effort;
  out.pain_during = 0;
  out.pain_next_morning = 0;
  return out;
}

class ProgressUseCase : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("lintel-progress-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
    athlete_ = test::ordinary_athlete();
    athlete_.id = "sk-017";
    plan_.athlete_id = "sk-017";
    plan_.athlete_name = "Brisa Holm";
    plan_.from = kStart;
    plan_.drills = {planned("slow-heel-drop")};
    plan::PlannedRetest retest;
    retest.test = "knee_to_wall_distance";
    retest.label = "Knee to wall";
    retest.date = kStart + 42;
    retest.is_length = true;
    retest.expected_gain = 0.02;
    retest.detectable_change = 0.016;
    retest.reason = "test";
    plan_.retests = {retest};
    history_.athlete = "sk-017";
    for (const int day : {0, 2, 4}) {
      history_.sessions.push_back({kStart + day, {done("slow-heel-drop", 5)}});
    }
    for (const auto& [day, value] : {std::pair(0, 0.06), {42, 0.085}}) {
      history_.tests.push_back({kStart + day,
                                "knee_to_wall_distance",
                                body::TestSide::Left,
                                body::ProtocolUnit::Centimetres,
                                {value, value, value}});
    }
    history_.best_lifts = {{kStart, plan::Lift::Snatch, 60}};
    request_.date = (kStart + 5).iso();
  }
  void TearDown() override { fs::remove_all(folder_); }

  fs::path write(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
    return folder_ / name;
  }
  Result<ProgressOutcome> run() {
    if (request_.plan_or_athlete.empty()) {
      request_.plan_or_athlete = write("plan.json", formats::write_plan_json(plan_));
    }
    request_.history =
        write("history.json", formats::write_history_json(history_, formats::built_in_protocols()));
    return report_progress(request_);
  }

  fs::path folder_;
  body::Athlete athlete_;
  plan::Plan plan_;
  plan::History history_;
  ProgressRequest request_;
};

TEST_F(ProgressUseCase, TellsTestsDrillsLoadsAndCautions) {
  request_.date = (kStart + 43).iso();
  for (const int day : {38, 40, 42}) {
    history_.sessions.push_back({kStart + day, {done("slow-heel-drop", 5)}});
  }
  const auto outcome = run();
  ASSERT_TRUE(outcome) << outcome.error();
  EXPECT_THAT(outcome->text, HasSubstr("Brisa Holm, 2026-10-20"));
  EXPECT_THAT(outcome->text, HasSubstr("+2.5 cm: better"));
  EXPECT_THAT(outcome->text, HasSubstr("MOVE ON"));
  EXPECT_THAT(outcome->text, HasSubstr("best snatch"));
  EXPECT_THAT(outcome->text, HasSubstr("does not diagnose"));
  const json j = json::parse(outcome->json);
  EXPECT_EQ(j["tests"][0]["verdict"], "improved");
  EXPECT_EQ(j["tests"][0]["goal_date"], plan_.last_day().iso());
  EXPECT_EQ(j["drills"][0]["next_step"], 2);
  EXPECT_TRUE(j["loads"]["allowed"].get<bool>());
}

TEST_F(ProgressUseCase, TakesTheTestersOwnErrorInPlaceOfThePublishedOne) {
  request_.date = (kStart + 43).iso();
  const json published = json::parse(run()->json);
  history_.standard_errors = {{"knee_to_wall_distance", {0.015, 3, 0.5, "own repeats"}}};
  const json own = json::parse(run()->json);
  EXPECT_EQ(published["tests"][0]["verdict"], "improved");
  EXPECT_EQ(own["tests"][0]["verdict"], "no_detectable_change");
}

TEST_F(ProgressUseCase, TheAthleteBesideThePlanGivesTheTarget) {
  EXPECT_TRUE(json::parse(run()->json)["tests"][0]["target_cm"].is_null());
  request_.athlete = write("athlete.json", formats::write_athlete_json(athlete_));
  EXPECT_NEAR(json::parse(run()->json)["tests"][0]["target_cm"].get<double>(), 8.3, 1.0);
}

TEST_F(ProgressUseCase, WorksFromAnAthleteWithoutAPlan) {
  request_.plan_or_athlete = write("athlete.json", formats::write_athlete_json(athlete_));
  const auto outcome = run();
  ASSERT_TRUE(outcome) << outcome.error();
  const json j = json::parse(outcome->json);
  EXPECT_EQ(j["drills"][0]["decision"], "move_on");
  EXPECT_TRUE(j["tests"][0]["goal_date"].is_null());
}

TEST_F(ProgressUseCase, NoWarningSignLetsALoadedDrillOrALoadPass) {
  for (const plan::Drill& drill : formats::built_in_drills()) {
    if (!drill.loaded) continue;
    history_.sessions.push_back({kStart + 5, {done(drill.id, 5)}});
  }
  for (int i = 0; i <= static_cast<int>(body::WarningSign::BladderOrBowelChange); ++i) {
    athlete_.warning_signs = {static_cast<body::WarningSign>(i)};
    request_.plan_or_athlete = write("athlete.json", formats::write_athlete_json(athlete_));
    const auto outcome = run();
    ASSERT_TRUE(outcome) << outcome.error();
    EXPECT_THAT(outcome->text, Not(HasSubstr(" kg")));
    EXPECT_THAT(outcome->text, HasSubstr("Warning sign on record"));
    const json j = json::parse(outcome->json);
    EXPECT_TRUE(j["loads"]["weeks"].empty());
    int loaded = 0;
    for (const json& d : j["drills"]) {
      const plan::Drill& drill =
          *plan::find_drill(formats::built_in_drills(), d["drill"].get<std::string>());
      if (!drill.loaded) continue;
      ++loaded;
      EXPECT_EQ(d["decision"], "refer") << drill.id;
      EXPECT_TRUE(d["next_step"].is_null()) << drill.id;
    }
    EXPECT_GT(loaded, 0);
  }
}

TEST_F(ProgressUseCase, TheFirstLoadedStepOfALadderIsAnnounced) {
  plan_.drills = {planned("drop-in-practice")};  // its third step is the first with a bar
  history_.sessions.clear();
  for (const int day : {0, 2, 4}) {
    plan::DrillDone second = done("drop-in-practice", 4);
    second.step = 1;
    history_.sessions.push_back({kStart + day, {second}});
  }
  const auto outcome = run();
  ASSERT_TRUE(outcome) << outcome.error();
  const json j = json::parse(outcome->json);
  EXPECT_EQ(j["drills"][0]["decision"], "move_on");
  EXPECT_EQ(j["watch"][0]["watch"], "ready_to_load");
}

TEST_F(ProgressUseCase, FaultsNameTheFileAndWhatToDo) {
  request_.date = "20.10.2026";
  EXPECT_EQ(run().error().place.field, "date");
  request_.date = kStart.iso();
  history_.athlete = "sk-018";
  EXPECT_EQ(run().error().code, ErrorCode::Conflict);
  EXPECT_THAT(describe(run().error()), HasSubstr("history.json"));
  history_.athlete = "sk-017";
  request_.athlete = write("other.json", [&] {
    body::Athlete other = athlete_;
    other.id = "sk-018";
    return formats::write_athlete_json(other);
  }());
  EXPECT_EQ(run().error().code, ErrorCode::Conflict);
  request_.athlete.reset();
  request_.plan_or_athlete = write("x.json", R"({"schema": "lintel-tests-1"})");
  EXPECT_EQ(run().error().place.field, "schema");
  request_.plan_or_athlete = folder_ / "nothing.json";
  EXPECT_EQ(run().error().code, ErrorCode::NotFound);
  request_.plan_or_athlete = write("broken.json", "{\n\"schema\": \n");
  EXPECT_THAT(describe(run().error()), HasSubstr("broken.json"));
}

}  // namespace
}  // namespace lintel::app
