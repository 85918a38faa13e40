// The log of one athlete as a file, "lintel-history-1" (docs/schema/history.schema.json): what was
// done, how the tests came out, what a clinician said.
//
// {"schema": "lintel-history-1", "athlete": "a-017",
//  "sessions": [{"date": "2026-11-02", "drills": [
//     {"drill": "ankle-wall-rock", "step": 1, "sets": 3, "repetitions": 8, "hold_s": 2, "load_kg":
//     0,
//      "effort": 6, "pain_during": 0, "pain_next_morning": 0, "stop_sign": "heel_lift",
//      "notes": "..."}]}],
//  "tests": [{"date": "2026-11-02", "protocol": "knee_to_wall_distance", "side": "left",
//             "tries_cm": [9.5, 10, 10.5]}],
//  "standard_errors": [as in lintel-tests-1],
//  "releases": [{"date": "2026-11-20", "by": "physician", "notes": "..."}],
//  "best_lifts": [{"date": "2026-10-01", "lift": "snatch", "load_kg": 62.5}]}
//
// "step" counts from 1. Only "drill" and "sets" of a drill must be there; without pain and effort
// nothing moves on.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/test_protocol.h"
#include "plan/drill.h"
#include "plan/history.h"

namespace lintel::formats {

struct HistoryReading {
  std::optional<plan::History> history;  // only when there is no fault; sorted by date
  std::vector<Error> faults;             // all (at most 100), with field, line and column
};

// Strict, against these protocols and drills: unknown ids and keys name the nearest known one; the
// unit in a key must be the protocol's, values in its range; a step must be on the drill's ladder.
// Limits: 4 MiB, 8 levels, 5,000 sessions. Never throws.
HistoryReading read_history_json(std::string_view text, std::string_view file_name,
                                 const std::vector<body::TestProtocol>& protocols,
                                 const std::vector<plan::Drill>& drills);

// The file for this history, ending with a line feed; its protocols must be among those given.
// Reading it gives the same history back, but for rounding to seven significant digits.
std::string write_history_json(const plan::History& history,
                               const std::vector<body::TestProtocol>& protocols);

// One day of it as a record of its own, "lintel-log-1": "date" and "drills" of a session, and what
// else was written down that day: "releases", "best_lifts".
struct DayLog {
  plan::Session session;
  std::vector<plan::ClinicianRelease> releases;
  std::vector<plan::BestLift> best_lifts;
};
struct DayLogReading {
  std::optional<DayLog> log;  // only when there is no fault
  std::vector<Error> faults;
};
// Strict, as above. Limits: 256 KiB. Never throws.
DayLogReading read_day_log_json(std::string_view text, std::string_view file_name,
                                const std::vector<plan::Drill>& drills);
std::string write_day_log_json(const DayLog& log);

}  // namespace lintel::formats
