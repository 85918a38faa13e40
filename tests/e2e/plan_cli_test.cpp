// `lintel plan` as a user runs it; a warning sign in every output format.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

namespace lintel::test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

struct Execution {
  int status = -1;
  std::string output;
  std::string errors;
};

class PlanCli : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "lintel-plan-XXXXXX").string();
    ASSERT_NE(mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
  }
  void TearDown() override { fs::remove_all(folder_); }

  static std::string read(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  Execution shell(const std::string& command) const {
    const fs::path errors = folder_ / "stderr.txt", output = folder_ / "stdout.txt";
    const int status = std::system(("cd '" + folder_.string() + "' && " + command + " >'" +
                                    output.string() + "' 2>'" + errors.string() + "' </dev/null")
                                       .c_str());  // NOLINT: the test's own fixed strings
    return {WIFEXITED(status) ? WEXITSTATUS(status) : 128, read(output), read(errors)};
  }
  Execution run(const std::string& arguments) const {
    return shell("'" LINTEL_PROGRAM "' " + arguments);
  }
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
      const Execution pdf = shell("pdftotext -raw " + out + "/" + page + ".pdf -");
      EXPECT_EQ(pdf.status, 0) << pdf.errors;
      std::string words = pdf.output;
      std::replace(words.begin(), words.end(), '\n', ' ');  // names may break at line ends
      texts.emplace_back(std::string(page) + ".pdf", words);
    }
    for (const auto& [name, words] : texts) EXPECT_GT(words.size(), 300u) << name;
    return texts;
  }

  fs::path folder_;
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
