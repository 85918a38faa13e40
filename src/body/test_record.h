// The results of mobility tests of one visit, as they were taken.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/units.h"
#include "body/test_protocol.h"

namespace lintel::body {

enum class TestSide : std::uint8_t { Left, Right, Both };  // Both: a protocol without sides
std::string_view test_side_name(TestSide side);            // "left", "right", "both"

enum class Reached : std::uint8_t { Yes, No };

// Where a photo came from and what was read off it.
struct PhotoProvenance {
  std::string file;                // name without folder
  std::string sha256;              // of the file's bytes
  std::string network;             // "full", ...; empty = all points by hand
  std::vector<std::string> moved;  // points that a person put right
};

// One protocol on one side: numbers or reach / no reach.
struct TestEntry {
  std::string protocol;
  TestSide side = TestSide::Both;
  std::vector<double> tries;          // SI, in the order they were done
  std::optional<Reached> reached;     // then there are no tries
  std::optional<double> tries_error;  // SI, standard error of each number itself (of a photo)
  std::string device;
  std::optional<PhotoProvenance> photo;
  std::string notes;
};

// The practitioner's own error of a protocol, from repeated measurements (lintel tests
// reliability); stands in place of the published one.
struct OwnError {
  std::string protocol;
  ProtocolError error;
};

struct TestRecord {
  std::string athlete_id;
  Date date;
  std::string tester;
  std::optional<Estimate> hand_breadth;  // the athlete's own [m]
  std::vector<TestEntry> results;
  std::vector<OwnError> standard_errors;
  std::string notes;
};

}  // namespace lintel::body
