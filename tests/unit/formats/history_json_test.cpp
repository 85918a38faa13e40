#include "formats/history_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/random.h"
#include "formats/drill_json.h"
#include "formats/protocol_json.h"

namespace lintel::formats {
namespace {

using testing::HasSubstr;

HistoryReading read(const std::string& text) {
  return read_history_json(text, "history.json", built_in_protocols(), built_in_drills());
}

// With one drill entry, one test or any other list in place of the standard ones.
std::string history(const std::string& lists) {
  return "{\"schema\": \"lintel-history-1\", \"athlete\": \"sk-017\"" +
         (lists.empty() ? "" : ",\n" + lists) + "}";
}
std::string drill(const std::string& fields) {
  return history("\"sessions\": [{\"date\": \"2026-11-02\", \"drills\": [\n{" + fields + "}]}]");
}
std::string test(const std::string& fields) {
  return history("\"tests\": [\n{\"date\": \"2026-11-02\", " + fields + "}]");
}

// The one fault of a text.
Error fault_of(const std::string& text) {
  const HistoryReading reading = read(text);
  EXPECT_FALSE(reading.history) << text;
  EXPECT_EQ(reading.faults.size(), 1u) << text;
  return reading.faults.empty() ? Error{} : reading.faults.front();
}

TEST(HistoryJson, ReadsEverythingIntoSiUnits) {
  const HistoryReading reading = read(R"({"schema": "lintel-history-1", "athlete": "sk-017",
    "sessions": [
      {"date": "2026-11-04", "drills": [
        {"drill": "slow-heel-drop", "step": 2, "sets": 3, "repetitions": 12, "hold_s": 1.5,
         "load_kg": 10, "effort": 6.5, "pain_during": 1, "pain_next_morning": 0,
         "stop_sign": "heel_lift", "notes": "right heel"}]},
      {"date": "2026-11-02", "drills": [{"drill": "calf-rolling", "sets": 1}]}],
    "tests": [
      {"date": "2026-11-02", "protocol": "knee_to_wall_distance", "side": "left",
       "tries_cm": [6, 6.5]},
      {"date": "2026-11-02", "protocol": "thoracic_rotation_heel_sit", "side": "right",
       "tries_deg": [41]}],
    "standard_errors": [{"protocol": "knee_to_wall_distance", "value_cm": 0.4, "tries": 3,
                         "source": "own repeats"}],
    "releases": [{"date": "2026-11-20", "by": "physician", "notes": "nothing found"}],
    "best_lifts": [{"date": "2026-10-01", "lift": "snatch", "load_kg": 62.5}]})");
  ASSERT_TRUE(reading.history) << reading.faults.front();
  const plan::History& h = *reading.history;
  EXPECT_EQ(h.athlete, "sk-017");
  ASSERT_EQ(h.sessions.size(), 2u);
  EXPECT_EQ(h.sessions[0].date.iso(), "2026-11-02");  // sorted
  EXPECT_EQ(h.sessions[0].drills[0].step, 0);
  EXPECT_FALSE(h.sessions[0].drills[0].effort);
  const plan::DrillDone& done = h.sessions[1].drills[0];
  EXPECT_EQ(done.step, 1);
  EXPECT_EQ(done.sets, 3);
  EXPECT_EQ(done.repetitions, 12);
  EXPECT_EQ(done.hold, 1.5);
  EXPECT_EQ(done.load, 10);
  EXPECT_EQ(done.effort, 6.5);
  EXPECT_EQ(done.pain_during, 1);
  EXPECT_EQ(done.pain_next_morning, 0);
  EXPECT_EQ(done.stop_sign, plan::StopSign::HeelLift);
  ASSERT_EQ(h.tests.size(), 2u);
  EXPECT_NEAR(h.tests[0].tries[1], 0.065, 1e-15);
  EXPECT_NEAR(h.tests[1].tries[0], 41 * kRadiansPerDegree, 1e-15);
  EXPECT_EQ(h.tests[1].side, body::TestSide::Right);
  EXPECT_NEAR(h.standard_errors.at(0).error.value, 0.004, 1e-15);
  EXPECT_EQ(h.releases.at(0).by, "physician");
  EXPECT_EQ(h.best_lifts.at(0).mass, 62.5);
}

TEST(HistoryJson, ALogWithoutEntriesIsAFreshOne) {
  const HistoryReading reading = read(history(""));
  ASSERT_TRUE(reading.history);
  EXPECT_TRUE(reading.history->sessions.empty());
}

TEST(HistoryJson, FaultsNameFieldLineAndTheNearestWord) {
  Error error = fault_of(drill(R"("drill": "slow-heal-drop", "sets": 3)"));
  EXPECT_EQ(error.place.field, "sessions[0].drills[0].drill");
  EXPECT_EQ(error.place.file, "history.json");
  EXPECT_EQ(error.place.line, 3);
  EXPECT_THAT(error.mend, HasSubstr("slow-heel-drop"));
  error = fault_of(drill(R"("drill": "slow-heel-drop", "sets": 3, "pain_dring": 2)"));
  EXPECT_THAT(error.mend, HasSubstr("pain_during"));
  error = fault_of(test(R"("protocol": "knee_to_wal_distance", "side": "left", "tries_cm": [6])"));
  EXPECT_THAT(error.mend, HasSubstr("knee_to_wall_distance"));
  error = fault_of(drill(R"("drill": "slow-heel-drop", "sets": 3, "stop_sign": "heel_lifts")"));
  EXPECT_THAT(error.mend, HasSubstr("heel_lift"));
}

TEST(HistoryJson, NumbersOutOfRangeAreFaults) {
  for (const char* fields :
       {R"("drill": "slow-heel-drop", "sets": 3, "pain_during": 11)",
        R"("drill": "slow-heel-drop", "sets": 3, "pain_during": 2.5)",
        R"("drill": "slow-heel-drop", "sets": 3, "effort": -1)",
        R"("drill": "slow-heel-drop", "sets": 3, "step": 0)",
        R"("drill": "slow-heel-drop", "sets": 3, "step": 99)",
        R"("drill": "slow-heel-drop", "sets": -1)", R"("drill": "slow-heel-drop", "sets": "3")",
        R"("drill": "slow-heel-drop")", R"("sets": 3)",
        R"("drill": "slow-heel-drop", "sets": 3, "load_kg": 900)"}) {
    EXPECT_NE(fault_of(drill(fields)).place.line, 0) << fields;
  }
}

TEST(HistoryJson, TestsKeepToTheirProtocol) {
  // The unit of another protocol, no side, a side too many, no tries, a try out of range.
  EXPECT_FALSE(
      read(test(R"("protocol": "knee_to_wall_distance", "side": "left", "tries_deg": [40])"))
          .history);
  EXPECT_EQ(fault_of(test(R"("protocol": "knee_to_wall_distance", "tries_cm": [6])")).place.field,
            "tests[0].side");
  EXPECT_EQ(fault_of(test(R"("protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [])"))
                .place.field,
            "tests[0].tries_cm");
  EXPECT_EQ(
      fault_of(test(R"("protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [6, 60])"))
          .place.field,
      "tests[0].tries_cm[1]");
}

TEST(HistoryJson, DatesMustBeDays) {
  for (const char* date : {"2026-02-30", "2.11.2026", "2026-11-2", ""}) {
    const Error error = fault_of(
        history("\"releases\": [{\"by\": \"x\", \"date\": \"" + std::string(date) + "\"}]"));
    EXPECT_EQ(error.place.field, "releases[0].date");
    EXPECT_FALSE(error.mend.empty());
  }
}

TEST(HistoryJson, AllFaultsComeTogetherInFileOrder) {
  const HistoryReading reading = read(
      "{\"athlete\": \"\",\n\"schema\": \"lintel-history-2\",\n\"session\": [],\n"
      "\"best_lifts\": [{\"date\": \"2026-10-01\", \"lift\": \"snach\", \"load_kg\": 0}]}");
  EXPECT_FALSE(reading.history);
  ASSERT_GE(reading.faults.size(), 5u);
  for (std::size_t i = 1; i < reading.faults.size(); ++i) {
    EXPECT_LE(reading.faults[i - 1].place.line, reading.faults[i].place.line);
  }
}

TEST(HistoryJson, TooManySessionsAreRefused) {
  std::string sessions = "\"sessions\": [";
  for (int i = 0; i < 5001; ++i) {
    sessions += std::string(i == 0 ? "" : ",") + "{\"date\": \"2026-11-02\"}";
  }
  EXPECT_EQ(fault_of(history(sessions + "]")).place.field, "sessions");
}

plan::DrillDone random_drill(Random& random) {
  const auto& library = built_in_drills();
  const auto& drill =
      library[static_cast<std::size_t>(random.uniform(0, static_cast<double>(library.size())))];
  plan::DrillDone done;
  done.drill = drill.id;
  done.step = static_cast<int>(random.uniform(0, static_cast<double>(drill.ladder.size())));
  done.sets = static_cast<int>(random.uniform(0, 6));
  done.repetitions = static_cast<int>(random.uniform(0, 15));
  done.hold = random.uniform() < 0.5 ? 0 : static_cast<int>(random.uniform(0, 90)) / 2.0;
  done.load = random.uniform() < 0.5 ? 0 : static_cast<int>(random.uniform(0, 300)) / 2.0;
  const auto maybe = [&](auto value) -> std::optional<decltype(value)> {
    if (random.uniform() < 0.3) return std::nullopt;
    return value;
  };
  done.effort = maybe(static_cast<int>(random.uniform(0, 20)) / 2.0);
  done.pain_during = maybe(static_cast<int>(random.uniform(0, 11)));
  done.pain_next_morning = maybe(static_cast<int>(random.uniform(0, 11)));
  if (random.uniform() < 0.3) {
    done.stop_sign = static_cast<plan::StopSign>(random.uniform(0, plan::kStopSignCount));
  }
  if (random.uniform() < 0.3) done.note = "knee \"left\", \xC3\xA9t\xC3\xA9\n";
  return done;
}

plan::History random_history(std::uint64_t index) {
  Random random(4, index);
  const Date start = Date::parse("2026-03-02").value();
  plan::History h;
  h.athlete = "sk-0" + std::to_string(index);
  const auto& protocols = built_in_protocols();
  for (int i = 0; i < static_cast<int>(random.uniform(0, 8)); ++i) {
    plan::Session session{start + i, {}};
    for (int k = 0; k < static_cast<int>(random.uniform(0, 4)); ++k) {
      session.drills.push_back(random_drill(random));
    }
    h.sessions.push_back(session);
    const auto& protocol = protocols[static_cast<std::size_t>(
        random.uniform(0, static_cast<double>(protocols.size())))];
    plan::TestSession test{start + i, protocol.id};
    test.unit = protocol.unit;
    if (protocol.sides == body::Sides::Each) test.side = body::TestSide::Right;
    const double si = body::si_per_unit(protocol.unit);
    const int units = static_cast<int>((protocol.highest - protocol.lowest) / si);
    test.tries = {protocol.lowest + si * static_cast<int>(random.uniform(0, units))};
    h.tests.push_back(test);
  }
  if (random.uniform() < 0.5) h.releases = {{start + 3, "physician", ""}};
  if (random.uniform() < 0.5) h.best_lifts = {{start, plan::Lift::FrontSquat, 87.5}};
  if (random.uniform() < 0.5) {
    h.standard_errors = {{"knee_to_wall_distance", {0.004, 3, 0.25, "own repeats"}}};
  }
  return h;
}

TEST(HistoryJson, WritingAndReadingAgainChangesNothing) {
  for (std::uint64_t i = 0; i < 300; ++i) {
    const plan::History h = random_history(i);
    const std::string text = write_history_json(h, built_in_protocols());
    const HistoryReading reading = read(text);
    ASSERT_TRUE(reading.history) << reading.faults.front() << text;
    EXPECT_EQ(write_history_json(*reading.history, built_in_protocols()), text);
    ASSERT_EQ(reading.history->tests.size(), h.tests.size());
    for (std::size_t k = 0; k < h.tests.size(); ++k) {
      EXPECT_NEAR(reading.history->tests[k].tries[0], h.tests[k].tries[0], 1e-7);
      EXPECT_EQ(reading.history->tests[k].date, h.tests[k].date);
    }
  }
}

}  // namespace
}  // namespace lintel::formats
