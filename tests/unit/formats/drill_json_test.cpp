// The drill reader: what it takes, what it refuses and where; and every drill of the library.
#include "formats/drill_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

std::string read_file(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<fs::path> drill_files() {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(LINTEL_SOURCE_DIR "/data/drills")) {
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  }
  return files;
}

std::string all(const std::vector<Error>& faults) {
  std::string text;
  for (const Error& fault : faults) text += describe(fault) + "\n";
  return text;
}

std::string good_drill() {
  return read_file(LINTEL_SOURCE_DIR "/data/drills/tempo-squat.json");
}

std::string replaced(std::string text, const std::string& what, const std::string& with) {
  const std::size_t at = text.find(what);
  EXPECT_NE(at, std::string::npos) << what;
  return at == std::string::npos ? text : text.replace(at, what.size(), with);
}

std::vector<Error> faults_of(const std::string& text) {
  const DrillReading reading = read_drill_json(text, "own.json");
  EXPECT_FALSE(reading.drill.has_value());
  return reading.faults;
}

TEST(DrillFiles, EveryOneIsReadWithoutFault) {
  ASSERT_GE(drill_files().size(), 20u);
  for (const fs::path& file : drill_files()) {
    const DrillReading reading = read_drill_json(read_file(file), file.filename().string());
    EXPECT_TRUE(reading.drill.has_value()) << all(reading.faults);
  }
}

TEST(DrillFiles, AreAllInTheLibraryUnderTheirName) {
  const auto& library = built_in_drills();
  EXPECT_EQ(library.size(), drill_files().size());
  for (const fs::path& file : drill_files()) {
    EXPECT_NE(plan::find_drill(library, file.stem().string()), nullptr) << file;
  }
}

TEST(DrillFiles, HaveSourcesCautionsAndADrawingEach) {
  for (const plan::Drill& drill : built_in_drills()) {
    EXPECT_FALSE(drill.cautions.empty()) << drill.id;
    EXPECT_FALSE(drill.drawing.empty()) << drill.id;
    EXPECT_FALSE(drill.source.empty()) << drill.id;
    for (const plan::Target& target : drill.targets) {
      // Without a source nobody knows better than half of it.
      if (!target.gain.has_source) {
        EXPECT_THAT(target.gain.source,
                    ::testing::AnyOf(HasSubstr("no source"), HasSubstr("from memory")));
        EXPECT_GE(target.gain.standard_deviation, 0.5 * target.gain.per_week) << drill.id;
      }
    }
  }
}

// Section 10 of the published values: 5.17 deg pooled over 20 trials (Medeiros et al. 2018).
TEST(DrillFiles, TheCalfStretchPromisesThePooledGainAndNoMore) {
  const plan::Drill* drill = plan::find_drill(built_in_drills(), "calf-stretch-bent");
  ASSERT_NE(drill, nullptr);
  const plan::Gain& gain = drill->targets.front().gain;
  EXPECT_NEAR(gain.per_week * gain.weeks * kDegreesPerRadian, 5.17, 0.05);
  // Most useful time: 10 min a week (Ingram et al. 2024/2025).
  EXPECT_DOUBLE_EQ(gain.reference_time, 600.0);
  // >= 5 min a week on >= 5 days (Thomas et al. 2018), <= 10 min.
  for (const plan::Dose& dose : drill->doses) {
    EXPECT_GE(dose.times_per_week, 5);
    EXPECT_GE(dose.hold_per_week(), 300.0);
    EXPECT_LE(dose.hold_per_week(), 600.0);
  }
}

TEST(DrillFiles, DrillsWithALoadedStepAreLoadedAsAWhole) {
  for (const plan::Drill& drill : built_in_drills()) {
    for (const plan::LadderStep& step : drill.ladder) {
      EXPECT_TRUE(drill.loaded || !step.loaded) << drill.id;
    }
    for (const plan::EquipmentSet& any : drill.needs) {
      if (any.list() == std::vector{plan::Equipment::Bar} ||
          any.list() == std::vector{plan::Equipment::Kettlebell}) {
        EXPECT_TRUE(drill.loaded) << drill.id;
      }
    }
  }
}

