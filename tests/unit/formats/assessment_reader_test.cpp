#include "formats/assessment_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "formats/assessment_json.h"
#include "support/demo_measurement.h"

namespace lintel::formats {
namespace {

using ::testing::HasSubstr;

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  const auto at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return text.replace(at, what.size(), with);
}

TEST(AssessmentReader, WritesWhatItReadToTheSameBytes) {
  kinematics::Measurement m = test_support::demo_measurement({});
  m.repetitions[1].pauses.push_back({1.2, 0.8});
  view::Assessment written = test_support::demo_assessment(m);
  written.explanation.reset();
  const std::string text = write_assessment_json(written);
  const auto stored = read_assessment_json(text, "assessment.json");
  ASSERT_TRUE(stored) << describe(stored.error());
  ASSERT_TRUE(stored->side);
  ASSERT_EQ(stored->side->repetitions.size(), m.repetitions.size());
  const auto trunk = static_cast<std::size_t>(kinematics::Channel::TrunkInclination);
  EXPECT_NEAR(stored->side->repetitions[0].channels[trunk].bottom.value,
              m.repetitions[0].channels[trunk].bottom.value, 1e-7);
  // Picture size and curves are not read; all else comes back as it was.
  view::Assessment again = stored->view();
  again.clip = written.clip;
  const std::string second = write_assessment_json(again);
  const auto without_curves = [](const std::string& json) {
    const auto begin = json.find("\"curves\""), end = json.find("\"front\"");
    return json.substr(0, begin) + json.substr(end);
  };
  EXPECT_EQ(without_curves(second), without_curves(text));
}

TEST(AssessmentReader, TakesAnAssessmentWithoutASideView) {
  const auto stored = read_assessment_json(write_assessment_json({}), "a.json");
  ASSERT_TRUE(stored) << describe(stored.error());
  EXPECT_FALSE(stored->side);
  EXPECT_EQ(stored->view().side, nullptr);
}

TEST(AssessmentReader, NullIsNotKnownAndUnknownKeysArePassedOver) {
  const auto m = test_support::demo_measurement({});
  std::string text = write_assessment_json(test_support::demo_assessment(m));
  text =
      replaced(text, "\"descent_s\": ", "\"of_a_newer_program\": 1, \"descent_s\": null, \"x\": ");
  const auto stored = read_assessment_json(text, "a.json");
  ASSERT_TRUE(stored) << describe(stored.error());
  EXPECT_TRUE(std::isnan(stored->side->repetitions[0].descent_duration));
}

TEST(AssessmentReader, NamesPlaceAndFieldOfAFault) {
  const auto m = test_support::demo_measurement({});
  const std::string text = write_assessment_json(test_support::demo_assessment(m));
  const auto wrong = read_assessment_json(
      replaced(text, "\"descent_s\": ", "\"descent_s\": \"short\", \"x\": "), "a.json");
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().place.field, "repetitions[0].descent_s");
  EXPECT_EQ(wrong.error().place.file, "a.json");
  EXPECT_GT(wrong.error().place.line, 10);
  const auto negative = read_assessment_json(
      replaced(text, "\"standard_error\": ", "\"standard_error\": -1, \"x\": "), "a.json");
  ASSERT_FALSE(negative);
  EXPECT_THAT(negative.error().place.field, HasSubstr("standard_error"));
  const auto other = read_assessment_json("{\"schema\": \"lintel-plan-1\"}", "plan.json");
  ASSERT_FALSE(other);
  EXPECT_THAT(other.error().message, HasSubstr("not an assessment"));
  for (const char* nothing : {"", "{", "{}", "[]", "{\"schema\": 3}"}) {
    EXPECT_FALSE(read_assessment_json(nothing, "a.json")) << nothing;
  }
}

}  // namespace
}  // namespace lintel::formats
