// Files for other programs as a user makes them: calendars of a plan, a visit as a FHIR bundle.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "e2e/program.h"
#include "support/c3d_writer.h"

namespace lintel::test {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

class ExchangeCli : public Cli {
 protected:
  // Invented: an ankle that is short of range, nothing else.
  void write_athlete(const std::string& name, const std::string& id,
                     const std::vector<std::string>& signs) const {
    const json athlete = {{"schema", "lintel-athlete-1"},
                          {"id", id},
                          {"name", "Runa Vestergaard-Ilk"},
                          {"sex", "female"},
                          {"body", {{"stature_cm", 168}, {"mass_kg", 66}}},
                          {"setup", {{"stance_width_cm", 32}, {"toe_out_deg", 15}}},
                          {"tests",
                           {{"knee_to_wall_left_cm", 6},
                            {"knee_to_wall_right_cm", 7},
                            {"hip_flexion_left_deg", 125},
                            {"hip_flexion_right_deg", 125}}},
                          {"warning_signs", signs}};
    write(name, athlete.dump(1));
  }
  void write_tests() const {
    write("tests.json", R"({"schema": "lintel-tests-1", "athlete": "sk-07", "date": "2026-11-24",
      "results": [{"protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [6, 6.5, 7]}]})");
  }
  Execution plan(const std::string& athlete, const std::string& out) const {
    return run("plan " + athlete + " --trunk-deg 48 --from 2026-11-30 --quiet --draws 300 " +
               "--equipment kettlebell --out " + out);
  }
};

TEST_F(ExchangeCli, APlanComesWithItsCalendars) {
  write_athlete("a.json", "sk-07", {});
  ASSERT_EQ(plan("a.json", "plan").status, 0);
  const json made = json::parse(read(folder_ / "plan/plan.json"));
  const std::string retests = read(folder_ / "plan/retests.ics");
  EXPECT_EQ(retests.rfind("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n", 0), 0u);
  ASSERT_FALSE(made["retests"].empty());
  for (const json& retest : made["retests"]) {
    std::string day = retest["date"];
    std::erase(day, '-');
    EXPECT_THAT(retests, HasSubstr("\r\nDTSTART;VALUE=DATE:" + day + "\r\n"));
  }
  EXPECT_THAT(read(folder_ / "plan/sessions.ics"), HasSubstr("DTSTART;VALUE=DATE:20261130\r\n"));
}

TEST_F(ExchangeCli, ARedFlagLeavesNoCalendar) {
  write_athlete("flag.json", "sk-07", {"bladder_or_bowel_change"});
  ASSERT_EQ(plan("flag.json", "plan").status, 0);
  EXPECT_TRUE(fs::exists(folder_ / "plan/plan.json"));
  EXPECT_FALSE(fs::exists(folder_ / "plan/retests.ics"));
  EXPECT_FALSE(fs::exists(folder_ / "plan/sessions.ics"));
}

TEST_F(ExchangeCli, AVisitBecomesABundle) {
  write_athlete("a.json", "sk-07", {});
  write_tests();
  ASSERT_EQ(plan("a.json", "plan").status, 0);
  const std::string inputs = "fhir a.json --tests tests.json --plan plan/plan.json";
  const Execution e = run(inputs + " --out visit.json");
  ASSERT_EQ(e.status, 0) << e.errors;
  EXPECT_THAT(e.output, HasSubstr("visit on 2026-11-24"));
  EXPECT_THAT(e.output, HasSubstr("CarePlan 1"));
  EXPECT_THAT(e.output, HasSubstr("Stop at once on pain"));
  const std::string file = read(folder_ / "visit.json");
  EXPECT_EQ(json::parse(file).at("resourceType"), "Bundle");
  EXPECT_EQ(run(inputs + " --json").output, file);
  EXPECT_EQ(run(inputs + " --out visit.json").status, 5);  // Conflict: it is there already
  EXPECT_EQ(run(inputs + " --out visit.json --overwrite").status, 0);
}

TEST_F(ExchangeCli, AnAssessmentBecomesMeansOverItsCompletedRepetitions) {
  write_athlete("a.json", "sk-07", {});
  json assessment = json::parse(R"({"schema": "lintel-assessment-1", "assessed_on": "2026-11-25",
    "athlete": {"id": "sk-07"}, "clip": {"file_name": "a.mp4", "recorded_on": "2026-11-23T18:30:00"},
    "repetitions": [
     {"outcome": "completed", "channels": {"depth_cm": {"bottom": null},
       "trunk_inclination_deg": {"bottom": {"value": 40, "standard_error": 1.5}}}},
     {"outcome": "failed", "channels": {
       "trunk_inclination_deg": {"bottom": {"value": 70, "standard_error": 1.5}}}},
     {"outcome": "completed", "channels": {
       "trunk_inclination_deg": {"bottom": {"value": 42, "standard_error": 1.5}}}}]})");
  write("assessment.json", assessment.dump());
  const Execution e = run("fhir a.json --assessment assessment.json --json");
  ASSERT_EQ(e.status, 0) << e.errors;
  int found = 0;
  const json bundle = json::parse(e.output);
  for (const json& entry : bundle.at("entry")) {
    const json& resource = entry.at("resource");
    if (resource.at("resourceType") != "Observation") continue;
    const std::string code = resource.at("code").at("coding").at(0).at("code");
    EXPECT_NE(code, "squat_depth");  // null in both
    if (code != "squat_trunk_inclination") continue;
    ++found;
    EXPECT_NEAR(resource.at("valueQuantity").at("value"), 41.0, 1e-4);
    EXPECT_EQ(resource.at("effectiveDateTime"), "2026-11-23");
    EXPECT_EQ(resource.at("component").at(1).at("valueInteger"), 2);
  }
  EXPECT_EQ(found, 1);
  assessment["athlete"]["id"] = "sk-08";
  write("other.json", assessment.dump());
  EXPECT_EQ(run("fhir a.json --assessment other.json --json").status, 5);
}

TEST_F(ExchangeCli, ABundleKeepsNoPlanThatAWarningSignHasOvertaken) {
  write_athlete("well.json", "sk-07", {});
  write_athlete("fever.json", "sk-07", {"fever"});
  ASSERT_EQ(plan("well.json", "plan").status, 0);
  const Execution e = run("fhir fever.json --plan plan/plan.json --out visit.json");
  EXPECT_EQ(e.status, 5);
  EXPECT_THAT(e.errors, HasSubstr("fever"));
  EXPECT_THAT(e.errors, HasSubstr("make a new plan"));
  EXPECT_FALSE(fs::exists(folder_ / "visit.json"));
}

// Eight markers, ten frames, by the tests' own writer.
TEST_F(ExchangeCli, AMotionCaptureFileBecomesKeyPoints) {
  formats::C3dMotion motion;
  motion.frame_rate = 100;
  motion.frame_count = 10;
  motion.y_screen = "+Z";
  const std::vector<std::pair<std::string, float>> heights = {
      {"SJC", 1.4F}, {"HJC", 0.9F}, {"KJC", 0.5F}, {"AJC", 0.1F}};
  for (const auto& [joint, height] : heights) {
    motion.labels.push_back("L" + joint);
    motion.labels.push_back("R" + joint);
  }
  for (std::size_t i = 0; i < motion.frame_count; ++i) {
    for (const auto& [joint, height] : heights) {
      motion.samples.push_back({{0, 0.15F, height}, 0});
      motion.samples.push_back({{0, -0.15F, height}, 0});
    }
  }
  const auto bytes = test_support::C3dWriter({}).write(motion);
  write("squat.c3d", {bytes.begin(), bytes.end()});
  Execution e = run("keypoints squat.c3d --out points.csv");
  ASSERT_EQ(e.status, 0) << e.errors;
  EXPECT_THAT(e.output, HasSubstr("joint-centres"));
  EXPECT_THAT(read(folder_ / "points.csv"), HasSubstr("left_hip_x_px"));
  e = run("keypoints squat.c3d --json");
  ASSERT_EQ(e.status, 0) << e.errors;
  const json points = json::parse(e.output);
  EXPECT_EQ(points["frames"].size(), 10u);
  EXPECT_EQ(points["keypoint_names"].size(), 17u);
  EXPECT_EQ(run("keypoints squat.c3d --out points.txt").status, 3);
  EXPECT_EQ(run("keypoints squat.c3d --out points.csv").status, 5);
  e = run("keypoints squat.c3d --markers joint-centers --json");
  EXPECT_EQ(e.status, 2);
  EXPECT_THAT(e.errors, HasSubstr("joint-centres"));
  e = run("keypoints squat.c3d --markers skin-markers --json");
  EXPECT_EQ(e.status, 3);
  EXPECT_THAT(e.errors, HasSubstr("left_shoulder"));
  write("broken.c3d", {bytes.begin(), bytes.begin() + 1100});
  e = run("keypoints broken.c3d --json");
  EXPECT_EQ(e.status, 3);
  EXPECT_THAT(e.errors, HasSubstr("broken.c3d"));
  EXPECT_THAT(e.errors, HasSubstr("byte"));
}

TEST_F(ExchangeCli, SaysWhatIsWrongWithTheInputs) {
  write_athlete("a.json", "sk-07", {});
  write_athlete("other.json", "sk-08", {});
  write_tests();
  Execution e = run("fhir a.json --tests tests.json");
  EXPECT_EQ(e.status, 64);
  EXPECT_THAT(e.errors, HasSubstr("--out"));
  e = run("fhir a.json --json");
  EXPECT_EQ(e.status, 3);
  EXPECT_THAT(e.errors, HasSubstr("date"));
  e = run("fhir other.json --tests tests.json --json");
  EXPECT_NE(e.status, 0);
  EXPECT_THAT(e.errors, HasSubstr("sk-07"));
  e = run("fhir a.json --plan a.json --json");
  EXPECT_EQ(e.status, 3);
  EXPECT_THAT(e.errors, HasSubstr("a.json"));
  e = run("fhir a.json --assessment tests.json --json");
  EXPECT_EQ(e.status, 3);
  EXPECT_THAT(e.errors, HasSubstr("lintel-assessment-1"));
  e = run("fhir none.json --json");
  EXPECT_EQ(e.status, 2);
}

}  // namespace
}  // namespace lintel::test
