// `lintel tests reliability` and `lintel progress` as a user runs them.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "base/cautions.h"
#include "e2e/program.h"

namespace lintel::test {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

constexpr const char* kAthlete =
    R"({"schema": "lintel-athlete-1", "id": "sk-017", "name": "Brisa Holm", "sex": "female",
        "body": {"stature_cm": 170, "mass_kg": 62},
        "tests": {"knee_to_wall_left_cm": 6, "knee_to_wall_right_cm": 7}})";

// Three good sessions of each drill of the plan, and the ankle tested twice.
std::string history_for(const json& plan) {
  json history = {{"schema", "lintel-history-1"}, {"athlete", "sk-017"}};
  for (const char* date : {"2026-09-07", "2026-09-09", "2026-09-11"}) {
    json drills = json::array();
    for (const json& drill : plan["drills"]) {
      drills.push_back({{"drill", drill["id"]},
                        {"step", drill["step"]},
                        {"sets", drill["dose"]["sets"]},
                        {"repetitions", drill["dose"]["repetitions"]},
                        {"hold_s", drill["dose"]["hold_s"]},
                        {"effort", 5},
                        {"pain_during", 0},
                        {"pain_next_morning", 0}});
    }
    history["sessions"].push_back({{"date", date}, {"drills", drills}});
  }
  history["tests"] = {{{"date", "2026-09-07"},
                       {"protocol", "knee_to_wall_distance"},
                       {"side", "left"},
                       {"tries_cm", {6, 6, 6.5}}}};
  return history.dump();
}

TEST_F(Cli, ProgressFollowsThePlanThatTheProgramMade) {
  write("athlete.json", kAthlete);
  const Execution plan =
      run("plan athlete.json --trunk-deg 48 --equipment pipe,box,wedge,roller --from 2026-09-07 "
          "--draws 300 --json --quiet");
  ASSERT_EQ(plan.status, 0) << plan.errors;
  write("plan.json", plan.output);
  write("history.json", history_for(json::parse(plan.output)));
  const std::string arguments =
      "progress plan.json history.json --athlete athlete.json --date "
      "2026-09-12";
  const Execution text = run(arguments), as_json = run(arguments + " --json");
  ASSERT_EQ(text.status, 0) << text.errors;
  ASSERT_EQ(as_json.status, 0) << as_json.errors;
  EXPECT_THAT(text.output, HasSubstr(cautions_text().substr(0, 20)));
  const json document = json::parse(as_json.output);
  EXPECT_EQ(document["cautions"].size(), cautions().size());
  ASSERT_EQ(document["drills"].size(), json::parse(plan.output)["drills"].size());
  int moves = 0;
  for (const json& drill : document["drills"]) {
    EXPECT_THAT(text.output, HasSubstr(drill["name"].get<std::string>()));
    moves += drill["decision"] == "move_on" ? 1 : 0;
    EXPECT_NE(drill["decision"], "refer");
    EXPECT_NE(drill["decision"], "go_back");
  }
  EXPECT_GT(moves, 0);
}

TEST_F(Cli, ProgressGoesIntoTheRecordAsWell) {
  write("athlete.json", kAthlete);
  const Execution plan =
      run("plan athlete.json --trunk-deg 48 --equipment pipe,box,wedge,roller --from 2026-09-07 "
          "--draws 300 --json --quiet");
  ASSERT_EQ(plan.status, 0) << plan.errors;
  write("plan.json", plan.output);
  json history = json::parse(history_for(json::parse(plan.output)));
  history["tests"].push_back({{"date", "2026-10-19"},
                              {"protocol", "knee_to_wall_distance"},
                              {"side", "left"},
                              {"tries_cm", {9, 9, 9.5}}});
  write("history.json", history.dump());
  const std::string command = "progress plan.json history.json --date 2026-10-20 --record r.pdf";
  EXPECT_THAT(run(command).errors, HasSubstr("--athlete"));
  const Execution made = run(command + " --athlete athlete.json");
  ASSERT_EQ(made.status, 0) << made.errors;
  const std::string words = words_of_pdf("r.pdf");
  for (const char* expected : {"Brisa Holm", "Follow-up, 20 October 2026",
                               "Knee to wall, distance left", "better", "licensed clinician"}) {
    EXPECT_THAT(words, HasSubstr(expected));
  }
  EXPECT_NE(run(command + " --athlete athlete.json").status, 0);  // the file stays
  EXPECT_EQ(run(command + " --athlete athlete.json --overwrite --paper letter").status, 0);
}

TEST_F(Cli, ProgressSaysWhatIsWrongWithALog) {
  write("athlete.json", kAthlete);
  write("history.json",
        "{\"schema\": \"lintel-history-1\",\n \"athlete\": \"sk-017\",\n \"sesions\": []}");
  const Execution result = run("progress athlete.json history.json");
  EXPECT_NE(result.status, 0);
  EXPECT_THAT(result.errors, HasSubstr("history.json"));
  EXPECT_THAT(result.errors, HasSubstr("did you mean \"sessions\"?"));
  EXPECT_EQ(run("progress athlete.json").status, 64);
  EXPECT_NE(run("progress athlete.json nothing.json").status, 0);
}

TEST_F(Cli, ReliabilityOfATableIsPrintedAndGivenAsJson) {
  const std::string table =
      " '" LINTEL_SOURCE_DIR "/tests/data/reliability/shrout-fleiss-1979-ratings.csv'";
  const Execution text = run("tests reliability" + table);
  ASSERT_EQ(text.status, 0) << text.errors;
  // Shrout & Fleiss 1979, table 4.
  for (const char* printed : {"0.166", "0.290", "0.715", "0.443", "0.620", "0.909"}) {
    EXPECT_THAT(text.output, HasSubstr(printed));
  }
  const Execution as_json = run("tests reliability --json" + table);
  ASSERT_EQ(as_json.status, 0);
  EXPECT_NEAR(json::parse(as_json.output)["icc"]["icc_3_k"]["value"].get<double>(),
              0.909315542377069, 1e-9);
  write("one.csv", "id,a\n1,2\n2,3\n");
  const Execution one = run("tests reliability one.csv");
  EXPECT_NE(one.status, 0);
  EXPECT_THAT(one.errors, HasSubstr("only one column"));
  EXPECT_EQ(run("tests reliability one.csv --protocol x --published 2").status, 64);
}

}  // namespace
}  // namespace lintel::test
