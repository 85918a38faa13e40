#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plan/plan.h"

namespace lintel::plan {
namespace {

using body::WarningSign;
using ::testing::HasSubstr;
using ::testing::StartsWith;

TEST(WarningSigns, EachHasARuleWithWhomAdviceAndSource) {
  const auto& rules = warning_rules();
  ASSERT_EQ(rules.size(), 11u);
  for (std::size_t i = 0; i < rules.size(); ++i) {
    EXPECT_EQ(static_cast<std::size_t>(rules[i].sign), i);
    EXPECT_NE(rules[i].clearance, Clearance::Full) << rules[i].label;
    EXPECT_THAT(rules[i].source, ::testing::AnyOf(HasSubstr("no source"), HasSubstr("from memory"),
                                                  HasSubstr("20")));
  }
}

// Section 11 of the published values, and the issue: these end the assessment.
TEST(WarningSigns, RedFlagsRuleOutEveryDrill) {
  for (const WarningSign sign :
       {WarningSign::Fever, WarningSign::BladderOrBowelChange, WarningSign::NerveRootSigns,
        WarningSign::Numbness, WarningSign::Dizziness, WarningSign::RecentFracture,
        WarningSign::RecentSurgery}) {
    EXPECT_EQ(triage(std::vector{sign}).clearance, Clearance::NoDrills)
        << body::warning_sign_name(sign);
  }
}

TEST(WarningSigns, TheOthersAllowWhatIsUnloaded) {
  for (const WarningSign sign : {WarningSign::Pain, WarningSign::ShoulderInstability,
                                 WarningSign::UncontrolledBloodPressure, WarningSign::Pregnancy}) {
    EXPECT_EQ(triage(std::vector{sign}).clearance, Clearance::UnloadedOnly);
  }
  EXPECT_EQ(triage({}).clearance, Clearance::Full);
}

TEST(WarningSigns, TheStrictestCountsAndTheUrgentIsNamedFirst) {
  const Triage t = triage(std::vector{WarningSign::Pain, WarningSign::RecentSurgery,
                                      WarningSign::BladderOrBowelChange});
  EXPECT_EQ(t.clearance, Clearance::NoDrills);
  EXPECT_TRUE(t.urgent);
  ASSERT_EQ(t.referrals.size(), 3u);
  EXPECT_EQ(t.referrals[0].sign, WarningSign::BladderOrBowelChange);
  EXPECT_EQ(t.referrals[2].sign, WarningSign::Pain);
  const std::string text = referral_text(t);
  EXPECT_THAT(text, StartsWith("No drills are given"));
  EXPECT_THAT(text, HasSubstr("emergency department (urgent)"));
  EXPECT_EQ(referral_text(triage({})), "");
}

}  // namespace
}  // namespace lintel::plan
