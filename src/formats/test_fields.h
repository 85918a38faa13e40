// The fields that every file with mobility tests shares: protocol, side, tries, own standard error.
// Inside this module.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "body/test_record.h"
#include "formats/field_reader.h"

namespace lintel::formats {

// Reads against these protocols, which must outlive it. `path` as in FieldReader.
class TestFields {
 public:
  TestFields(FieldReader& read, const std::vector<body::TestProtocol>& protocols);

  // "protocol"; nullptr and a fault that names the nearest id when it is not known.
  const body::TestProtocol* protocol(const JsonValue& item, const std::string& path);
  // "side", left or right for a protocol with sides and nothing for one without.
  body::TestSide side(const JsonValue& item, const std::string& path,
                      const body::TestProtocol& protocol);
  // "tries_deg", "tries_cm" or "tries_s": one to twenty numbers in the protocol's range, SI.
  std::vector<double> tries(const JsonValue& item, const std::string& path,
                            const body::TestProtocol& protocol);
  // An entry of "standard_errors".
  std::optional<body::OwnError> own_error(const JsonValue& item, const std::string& path);

 private:
  FieldReader& read_;
  const std::vector<body::TestProtocol>& protocols_;
  std::vector<std::string> ids_;
};

std::string tries_key(const body::TestProtocol& protocol);  // "tries_cm"

}  // namespace lintel::formats
