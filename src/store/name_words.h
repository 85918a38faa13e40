// Inside of store/: the words of athletes' names, so that a search reads the words there are
// instead of every name.
#pragma once

#include <string>

#include "store/records.h"
#include "store/sql.h"

namespace lintel::store {

// The words of a folded name in place of those before; words that nobody has any more are removed.
Result<void> write_name_words(Transaction& t, const Record& athlete,
                              const std::string& folded_name);

}  // namespace lintel::store
