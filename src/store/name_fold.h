// Inside of store/ and for its tests: names without accents and case, to search and to sort by.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lintel::store {

// "Brïnvik-Ås, Ansa" -> "brinvik as ansa": lower-case letters and digits, words apart by one space.
// Apostrophes vanish, other ASCII signs part words; letters of other scripts and bytes that are no
// UTF-8 stay as they are. Table: data/names/folding.txt. Thread-safe.
std::string fold_name(std::string_view name);

// The words of a search, folded.
std::vector<std::string> search_parts(std::string_view search);

}  // namespace lintel::store
