// Mobility tests in words, for a terminal.
#pragma once

#include <string>
#include <vector>

#include "body/test_outcome.h"

namespace lintel::app {

std::string protocol_list_text(const std::vector<body::TestProtocol>& protocols);
std::string protocol_card_text(const body::TestProtocol& protocol);
std::string record_outcome_text(const body::TestRecord& record, const body::RecordOutcome& outcome,
                                const std::string& athlete_name);

// "41 deg", "9.5 cm", in the protocol's unit.
std::string value_text(double si, body::ProtocolUnit unit);
// "41 +/- 2 deg"
std::string estimate_text(const Estimate& e, body::ProtocolUnit unit);

}  // namespace lintel::app
