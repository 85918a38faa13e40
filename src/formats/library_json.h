// What a workplace keeps beside protocols and drills, and shows with them: its own standard errors,
// and which record an own one is.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/test_protocol.h"

namespace lintel::formats {

struct StandardErrorReading {
  std::optional<body::ProtocolError> error;  // SI; only when there is no fault
  std::vector<Error> faults;                 // with field, line and column
};
// "lintel-standard-error-1": {"schema", "protocol", "unit", "value", "tries",
// "share_between_tries", "source"}, the value in the protocol's unit and smaller than its allowed
// range is wide. `share_between_tries` may be left out. Limits: 16 KiB, 4 levels. Never throws.
StandardErrorReading read_standard_error_json(std::string_view text, std::string_view file_name,
                                              const body::TestProtocol& protocol);
std::string write_standard_error_json(const body::TestProtocol& protocol,
                                      const body::ProtocolError& error);

// {"value", "tries", "share_between_tries", "source"} in this unit.
std::string protocol_error_json(const body::ProtocolError& error, body::ProtocolUnit unit);

// When an own one was changed last, and by whom.
struct ChangeMark {
  std::int64_t version = 0;
  std::string_view changed_at, changed_by;
};
// The same as above with version, changed_at and changed_by.
std::string own_error_json(const body::ProtocolError& error, body::ProtocolUnit unit,
                           const ChangeMark& mark);
// {"id", "version", "state", "changed_at", "changed_by", "document"}; the document is JSON and goes
// in as it is.
std::string library_record_json(std::string_view id, std::string_view state, const ChangeMark& mark,
                                std::string_view document);

}  // namespace lintel::formats
