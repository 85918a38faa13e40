// One element of a record's results as JSON. Inside this module; includes the JSON library.
#pragma once

#include "body/test_record.h"
#include "formats/json_numbers.h"

namespace lintel::formats {

Json test_entry_json(const body::TestEntry& entry, const body::TestProtocol& protocol);

}  // namespace lintel::formats
