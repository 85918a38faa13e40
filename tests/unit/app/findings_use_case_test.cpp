#include "app/findings_use_case.h"

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/cautions.h"
#include "formats/assessment_json.h"
#include "formats/athlete_json.h"
#include "formats/protocol_json.h"
#include "reasoning/explain.h"
#include "support/demo_measurement.h"
#include "support/reasoning_athletes.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using ::testing::Not;

class FindingsUseCase : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("lintel-findings-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
    athlete_ = test::ordinary_athlete();
    test::set_test(athlete_, body::MobilityTest::AnkleDorsiflexion, 30);
    athlete_.setup.stance_width = 0.28;
    save();
    request_.draws = 200;
    request_.threads = 1;
    request_.seen.trunk_inclination = Angle::degrees(48);
  }
  void TearDown() override { fs::remove_all(folder_); }

  void save() { request_.athlete = write("athlete.json", formats::write_athlete_json(athlete_)); }
  fs::path write(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
    return folder_ / name;
  }
  fs::path overrulings(const std::string& athlete, const std::string& finding) const {
    return write("words.json", R"({"schema": "lintel-overrulings-1", "athlete": ")" + athlete +
                                   R"(", "overrulings": [{"finding": ")" + finding +
                                   R"(", "verdict": "rejected", "reason": "soft end at 40 degrees",
                                   "who": "Eydis Brandvik", "date": "2026-11-25"}]})");
  }

  fs::path folder_;
  body::Athlete athlete_;
  FindingsRequest request_;
};

TEST_F(FindingsUseCase, TellsFindingsEvidenceSetupsTestsAndCautions) {
  const auto outcome = findings_of_athlete(request_, {});
  ASSERT_TRUE(outcome) << describe(outcome.error());
  for (const char* words :
       {"Findings\n", "Ankle range", "+ test: Knee to wall, inclinometer, left: 30 deg",
        "+ video: trunk 48 deg", "proves no", "Film now (setup is tried before mobility)",
        "Tests\n", "What there is to work on, setup first",
        "How sure: clear = probability of 80 %"}) {
    EXPECT_THAT(outcome->text, HasSubstr(words));
  }
  EXPECT_THAT(outcome->text, HasSubstr("does not diagnose"));
  const auto root = nlohmann::json::parse(outcome->json);
  EXPECT_EQ(root["schema"], "lintel-findings-1");
  EXPECT_EQ(root["cautions"].size(), cautions().size());
  EXPECT_EQ(root["targets"][0]["part"], "stance");
}

// One test, one name: what the reasoning calls a test is the name of the protocol that informs it.
TEST(NamesOfTests, AreThoseOfTheProtocols) {
  std::size_t found = 0;
  for (const body::TestProtocol& protocol : formats::built_in_protocols()) {
    if (!protocol.informs.test) continue;
    ++found;
    EXPECT_EQ(reasoning::test_label(*protocol.informs.test), protocol.name);
  }
  EXPECT_EQ(found, static_cast<std::size_t>(body::kMobilityTestCount));
}

TEST_F(FindingsUseCase, NamesRepetitionsAndFramesOfTheAssessment) {
  const auto measurement = test_support::demo_measurement({});
  request_.seen.trunk_inclination.reset();
  request_.seen.assessment =
      write("assessment.json",
            formats::write_assessment_json(test_support::demo_assessment(measurement)));
  const auto found = compute_findings(request_, {});
  ASSERT_TRUE(found) << describe(found.error());
  ASSERT_EQ(found->seen.repetitions.size(), measurement.repetitions.size());
  EXPECT_EQ(found->seen.repetitions[0].number, 1);
  EXPECT_EQ(found->seen.repetitions[0].frame,
            measurement.frame_index[measurement.repetitions[0].bottom_frame]);
  EXPECT_THAT(findings_text(*found), HasSubstr("(repetition 1, 2"));
}

TEST_F(FindingsUseCase, AnOverrulingMovesTheTargetsAndKeepsTheFinding) {
  const auto before = compute_findings(request_, {}).value();
  request_.overrulings = overrulings(athlete_.id, "ankle");
  const auto after = compute_findings(request_, {}).value();
  EXPECT_EQ(after.targets.size() + 1, before.targets.size());
  EXPECT_EQ(after.findings.find("ankle")->probability, before.findings.find("ankle")->probability);
  const std::string text = findings_text(after);
  EXPECT_THAT(text, HasSubstr("Ankle range [overruled]"));
  EXPECT_THAT(text, HasSubstr("2026-11-25, Eydis Brandvik: not so. soft end at 40 degrees"));
}

TEST_F(FindingsUseCase, OverrulingsOfAnotherAthleteOrOfNothingAreTold) {
  request_.overrulings = overrulings("somebody_else", "ankle");
  const auto wrong = compute_findings(request_, {});
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().code, ErrorCode::Conflict);
  EXPECT_EQ(wrong.error().place.file, "words.json");
  request_.overrulings = overrulings(athlete_.id, "tests_against_posture");
  const auto gone = compute_findings(request_, {}).value();
  EXPECT_THAT(findings_text(gone), HasSubstr("The overruling of \"tests_against_posture\""));
  request_.overrulings = write("words.json", "{\"schema\": 1}");
  EXPECT_EQ(compute_findings(request_, {}).error().code, ErrorCode::Invalid);
  request_.overrulings = folder_ / "absent.json";
  EXPECT_EQ(compute_findings(request_, {}).error().code, ErrorCode::NotFound);
}

TEST_F(FindingsUseCase, AWarningSignTakesTheSquatsToFilmAway) {
  ASSERT_FALSE(compute_findings(request_, {})->setups.empty());
  for (const auto sign : {body::WarningSign::Pain, body::WarningSign::Pregnancy,
                          body::WarningSign::BladderOrBowelChange}) {
    athlete_.warning_signs = {sign};
    save();
    const auto outcome = findings_of_athlete(request_, {}).value();
    EXPECT_THAT(outcome.text, HasSubstr("Warning signs were noted"));
    EXPECT_THAT(outcome.text, Not(HasSubstr("Film now")));
    const auto root = nlohmann::json::parse(outcome.json);
    EXPECT_TRUE(root["setups_to_film"].empty());
    EXPECT_FALSE(root["remarks"].empty());
  }
}

TEST_F(FindingsUseCase, SaysTheSameForAnyNumberOfThreads) {
  const auto one = findings_of_athlete(request_, {}).value();
  request_.threads = 3;
  EXPECT_EQ(findings_of_athlete(request_, {})->json, one.json);
}

TEST_F(FindingsUseCase, WithoutAnythingKnownItSaysWhatToDo) {
  athlete_.tests = {};
  save();
  request_.seen = {};
  const auto outcome = findings_of_athlete(request_, {}).value();
  EXPECT_THAT(outcome.text, HasSubstr("Not tested, so not found"));
  EXPECT_THAT(outcome.text, HasSubstr("Tests\n"));
}

}  // namespace
}  // namespace lintel::app
