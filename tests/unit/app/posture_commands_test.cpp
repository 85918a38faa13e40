#include "app/posture_commands.h"

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "app/explain.h"
#include "base/cautions.h"
#include "formats/assessment_json.h"
#include "formats/athlete_json.h"
#include "support/demo_measurement.h"
#include "support/reasoning_athletes.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

class PostureCommands : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("lintel-posture-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
    athlete_ = test::ordinary_athlete();
    test::set_test(athlete_, body::MobilityTest::AnkleDorsiflexion, 36);
    request_.athlete = write("athlete.json", formats::write_athlete_json(athlete_));
    request_.draws = 60;
    request_.threads = 1;
  }
  void TearDown() override { fs::remove_all(folder_); }

  fs::path write(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
    return folder_ / name;
  }

  fs::path folder_;
  body::Athlete athlete_;
  PostureRequest request_;
};

TEST_F(PostureCommands, ExplainTellsPartsAndCautionsAndDraws) {
  request_.seen.trunk_inclination = Angle::degrees(45);
  request_.drawing = folder_ / "drawing.svg";
  const auto outcome = explain_athlete(request_, {});
  ASSERT_TRUE(outcome) << describe(outcome.error());
  EXPECT_THAT(outcome->text, HasSubstr("Trunk seen at the bottom"));
  EXPECT_THAT(outcome->text, HasSubstr("largest with probability"));
  EXPECT_THAT(outcome->text, HasSubstr("does not diagnose"));
  const auto root = nlohmann::json::parse(outcome->json);
  EXPECT_NEAR(root["observed_trunk_inclination_deg"]["value"].get<double>(), 45.0, 1e-6);
  std::ifstream in(folder_ / "drawing.svg");
  std::stringstream svg;
  svg << in.rdbuf();
  EXPECT_THAT(svg.str(), HasSubstr("<svg"));
  EXPECT_FALSE(fs::exists(folder_ / "drawing.svg.part"));
}

TEST_F(PostureCommands, ExplainReadsTheAssessmentOfAClip) {
  const auto measurement = test_support::demo_measurement({});
  request_.seen.assessment =
      write("assessment.json",
            formats::write_assessment_json(test_support::demo_assessment(measurement)));
  const auto outcome = explain_athlete(request_, {});
  ASSERT_TRUE(outcome) << describe(outcome.error());
  const auto root = nlohmann::json::parse(outcome->json);
  // demo_measurement.h: trunk to about 38 degrees at the bottom.
  EXPECT_NEAR(root["observed_trunk_inclination_deg"]["value"].get<double>(), 38.0, 4.0);
}

TEST_F(PostureCommands, FaultsNameTheirPlaceAndLeaveNoFile) {
  request_.seen.assessment = folder_ / "absent.json";
  EXPECT_EQ(explain_athlete(request_, {}).error().code, ErrorCode::NotFound);
  request_.seen.assessment = write("wrong.json", "{\"schema\": \"lintel-athlete-1\"}");
  const auto wrong = explain_athlete(request_, {});
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().place.file, "wrong.json");
  request_.seen.trunk_inclination = Angle::degrees(40);
  EXPECT_EQ(explain_athlete(request_, {}).error().code, ErrorCode::Invalid);
  request_.seen.assessment.reset();
  request_.seen.trunk_inclination = Angle::degrees(140);
  EXPECT_EQ(explain_athlete(request_, {}).error().place.field, "observation.trunk_inclination");
  request_.seen.trunk_inclination = Angle::degrees(40);
  request_.drawing = folder_ / "no" / "folder.svg";
  EXPECT_EQ(explain_athlete(request_, {}).error().code, ErrorCode::Io);
  EXPECT_FALSE(fs::exists(folder_ / "no"));
}

TEST_F(PostureCommands, WhatIfAndGripNeedTheAthleteAlone) {
  const auto table = what_if_athlete(request_, {});
  ASSERT_TRUE(table) << describe(table.error());
  EXPECT_THAT(table->text, HasSubstr("Best two together"));
  EXPECT_THAT(table->text, HasSubstr("What it costs"));
  const auto grip = grip_for_athlete(request_, {});
  ASSERT_TRUE(grip) << describe(grip.error());
  EXPECT_THAT(grip->text, HasSubstr("Recommended"));
  EXPECT_THAT(grip->text, HasSubstr("does not diagnose"));
}

TEST(ExplainMeasurement, ExplainsTheMeanOverCompletedRepetitions) {
  const auto measurement = test_support::demo_measurement({});
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 36);
  const auto e = explain_measurement(athlete, true, measurement, {});
  ASSERT_TRUE(e) << describe(e.error());
  ASSERT_TRUE(e->observed_inclination);
  EXPECT_NEAR(e->observed_inclination->value, 38.0 * kRadiansPerDegree, 4.0 * kRadiansPerDegree);
  ASSERT_EQ(e->parts.size(), 10u);
  double sum = 0.0;
  for (const auto& part : e->parts) sum += part.share;
  EXPECT_GT(sum, 0.0);
  EXPECT_FALSE(e->sentences.empty());
  EXPECT_FALSE(e->next_steps.empty());
}

TEST(ExplainMeasurement, SaysWhatIsMissing) {
  const auto measurement = test_support::demo_measurement({});
  const auto unknown = explain_measurement({}, false, measurement, {});
  ASSERT_TRUE(unknown);
  EXPECT_TRUE(unknown->parts.empty());
  EXPECT_THAT(unknown->cannot_tell, HasSubstr("athlete file"));
  EXPECT_FALSE(unknown->missing_tests.empty());
  body::Athlete untested = test::ordinary_athlete();
  untested.tests = {};
  const auto bare = explain_measurement(untested, true, measurement, {});
  ASSERT_TRUE(bare);
  EXPECT_TRUE(bare->parts.empty());
  EXPECT_FALSE(bare->cannot_tell.empty());
  EXPECT_TRUE(bare->most_upright);
  kinematics::Measurement still = measurement;
  still.repetitions.clear();
  const auto none = explain_measurement(untested, true, still, {});
  ASSERT_TRUE(none);
  EXPECT_THAT(none->cannot_tell, HasSubstr("repetition"));
  std::stop_source stop;
  stop.request_stop();
  const auto stopped = explain_measurement(untested, true, measurement, {stop.get_token(), {}});
  ASSERT_FALSE(stopped);
  EXPECT_EQ(stopped.error().code, ErrorCode::Cancelled);
}

}  // namespace
}  // namespace lintel::app
