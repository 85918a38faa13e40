// Protocol files: the library that is built in, and faults with their line and field.
#include "formats/protocol_json.h"

#include <fstream>
#include <set>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "body/tables.h"

namespace lintel::formats {
namespace {

using body::MobilityTest;
using body::TestProtocol;
using ::testing::HasSubstr;

std::string knee_file() {
  std::ifstream in(std::string(LINTEL_SOURCE_DIR) + "/data/protocols/knee-to-wall-distance.json");
  return {std::istreambuf_iterator<char>(in), {}};
}

// Line (1-based) on which `text` first occurs.
std::int64_t line_of(const std::string& file, const std::string& text) {
  const std::size_t at = file.find(text);
  EXPECT_NE(at, std::string::npos) << text;
  return 1 + std::count(file.begin(), file.begin() + static_cast<std::ptrdiff_t>(at), '\n');
}

std::string replaced(std::string file, const std::string& from, const std::string& to) {
  const std::size_t at = file.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return at == std::string::npos ? file : file.replace(at, from.size(), to);
}

TEST(ProtocolLibrary, HoldsEveryTestOfTheTrade) {
  // The list of the product: ankle two ways, thoracic rotation, wall test two ways, grip by the hip
  // crease, pass-through, shoulder, hip, hamstrings, wrist, balance, trunk.
  for (const char* id :
       {"knee_to_wall_distance", "knee_to_wall_angle", "thoracic_rotation_heel_sit",
        "arms_to_wall_turned_in", "arms_to_wall_turned_out", "grip_width_hip_crease",
        "pass_through_pipe", "shoulder_flexion_supine", "shoulder_external_rotation",
        "shoulder_internal_rotation", "hip_flexion_supine", "hip_internal_rotation_seated",
        "hip_external_rotation_seated", "active_straight_leg_raise", "hip_extension_half_kneeling",
        "wrist_extension_weight_bearing", "single_leg_balance", "trunk_endurance_side_bridge"}) {
    EXPECT_NE(body::find_protocol(built_in_protocols(), id), nullptr) << id;
  }
}

TEST(ProtocolLibrary, EveryTestOfTheModelHasAProtocolWithItsRange) {
  for (int i = 0; i < body::kMobilityTestCount; ++i) {
    const auto test = static_cast<MobilityTest>(i);
    const TestProtocol* protocol = body::protocol_for(built_in_protocols(), test);
    ASSERT_NE(protocol, nullptr) << body::mobility_test_name(test);
    const body::Number& range = body::range_table()[body::mobility_range_key(test)];
    EXPECT_NEAR(protocol->lowest, range.low, 1e-9) << protocol->id;
    EXPECT_NEAR(protocol->highest, range.high, 1e-9) << protocol->id;
  }
}

// One source of truth: where the model has an error of the test, the protocol says the same.
TEST(ProtocolLibrary, StandardErrorsAgreeWithTheModels) {
  const std::vector<std::pair<const char*, const char*>> pairs = {
      {"knee_to_wall_distance", "knee_to_wall.test_error"},
      {"knee_to_wall_angle", "ankle_dorsiflexion.test_error"},
      {"knee_flexion_deep_squat", "knee_flexion.test_error"},
      {"hip_flexion_supine", "hip_flexion.test_error"},
      {"hip_abduction_supine", "hip_abduction.test_error"},
      {"hip_external_rotation_seated", "hip_external_rotation.test_error"},
      {"hip_internal_rotation_seated", "hip_internal_rotation.test_error"},
      {"lumbar_flexion_bottom", "lumbar_flexion.test_error"},
      {"thoracic_extension_two_inclinometers", "thoracic_extension.test_error"},
      {"thoracic_rotation_heel_sit", "thoracic_rotation.test_error"},
      {"shoulder_flexion_supine", "shoulder_elevation.test_error"},
      {"arms_to_wall_turned_in", "shoulder_elevation.test_error"},
      {"arms_to_wall_turned_out", "latissimus_elevation.test_error"}};
  std::set<std::string> covered;
  for (const auto& [id, key] : pairs) {
    const TestProtocol* protocol = body::find_protocol(built_in_protocols(), id);
    ASSERT_NE(protocol, nullptr) << id;
    EXPECT_NEAR(protocol->standard_error.value, body::limit_table().value(key), 1e-12) << id;
    covered.insert(id);
  }
  for (const TestProtocol& protocol : built_in_protocols()) {
    if (!protocol.informs.test) continue;
    EXPECT_TRUE(covered.contains(protocol.id)) << protocol.id;
  }
}

TEST(ProtocolLibrary, ReachStartsFromWhatTheModelTakesForUntestedPeople) {
  const auto reach = [](const char* id) {
    return *body::find_protocol(built_in_protocols(), id)->reach;
  };
  const auto& limits = body::limit_table();
  const double straight = 180 * kRadiansPerDegree;
  EXPECT_NEAR(straight - reach("arms_to_wall_turned_in").mean,
              limits.value("shoulder_elevation.average"), 1e-9);
  EXPECT_NEAR(straight - reach("arms_to_wall_turned_out").mean,
              limits.value("latissimus_elevation.average"), 1e-9);
  EXPECT_NEAR(reach("shoulder_flexion_supine").mean, limits.value("shoulder_elevation.average"),
              1e-9);
}

TEST(ProtocolReader, GivesEveryFaultItsLineAndField) {
  std::string file = knee_file();
  file = replaced(file, "\"better\": \"higher\"", "\"better\": \"hihger\"");
  file = replaced(file, "\"tries\": 3,", "\"tries\": 2.5,");
  file = replaced(file, "\"minutes\"", "\"minuets\"");
  file = replaced(file, "\"test\": \"knee_to_wall\"", "\"test\": \"knee_to_wal\"");
  const auto reading = read_protocol_json(file, "own.json");
  ASSERT_FALSE(reading.protocol);
  const auto expect_fault = [&](const std::string& field, const std::string& at,
                                const std::string& words) {
    for (const Error& error : reading.faults) {
      if (error.place.field != field) continue;
      EXPECT_EQ(error.place.line, line_of(file, at)) << field;
      EXPECT_EQ(error.place.file, "own.json");
      EXPECT_THAT(describe(error), HasSubstr(words));
      return;
    }
    ADD_FAILURE() << "no fault at " << field;
  };
  expect_fault("better", "hihger", "did you mean \"higher\"?");
  expect_fault("tries", "\"tries\": 2.5", "whole number");
  expect_fault("minuets", "minuets", "did you mean \"minutes\"?");
  expect_fault("informs.test", "knee_to_wal\"", "did you mean \"knee_to_wall\"?");
}

TEST(ProtocolReader, RefusesAFactorBetweenDistanceAndAngle) {
  // Centimetres become degrees through a body, never through 3.6 degrees a centimetre.
  const auto reading =
      read_protocol_json(replaced(knee_file(), "\"test\": \"knee_to_wall\"",
                                  "\"test\": \"ankle_dorsiflexion\", \"factor\": 3.6"),
                         "own.json");
  ASSERT_FALSE(reading.protocol);
  EXPECT_EQ(reading.faults[0].place.field, "informs.test");
  EXPECT_THAT(describe(reading.faults[0]), HasSubstr("own segments only"));
}

TEST(ProtocolReader, RefusesARangeThatTheModelDoesNotTake) {
  const auto reading = read_protocol_json(
      replaced(knee_file(), "{\"low\": -5, \"high\": 25}", "{\"low\": -5, \"high\": 40}"),
      "own.json");
  ASSERT_FALSE(reading.protocol);
  EXPECT_EQ(reading.faults[0].place.field, "allowed_range");
}

TEST(ProtocolReader, RefusesPhotoRecipesThatMakeNoAngle) {
  const std::string file = knee_file();
  EXPECT_FALSE(read_protocol_json(
                   replaced(file, "\"measure\": \"distance\"", "\"measure\": \"between\""), "x")
                   .protocol);
  EXPECT_FALSE(read_protocol_json(replaced(file, "[\"toe\", \"wall\"]", "[\"toe\", \"wal\"]"), "x")
                   .protocol);
  EXPECT_FALSE(read_protocol_json(replaced(file, "\"by_hand\": [\"wall\"]", "\"by_hand\": []"), "x")
                   .protocol);
}

TEST(ProtocolReader, SurvivesAnyCut) {
  const std::string file = knee_file();
  for (std::size_t length = 0; length < file.size(); length += 37) {
    const auto reading = read_protocol_json(file.substr(0, length), "cut.json");
    EXPECT_FALSE(reading.protocol);
    EXPECT_FALSE(reading.faults.empty());
  }
}

}  // namespace
}  // namespace lintel::formats
