// One visit's mobility tests as a file, "lintel-tests-1" (docs/schema/tests.schema.json), and what
// came of them, "lintel-tests-outcome-1".
//
// {"schema": "lintel-tests-1", "athlete": "id", "date": "2026-11-25", "tester": "...",
//  "hand_breadth_cm": 8.4, "notes": "...",
//  "results": [{"protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [9.5, 10, 10.5],
//               "device": "tape", "notes": "..."},
//              {"protocol": "arms_wall_turned_out", "side": "right", "reached": false},
//              {"protocol": "...", "side": "left", "tries_deg": [41.2], "tries_error_deg": 3,
//               "photo": {"file": "a.jpg", "sha256": "...", "network": "full", "moved":
//               ["knee"]}}],
//  "standard_errors": [{"protocol": "knee_to_wall_distance", "value_cm": 0.4, "tries": 3,
//                       "source": "12 athletes twice, June"}]}
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/test_outcome.h"

namespace lintel::formats {

struct TestRecordReading {
  std::optional<body::TestRecord> record;  // only when there is no fault
  std::vector<Error> faults;               // all (at most 100), with field, line and column
};

// Strict, against these protocols: unknown ids and keys name the nearest known one; the unit in a
// key must be the protocol's; values must lie in its range. Limits: 1 MiB. Never throws.
TestRecordReading read_test_record_json(std::string_view text, std::string_view file_name,
                                        const std::vector<body::TestProtocol>& protocols);

struct OwnErrorReading {
  std::optional<body::OwnError> error;  // only when there is no fault
  std::vector<Error> faults;
};

// The tester's own error of a protocol out of a reliability report, "lintel-reliability-1": its
// "own_error". Errors: those of a record's standard_errors; Invalid when the report was made
// without a protocol. Never throws.
OwnErrorReading read_own_error_json(std::string_view text, std::string_view file_name,
                                    const std::vector<body::TestProtocol>& protocols);

// The file for this record; its protocols must be among those given.
std::string write_test_record_json(const body::TestRecord& record,
                                   const std::vector<body::TestProtocol>& protocols);

// What the record says, with the cautions. Never fails.
std::string write_test_outcome_json(const body::TestRecord& record,
                                    const body::RecordOutcome& outcome);

}  // namespace lintel::formats
