// `lintel plan` as a user runs it; a warning sign in every output format.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "e2e/program.h"

namespace lintel::test {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

class PlanCli : public Cli {
 protected:
  // Invented: an ankle that is short of range, nothing else.
  void write_athlete(const std::string& name, const std::vector<std::string>& signs) const {
    json athlete = {{"schema", "lintel-athlete-1"},
                    {"id", "sk-07"},
                    {"name", "Runa Vestergaard-Ilk"},
                    {"sex", "female"},
                    {"body", {{"stature_cm", 168}, {"mass_kg", 66}}},
                    {"setup", {{"stance_width_cm", 32}, {"toe_out_deg", 15}, {"depth_cm", 3}}},
                    {"tests",
                     {{"knee_to_wall_left_cm", 6},
                      {"knee_to_wall_right_cm", 7},
                      {"hip_flexion_left_deg", 125},
                      {"hip_flexion_right_deg", 125},
                      {"arm_to_wall_turned_in_left_deg", 0},
                      {"arm_to_wall_turned_in_right_deg", 0},
                      {"arm_to_wall_turned_out_left_deg", 0},
                      {"arm_to_wall_turned_out_right_deg", 0}}},
                    {"warning_signs", signs}};
    std::ofstream(folder_ / name) << athlete.dump(1);
  }
  // Everything that the program puts out for this athlete, one text each.
  std::vector<std::pair<std::string, std::string>> all_outputs(const std::string& athlete,
                                                               const std::string& out) const {
    const std::string arguments =
        "plan " + athlete +
        " --trunk-deg 48 --equipment kettlebell --sessions 3 --from 2026-11-30 --quiet "
        "--draws 500";
    std::vector<std::pair<std::string, std::string>> texts;
    const Execution text = run(arguments + " --out " + out + " --paper letter");
    EXPECT_EQ(text.status, 0) << text.errors;
    texts.emplace_back("text", text.output);
    const Execution as_json = run(arguments + " --json");
    EXPECT_EQ(as_json.status, 0) << as_json.errors;
    texts.emplace_back("json", as_json.output);
    texts.emplace_back("plan.json", read(folder_ / out / "plan.json"));
    texts.emplace_back("plan.txt", read(folder_ / out / "plan.txt"));
    for (const char* page : {"handout", "record", "letter"}) {
      const std::string file = std::string(page) + ".pdf";
      texts.emplace_back(file, words_of_pdf(fs::path(out) / file));
    }
    for (const auto& [name, words] : texts) EXPECT_GT(words.size(), 300u) << name;
    return texts;
  }
};

// Names and ids of every loaded drill of the library.
std::vector<std::string> loaded_words(const std::string& list) {
  std::vector<std::string> words;
  const json library = json::parse(list);
  for (const json& drill : library["drills"]) {
    if (!drill["loaded"].get<bool>()) continue;
    words.push_back(drill["name"]);
    words.push_back(drill["id"]);
  }
  return words;
}

TEST_F(PlanCli, AWarningSignKeepsLoadedDrillsOutOfEveryOutput) {
  const std::vector<std::string> loaded = loaded_words(run("plan drills --json").output);
  ASSERT_GE(loaded.size(), 8u);
  write_athlete("well.json", {});
  int named = 0;
  for (const auto& [name, words] : all_outputs("well.json", "well")) {
    named += words.find("Loaded ankle hold") != std::string::npos ? 1 : 0;
  }
  EXPECT_GE(named, 5);  // without a sign it is there: in text, JSON, files, handout, record
  write_athlete("pain.json", {"pain"});
  for (const auto& [name, words] : all_outputs("pain.json", "pain")) {
    for (const std::string& word : loaded) EXPECT_THAT(words, Not(HasSubstr(word))) << name;
    EXPECT_THAT(words, HasSubstr("physiotherapist")) << name;  // whom to see
  }
}

TEST_F(PlanCli, ARedFlagLeavesNoDrillInAnyOutputAndSaysWhomToSee) {
  const json list = json::parse(run("plan drills --json").output);
  write_athlete("flag.json", {"bladder_or_bowel_change"});
  for (const auto& [name, words] : all_outputs("flag.json", "flag")) {
    for (const json& drill : list["drills"]) {
      EXPECT_THAT(words, Not(HasSubstr(drill["name"].get<std::string>()))) << name;
    }
    EXPECT_THAT(words, HasSubstr("emergency department")) << name;
  }
}

TEST_F(PlanCli, TheLetterSaysWhomItIsForAndWhatIsAsked) {
  write_athlete("a.json", {});
  const Execution made =
      run("plan a.json --trunk-deg 48 --from 2026-11-30 --quiet --draws 300 --out plan "
          "--practitioner 'Runa Feldvik' --letter-to 'Dr. Oda Lyng;Quay Street 4' "
          "--letter-reason 'Snatch with a stiff ankle.' --letter-request 'Please see the ankle.'");
  ASSERT_EQ(made.status, 0) << made.errors;
  const std::string letter = words_of_pdf("plan/letter.pdf");
  for (const char* words : {"Runa Feldvik", "Dr. Oda Lyng", "Quay Street 4",
                            "Snatch with a stiff ankle.", "Please see the ankle."}) {
    EXPECT_THAT(letter, HasSubstr(words));
  }
  // The record shows the tests that the athlete's file carries.
  EXPECT_THAT(words_of_pdf("plan/record.pdf"), HasSubstr("Knee to wall, distance left 6.0"));
}

TEST_F(PlanCli, SaysWhatIsWrongWithTheArguments) {
  write_athlete("a.json", {});
  Execution e = run("plan a.json --equipment kettlebel --quiet");
  EXPECT_EQ(e.status, 3);
  EXPECT_THAT(e.errors, HasSubstr("did you mean \"kettlebell\""));
  e = run("plan a.json --goal-date 2026-11-31 --from 2026-11-01 --quiet");
  EXPECT_THAT(e.errors, HasSubstr("goal_date"));
  e = run("plan a.json --goal-date 2026-11-02 --from 2026-11-01 --quiet");
  EXPECT_THAT(e.errors, HasSubstr("1 to 52 weeks"));
  e = run("plan drill tempo-sqat");
  EXPECT_THAT(e.errors, HasSubstr("did you mean \"tempo-squat\""));
  EXPECT_EQ(run("plan").status, 64);
}

TEST_F(PlanCli, ReplacesAFolderOfItsOwnOnlyWhenAskedAndNoOther) {
  write_athlete("flag.json", {"fever"});
  const std::string command = "plan flag.json --from 2026-11-30 --quiet --out out";
  EXPECT_EQ(run(command).status, 0);
  EXPECT_NE(run(command).status, 0);
  EXPECT_EQ(run(command + " --overwrite").status, 0);
  fs::create_directories(folder_ / "mine");
  std::ofstream(folder_ / "mine" / "notes.txt") << "keep";
  EXPECT_NE(run("plan flag.json --from 2026-11-30 --quiet --out mine --overwrite").status, 0);
  EXPECT_EQ(read(folder_ / "mine" / "notes.txt"), "keep");
}

// The ankle of the log hardly answers to eight weeks of work: less is expected of the next ones,
// and the drill goes on where the athlete stands.
TEST_F(PlanCli, ReadsFromTheLogHowTheAthleteAnswersAndWhereTheLadderStands) {
  write_athlete("a.json", {});
  const auto write_history = [this](const std::string& name, const std::string& athlete,
                                    double last_cm) {
    json history = {{"schema", "lintel-history-1"}, {"athlete", athlete}};
    history["sessions"] = json::array(
        {{{"date", "2026-11-20"},
          {"drills",
           json::array({{{"drill", "knee-to-wall-mobilisation"}, {"step", 2}, {"sets", 2}}})}}});
    history["tests"] = json::array();
    for (const char* side : {"left", "right"}) {
      history["tests"].push_back({{"date", "2026-09-28"},
                                  {"protocol", "knee_to_wall_distance"},
                                  {"side", side},
                                  {"tries_cm", {6.0, 6.0, 6.0}}});
      history["tests"].push_back({{"date", "2026-11-23"},
                                  {"protocol", "knee_to_wall_distance"},
                                  {"side", side},
                                  {"tries_cm", {last_cm, last_cm, last_cm}}});
    }
    std::ofstream(folder_ / name) << history.dump(1);
  };
  write_history("slow.json", "sk-07", 6.1);
  write_history("quick.json", "sk-07", 11.5);
  write_history("other.json", "sk-08", 11.5);
  const std::string command =
      "plan a.json --trunk-deg 48 --sessions 3 --minutes 30 --from 2026-11-30 --quiet --draws 500 "
      "--json";
  const auto ankle_gain = [this](const std::string& arguments) {
    const Execution e = run(arguments);
    EXPECT_EQ(e.status, 0) << e.errors;
    const json plan = json::parse(e.output);
    for (const json& goal : plan["goals"]) {
      if (goal["code"] == "ankle") {
        return goal["target_deg"].get<double>() - goal["from_deg"].get<double>();
      }
    }
    return 0.0;
  };
  const double usual = ankle_gain(command);
  EXPECT_GT(usual, 1.0);
  EXPECT_LT(ankle_gain(command + " --history slow.json"), usual);
  EXPECT_GT(ankle_gain(command + " --history quick.json"), usual);
  const json plan = json::parse(run(command + " --history slow.json").output);
  for (const json& drill : plan["drills"]) {
    EXPECT_TRUE(drill["id"] != "knee-to-wall-mobilisation" || drill["step"] == 2);
  }
  const Execution other = run(command + " --history other.json");
  EXPECT_NE(other.status, 0);
  EXPECT_THAT(other.errors, HasSubstr("give the file of this athlete"));
}

TEST_F(PlanCli, ShowsADrillWithItsDrawing) {
  const Execution e = run("plan drill seated-half-unloaded-hold --svg hold.svg");
  EXPECT_EQ(e.status, 0) << e.errors;
  EXPECT_THAT(e.output, HasSubstr("about half of the weight is left on the surface"));
  EXPECT_THAT(e.output, HasSubstr("does not diagnose"));
  EXPECT_THAT(read(folder_ / "hold.svg"), HasSubstr("<svg"));
}

}  // namespace
}  // namespace lintel::test
