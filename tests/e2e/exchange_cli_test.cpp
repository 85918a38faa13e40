// Files for other programs as a user makes them: calendars of a plan, a visit as a FHIR bundle.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "e2e/program.h"

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
