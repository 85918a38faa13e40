// Which drills fit together into the sessions of a week. Inside this module.
#pragma once

#include <optional>
#include <span>
#include <vector>

namespace lintel::plan {

// Something that takes `time` in each of `times` different sessions.
struct PackedItem {
  long time = 0;  // [s], whole
  int times = 1;
};

// Exact: is there a way to put every item into that many different sessions so that no session
// takes more than `capacity`? sessions 1 to 7, at most some ten items.
bool fits_into_sessions(std::span<const PackedItem> items, int sessions, long capacity);

// The sessions of each item (ascending): spread over the week where there is a choice, sessions of
// like length. Nothing if it does not fit.
std::optional<std::vector<std::vector<int>>> pack_sessions(std::span<const PackedItem> items,
                                                           int sessions, long capacity);

}  // namespace lintel::plan
