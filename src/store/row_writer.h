// Inside of store/: many rows into one table with few statements.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "store/sql.h"

namespace lintel::store {

using Cell = std::variant<std::monostate, std::string, std::int64_t, double>;  // monostate: NULL

// `columns` is the list between the brackets: "record, name". Each row has as many cells. `ending`
// follows the rows: "ON CONFLICT DO NOTHING".
Result<void> insert_rows(Transaction& t, std::string_view doing, std::string_view table,
                         std::string_view columns, const std::vector<std::vector<Cell>>& rows,
                         std::string_view ending = {});

}  // namespace lintel::store
