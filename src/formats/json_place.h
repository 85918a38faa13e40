// From a field path back to its value in the document: places for faults that are found later.
// Inside this module.
#pragma once

#include <string_view>

#include "base/result.h"
#include "formats/located_json.h"

namespace lintel::formats {

// The value at "doses[1].sets", or the deepest one on the way that the document has.
const JsonValue& value_at(const JsonValue& root, std::string_view field);

// Adds faults of core, which know their field only, with the place of that field.
void add_with_places(const JsonValue& root, std::vector<Error> errors, FaultList& faults);

}  // namespace lintel::formats