TEST(DrillJson, GivesTheSameDrillBackAfterWriting) {
  for (const plan::Drill& drill : built_in_drills()) {
    const std::string written = write_drill_json(drill);
    const DrillReading again = read_drill_json(written, "again.json");
    ASSERT_TRUE(again.drill.has_value()) << drill.id << all(again.faults);
    EXPECT_EQ(write_drill_json(*again.drill), written) << drill.id;
    EXPECT_EQ(again.drill->steps, drill.steps);
    EXPECT_EQ(again.drill->ladder.size(), drill.ladder.size());
    EXPECT_EQ(again.drill->not_with, drill.not_with);
  }
}

TEST(DrillJson, SaysLineAndFieldOfAnUnknownKeyAndTheNearestKnownOne) {
  const auto faults = faults_of(replaced(good_drill(), "\"purpose\"", "\"purpos\""));
  ASSERT_FALSE(faults.empty());
  EXPECT_THAT(all(faults), HasSubstr("did you mean \"purpose\""));
  EXPECT_EQ(faults.back().place.line, 5);
  EXPECT_EQ(faults.back().place.file, "own.json");
}

TEST(DrillJson, RefusesASourceThatNamesNoneAndSaysWhatToWrite) {
  const auto faults = faults_of(replaced(good_drill(), "\"source\": \"common practice, no source\"",
                                         "\"source\": \"everybody knows\""));
  ASSERT_EQ(faults.size(), 1u) << all(faults);
  EXPECT_EQ(faults[0].place.field, "targets[0].source");
  EXPECT_GT(faults[0].place.line, 1);
  EXPECT_THAT(faults[0].mend, HasSubstr("common practice, no source"));
}

TEST(DrillJson, RefusesALoadedStepInADrillThatSaysItIsNot) {
  const auto faults = faults_of(replaced(good_drill(), "\"loaded\": false", "\"loaded\": true"));
  ASSERT_EQ(faults.size(), 1u) << all(faults);
  EXPECT_EQ(faults[0].place.field, "ladder[0].loaded");
  EXPECT_GT(faults[0].place.line, 10);
}

TEST(DrillJson, RefusesDosesThatDoNotGrowAndHoldsThatDoNotFit) {
  EXPECT_EQ(faults_of(replaced(good_drill(), "\"minutes_per_session\": 3",
                               "\"minutes_per_session\": 30"))[0]
                .place.field,
            "doses[1]");
  EXPECT_EQ(faults_of(replaced(good_drill(), "\"hold_s\": 0", "\"hold_s\": 60"))[0].place.field,
            "doses[0].minutes_per_session");
}

TEST(DrillJson, RefusesWhatIsNotThere) {
  for (const char* key : {"cautions", "drawing", "source", "dose_source", "not_with", "loaded"}) {
    const auto faults = faults_of(
        replaced(good_drill(), "\"" + std::string(key) + "\":", "\"" + std::string(key) + "_\":"));
    EXPECT_THAT(all(faults), HasSubstr("is missing")) << key;
  }
}

TEST(DrillJson, FindsPrerequisitesThatNameNothingOrGoInACircle) {
  std::vector<plan::Drill> library = built_in_drills();
  EXPECT_TRUE(plan::find_faults(std::span<const plan::Drill>(library)).empty());
  library[0].prerequisites = {{"no-such-drill", 0}};
  library[1].prerequisites = {{library[2].id, 40}};
  library[3].prerequisites = {{library[4].id, 0}};
  library[4].prerequisites = {{library[3].id, 0}};
  const std::string text = all(plan::find_faults(std::span<const plan::Drill>(library)));
  EXPECT_THAT(text, HasSubstr("no-such-drill"));
  EXPECT_THAT(text, HasSubstr("asks for step 41"));
  EXPECT_THAT(text, HasSubstr("go in a circle"));
}

}  // namespace
}  // namespace lintel::formats
