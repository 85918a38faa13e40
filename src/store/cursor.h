// Inside of store/: where a page of a list ended, as one opaque text.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::store {

std::string write_cursor(const std::vector<std::string>& fields);
// Errors: Invalid (field "after") when it was not made by write_cursor with so many fields.
Result<std::vector<std::string>> read_cursor(std::string_view cursor, std::size_t fields);
// Errors: Invalid (field "limit") outside of 1 to 500.
Result<void> check_limit(int limit);

}  // namespace lintel::store
