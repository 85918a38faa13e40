// Protocols of mobility tests: parts of the error, pass lines, warning signs.
#include "body/test_protocol.h"

#include <cmath>

#include <gtest/gtest.h>

#include "body/tables.h"

namespace lintel::body {
namespace {

TEST(ProtocolError, GivesThePublishedErrorAtThePublishedNumberOfTries) {
  const ProtocolError error{0.006, 3, 0.5, "x"};
  const MeasurementError parts = measurement_error(error);
  EXPECT_NEAR(error_of_mean(parts, 3), 0.006, 1e-15);
  // Half of the variance does not shrink, the other half does.
  EXPECT_NEAR(error_of_mean(parts, 1), 0.006 * std::sqrt(0.5 + 1.5), 1e-15);
  EXPECT_NEAR(error_of_mean(parts, 1000000), 0.006 * std::sqrt(0.5), 1e-8);
}

TEST(HandBreadth, IsThatOfAnsurAtTheMeanStature) {
  // ANSUR II 2012: men 88.3 mm at 1756 mm, women 78.2 mm at 1629 mm.
  EXPECT_NEAR(estimate_hand_breadth(Sex::Male, 1.7562).value, 0.0883, 1e-4);
  EXPECT_NEAR(estimate_hand_breadth(Sex::Female, 1.6285).value, 0.0782, 1e-4);
}

Athlete tall_man() {
  Athlete athlete;
  athlete.sex = Sex::Male;
  athlete.stature = 1.80;
  return athlete;
}

TEST(PassLine, FollowsTheOwnHandBeforeTheStature) {
  const PassLine line{PassReference::HandBreadth, 1.0, "one hand's breadth", "x"};
  const auto by_stature = pass_line_of(line, tall_man(), {});
  ASSERT_TRUE(by_stature);
  EXPECT_NEAR(by_stature->value, 0.029848 * 1.80 + 0.0358424, 1e-9);
  EXPECT_NEAR(by_stature->standard_error, 0.0038822, 1e-9);
  const auto by_hand = pass_line_of(line, tall_man(), Estimate{0.095, 0.002});
  ASSERT_TRUE(by_hand);
  EXPECT_EQ(by_hand->value, 0.095);
  EXPECT_EQ(by_hand->standard_error, 0.002);
}

TEST(PassLine, AsksForTheStatureWhenItNeedsOne) {
  const auto line = pass_line_of({PassReference::Stature, 0.6, "x", "x"}, Athlete{}, {});
  ASSERT_FALSE(line);
  EXPECT_EQ(line.error().place.field, "body.stature_cm");
  EXPECT_TRUE(pass_line_of({PassReference::Absolute, 0.6, "x", "x"}, Athlete{}, {}));
}

TEST(TestTable, EveryNumberHasASource) {
  EXPECT_GE(test_table().rows().size(), 10u);
  for (const Number& row : test_table().rows()) EXPECT_GE(row.source.size(), 10u) << row.key;
}

TEST(WarningSigns, ThoseUnderWhichATestIsNotDoneAreNamed) {
  TestProtocol protocol;
  protocol.not_with = {WarningSign::ShoulderInstability, WarningSign::RecentSurgery};
  Athlete athlete;
  athlete.warning_signs = {WarningSign::Fever, WarningSign::RecentSurgery};
  EXPECT_EQ(signs_against(protocol, athlete), std::vector<WarningSign>{WarningSign::RecentSurgery});
}

}  // namespace
}  // namespace lintel::body
