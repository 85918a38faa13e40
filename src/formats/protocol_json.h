// Protocols of mobility tests as files, "lintel-protocol-1" (docs/schema/protocol.schema.json).
// Numbers are in the file's own `unit`: deg, cm or s.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/test_protocol.h"

namespace lintel::formats {

struct ProtocolReading {
  std::optional<body::TestProtocol> protocol;  // only when there is no fault
  std::vector<Error> faults;                   // all (at most 100), with field, line and column
  // Its name and drawing as far as they read, whatever is at fault elsewhere.
  std::string name;
  std::optional<Sketch> drawing;
};

// Strict: every text, source and caution must be there, a source is a citation or says "common
// practice, no source"; unknown keys and words are faults that name the nearest known one. A
// protocol that fills a test of the model must allow that test's range of data/mobility/ranges.csv.
// Limits: 256 KiB, 12 levels. Never throws.
ProtocolReading read_protocol_json(std::string_view text, std::string_view file_name);

// The file for this protocol; reading it gives the same protocol back (to rounding).
std::string write_protocol_json(const body::TestProtocol& protocol);

// One protocol for a program to show, "lintel-protocol-card-1": the file's content and the general
// cautions; and the whole library, "lintel-protocol-list-1", each with state and own_error.
std::string write_protocol_card_json(const body::TestProtocol& protocol);
std::string write_protocol_list_json(const std::vector<body::TestProtocol>& protocols);

// The protocols of data/protocols, in the order in which a visit would take them (by id within
// what they inform). Read once, at first use; safe from any thread.
const std::vector<body::TestProtocol>& built_in_protocols();

}  // namespace lintel::formats
