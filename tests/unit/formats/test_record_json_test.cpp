// Records of mobility tests: numbers in the protocol's unit, every fault with its place.
#include "formats/test_record_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "formats/protocol_json.h"

namespace lintel::formats {
namespace {

using ::testing::HasSubstr;

TestRecordReading read(const std::string& results, const std::string& more = "") {
  return read_test_record_json(
      "{\"schema\": \"lintel-tests-1\", \"athlete\": \"skarnholm-03\",\n"
      "\"date\": \"2026-11-25\"" +
          more + ",\n\"results\": [\n" + results + "]}",
      "visit.json", built_in_protocols());
}

TEST(TestRecordReader, ReadsTriesInTheUnitOfTheProtocol) {
  const auto reading = read(
      R"({"protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [9.5, 10]},
{"protocol": "single_leg_balance", "side": "right", "tries_s": [12]},
{"protocol": "arms_to_wall_turned_out", "side": "left", "reached": false})");
  ASSERT_TRUE(reading.record) << describe(reading.faults[0]);
  EXPECT_NEAR(reading.record->results[0].tries[0], 0.095, 1e-12);
  EXPECT_EQ(reading.record->results[1].tries[0], 12);
  EXPECT_EQ(reading.record->results[2].reached, body::Reached::No);
  EXPECT_EQ(reading.record->date.iso(), "2026-11-25");
}

TEST(TestRecordReader, NamesLineFieldAndTheNearestProtocol) {
  const auto reading = read(
      R"({"protocol": "knee_to_wall_distanse", "side": "left", "tries_cm": [9.5]},
{"protocol": "knee_to_wall_distance", "side": "left", "tries_deg": [35]},
{"protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [95]},
{"protocol": "knee_to_wall_distance", "tries_cm": [9.5]},
{"protocol": "hip_flexion_supine", "side": "left", "reached": true},
{"protocol": "grip_width_hip_crease", "side": "left", "tries_cm": [95]})");
  ASSERT_FALSE(reading.record);
  const auto has = [&](std::int64_t line, const std::string& field, const std::string& words) {
    for (const Error& error : reading.faults) {
      if (error.place.line == line && error.place.field == field) {
        EXPECT_THAT(describe(error), HasSubstr(words));
        return;
      }
    }
    ADD_FAILURE() << "no fault in line " << line << " at " << field;
  };
  has(4, "results[0].protocol", "did you mean \"knee_to_wall_distance\"?");
  has(5, "results[1].tries_deg", "did you mean \"tries_cm\"?");
  has(6, "results[2].tries_cm[0]", "allowed are -5 to 25 cm");
  has(7, "results[3].side", "each side");
  has(8, "results[4].reached", "no line to reach");
  has(9, "results[5].side", "no sides");
}

TEST(TestRecordReader, RefusesADayThatTheCalendarDoesNotHave) {
  auto reading = read_test_record_json(
      R"({"schema": "lintel-tests-1", "athlete": "a", "date": "2026-02-30", "results": []})",
      "visit.json", built_in_protocols());
  ASSERT_FALSE(reading.record);
  EXPECT_EQ(reading.faults[0].place.field, "date");
}

TEST(TestRecordReader, TakesTheTestersOwnErrors) {
  const auto reading = read(
      R"({"protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [9.5]})",
      R"(, "standard_errors": [{"protocol": "knee_to_wall_distance", "value_cm": 0.3, "tries": 2,
                                "source": "12 athletes, June"}])");
  ASSERT_TRUE(reading.record) << describe(reading.faults[0]);
  EXPECT_NEAR(reading.record->standard_errors[0].error.value, 0.003, 1e-12);
}

}  // namespace
}  // namespace lintel::formats
