// The plan's file: round trip, and what the reader refuses with its place.
#include "formats/plan_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "base/cautions.h"
#include "support/example_plan.h"

namespace lintel::formats {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

std::string all(const std::vector<Error>& faults) {
  std::string text;
  for (const Error& fault : faults) text += describe(fault) + "\n";
  return text;
}

std::vector<Error> faults_of(const json& document) {
  const PlanReading reading = read_plan_json(document.dump(1), "plan.json");
  EXPECT_FALSE(reading.plan.has_value());
  return reading.faults;
}

TEST(PlanJson, GivesTheSamePlanBack) {
  for (const plan::Plan& plan : {test_support::example_plan(), test_support::red_flag_plan()}) {
    const std::string written = write_plan_json(plan);
    const PlanReading reading = read_plan_json(written, "plan.json");
    ASSERT_TRUE(reading.plan.has_value()) << all(reading.faults);
    EXPECT_EQ(write_plan_json(*reading.plan), written);
    const plan::Plan& again = *reading.plan;
    EXPECT_EQ(again.from, plan.from);
    EXPECT_EQ(again.clearance, plan.clearance);
    EXPECT_EQ(again.referral, plan.referral);
    EXPECT_EQ(again.equipment, plan.equipment);
    ASSERT_EQ(again.drills.size(), plan.drills.size());
    for (std::size_t i = 0; i < plan.drills.size(); ++i) {
      EXPECT_EQ(again.drills[i].id, plan.drills[i].id);
      EXPECT_EQ(again.drills[i].step, plan.drills[i].step);
      EXPECT_EQ(again.drills[i].loaded, plan.drills[i].loaded);
      EXPECT_NEAR(again.drills[i].dose.time_per_session, plan.drills[i].dose.time_per_session,
                  1e-4);
    }
    ASSERT_EQ(again.schedule.size(), plan.schedule.size());
    ASSERT_EQ(again.retests.size(), plan.retests.size());
    for (std::size_t i = 0; i < plan.retests.size(); ++i) {
      EXPECT_EQ(again.retests[i].is_length, plan.retests[i].is_length);
      EXPECT_NEAR(again.retests[i].expected_gain, plan.retests[i].expected_gain, 1e-7);
    }
  }
}

TEST(PlanJson, HoldsTheSeatedHoldWhenItsDrillWasChosen) {
  plan::Plan plan = test_support::example_plan();
  plan.seated_hold = test_support::example_plan_input().seated_hold;
  const PlanReading reading = read_plan_json(write_plan_json(plan), "plan.json");
  ASSERT_TRUE(reading.plan.has_value()) << all(reading.faults);
  ASSERT_TRUE(reading.plan->seated_hold.has_value());
  EXPECT_NEAR(reading.plan->seated_hold->full_depth_height, 0.2612, 1e-9);
  EXPECT_NEAR(reading.plan->seated_hold->now.lifted.hip_extension, 72.25, 1e-9);
  EXPECT_EQ(reading.plan->seated_hold->ladder.size(), 2u);
}

TEST(PlanJson, CarriesEveryCaution) {
  const std::string written = write_plan_json(test_support::red_flag_plan());
  for (const Caution& caution : cautions()) {
    EXPECT_THAT(written, HasSubstr(std::string(caution.text)));
  }
}

TEST(PlanJson, RefusesAPlanWithoutItsCautions) {
  json bad = json::parse(write_plan_json(test_support::example_plan()));
  bad["cautions"].erase(bad["cautions"].begin());
  EXPECT_THAT(all(faults_of(bad)), HasSubstr("cautions: lacks \"stop\""));
}

TEST(PlanJson, SaysWhereASessionRunsOverItsMinutes) {
  json bad = json::parse(write_plan_json(test_support::example_plan()));
  auto& session = bad["schedule"][0]["sessions"][0];
  session["items"][0]["minutes"] = 200;
  session["minutes"] = session["minutes"].get<double>() + 200;
  const auto faults = faults_of(bad);
  ASSERT_FALSE(faults.empty());
  EXPECT_THAT(all(faults), HasSubstr("schedule[0].sessions[0]"));
  EXPECT_GT(faults[0].place.line, 20);
}

TEST(PlanJson, RefusesADrillThatThePlanDoesNotHave) {
  json bad = json::parse(write_plan_json(test_support::example_plan()));
  bad["schedule"][1]["sessions"][0]["items"][0]["drill"] = "juggling";
  EXPECT_THAT(all(faults_of(bad)), HasSubstr("which is no drill of this plan"));
}

TEST(PlanJson, RefusesADateThatTheCalendarDoesNotHave) {
  json bad = json::parse(write_plan_json(test_support::example_plan()));
  bad["from"] = "2026-02-30";
  EXPECT_THAT(all(faults_of(bad)), HasSubstr("from"));
}

TEST(PlanJson, RefusesALoadedDrillSmuggledPastAWarningSign) {
  json bad = json::parse(write_plan_json(test_support::example_plan()));
  bad["warning_signs"] = {"pain"};
  bad["clearance"] = "unloaded_only";
  bad["referral"] = "see a physiotherapist";
  bad["drills"][0]["loaded"] = true;
  EXPECT_THAT(all(faults_of(bad)), HasSubstr("a loaded drill in spite of a warning sign"));
  bad["clearance"] = "full";
  EXPECT_THAT(all(faults_of(bad)), HasSubstr("does not follow from the warning signs"));
}

}  // namespace
}  // namespace lintel::formats
