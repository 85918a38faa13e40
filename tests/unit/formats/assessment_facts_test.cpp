#include "formats/assessment_facts.h"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "formats/assessment_json.h"
#include "support/demo_measurement.h"

namespace lintel::formats {
namespace {

using nlohmann::json;

std::string demo_text() {
  const auto measurement = test_support::demo_measurement({});
  return write_assessment_json(test_support::demo_assessment(measurement));
}

TEST(AssessmentFacts, AreThoseThatWereWritten) {
  const auto measurement = test_support::demo_measurement({});
  const auto assessment = test_support::demo_assessment(measurement);
  const auto facts = read_assessment_facts(write_assessment_json(assessment), "a.json");
  ASSERT_TRUE(facts.has_value()) << describe(facts.error());
  EXPECT_EQ(facts->athlete_id, assessment.athlete_id);
  EXPECT_EQ(facts->assessed_on, assessment.assessed_on);
  EXPECT_EQ(facts->clip, assessment.clip.file_name);
  EXPECT_EQ(facts->clip_sha256, assessment.clip.sha256);
  std::size_t next = 0;
  for (std::size_t i = 0; i < measurement.repetitions.size(); ++i) {
    const auto& written = measurement.repetitions[i];
    if (written.outcome != kinematics::RepetitionOutcome::Completed) continue;
    ASSERT_LT(next, facts->repetitions.size());
    const AssessedRepetition& read = facts->repetitions[next++];
    EXPECT_EQ(read.number, static_cast<int>(i) + 1);
    for (std::size_t c = 0; c < read.bottom.size(); ++c) {
      const Estimate& bottom = written.channels[c].bottom;
      if (!std::isfinite(bottom.value) || !std::isfinite(bottom.standard_error)) {
        EXPECT_FALSE(read.bottom[c].has_value());
        continue;
      }
      ASSERT_TRUE(read.bottom[c].has_value()) << c;
      EXPECT_NEAR(read.bottom[c]->value, bottom.value, 1e-6 * (1 + std::abs(bottom.value)));
      EXPECT_NEAR(read.bottom[c]->standard_error, bottom.standard_error, 1e-6);
    }
  }
  EXPECT_GT(next, 0u);
  EXPECT_EQ(next, facts->repetitions.size());
}

TEST(AssessmentFacts, LeavesOutWhatIsNullAndRepetitionsThatFailed) {
  json document = json::parse(demo_text());
  const std::size_t all = read_assessment_facts(document.dump(), "a.json")->repetitions.size();
  document["repetitions"][0]["outcome"] = "failed";
  document["repetitions"][1]["channels"]["depth_cm"]["bottom"]["standard_error"] = nullptr;
  const auto facts = read_assessment_facts(document.dump(), "a.json");
  ASSERT_TRUE(facts.has_value());
  ASSERT_EQ(facts->repetitions.size(), all - 1);
  EXPECT_EQ(facts->repetitions[0].number, 2);
  EXPECT_FALSE(facts->repetitions[0].bottom[static_cast<std::size_t>(kinematics::Channel::Depth)]);
}

TEST(AssessmentFacts, SaysWhereAFaultIs) {
  json document = json::parse(demo_text());
  document["repetitions"][1]["channels"]["depth_cm"]["bottom"]["value"] = "deep";
  auto facts = read_assessment_facts(document.dump(1), "a.json");
  ASSERT_FALSE(facts.has_value());
  EXPECT_EQ(facts.error().place.field, "repetitions[1].channels.depth_cm.bottom.value");
  EXPECT_EQ(facts.error().place.file, "a.json");
  EXPECT_GT(facts.error().place.line, 1);
  facts = read_assessment_facts("{}", "a.json");
  ASSERT_FALSE(facts.has_value());
  EXPECT_EQ(facts.error().place.field, "schema");
  EXPECT_FALSE(read_assessment_facts("[", "a.json").has_value());
}

}  // namespace
}  // namespace lintel::formats
