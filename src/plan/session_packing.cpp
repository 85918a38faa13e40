#include "plan/session_packing.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <numeric>
#include <set>
#include <utility>

#include "base/result.h"

namespace lintel::plan {
namespace {

constexpr int kMostSessions = 7;
using Room = std::array<long, kMostSessions>;  // what is left in each session, unused ones 0

// The longest first: what is hard to place is placed while there is room.
std::vector<std::size_t> longest_first(std::span<const PackedItem> items) {
  std::vector<std::size_t> order(items.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&items](std::size_t a, std::size_t b) {
    return std::pair(items[a].time, items[a].times) > std::pair(items[b].time, items[b].times);
  });
  return order;
}

// Depth first over items; sessions with the same room are alike, so only the multiset of rooms
// counts, and a multiset that failed once is not tried again.
class Fit {
 public:
  Fit(std::span<const PackedItem> items, int sessions)
      : items_(items), sessions_(sessions), order_(longest_first(items)) {}

  bool place(std::size_t position, Room room) {
    if (position == order_.size()) return true;
    std::sort(room.begin(), room.begin() + sessions_, std::greater<>());
    if (!failed_.insert({position, room}).second) return false;
    const PackedItem& item = items_[order_[position]];
    if (place_emptiest(position, room, item)) return true;
    return place_any(position, room, item, 0, item.times);
  }

 private:
  // The usual case: the sessions with most room.
  bool place_emptiest(std::size_t position, Room room, const PackedItem& item) {
    if (item.times > sessions_) return false;
    for (int i = 0; i < item.times; ++i) {
      room[static_cast<std::size_t>(i)] -= item.time;
      if (room[static_cast<std::size_t>(i)] < 0) return false;
    }
    return place(position + 1, room);
  }

  bool place_any(std::size_t position, Room room, const PackedItem& item, int from, int left) {
    if (left == 0) return place(position + 1, room);
    if (sessions_ - from < left) return false;
    const auto here = static_cast<std::size_t>(from);
    if (room[here] < item.time) return false;  // sorted: the rest has no more room
    Room taken = room;
    taken[here] -= item.time;
    if (place_any(position, taken, item, from + 1, left - 1)) return true;
    // Skip all sessions with the same room: taking a later one of them is the same.
    int next = from + 1;
    while (next < sessions_ && room[static_cast<std::size_t>(next)] == room[here]) ++next;
    return place_any(position, room, item, next, left);
  }

  std::span<const PackedItem> items_;
  int sessions_;
  std::vector<std::size_t> order_;
  std::set<std::pair<std::size_t, Room>> failed_;
};

// Squared gaps between the chosen sessions round the week: the least is the most even spread.
int unevenness(unsigned chosen, int sessions) {
  std::vector<int> at;
  for (int i = 0; i < sessions; ++i) {
    if ((chosen >> i & 1u) != 0) at.push_back(i);
  }
  int sum = 0;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const int next = i + 1 < at.size() ? at[i + 1] : at[0] + sessions;
    sum += (next - at[i]) * (next - at[i]);
  }
  return sum;
}

// Depth first over subsets of sessions, the even and empty ones first. Whether the rest fits
// depends on the multiset of rooms alone, so what failed once is not tried again.
class Spread {
 public:
  Spread(std::span<const PackedItem> items, int sessions)
      : items_(items), sessions_(sessions), order_(longest_first(items)), chosen_(items.size()) {}

  bool place(std::size_t position, const Room& room) {
    if (position == order_.size()) return true;
    Room sorted = room;
    std::sort(sorted.begin(), sorted.end());
    if (!failed_.insert({position, sorted}).second) return false;
    const PackedItem& item = items_[order_[position]];
    for (const unsigned subset : subsets_for(item, room)) {
      Room left = room;
      bool fits = true;
      for (int i = 0; i < sessions_; ++i) {
        if ((subset >> i & 1u) == 0) continue;
        left[static_cast<std::size_t>(i)] -= item.time;
        fits = fits && left[static_cast<std::size_t>(i)] >= 0;
      }
      if (!fits) continue;
      chosen_[order_[position]] = subset;
      if (place(position + 1, left)) return true;
    }
    return false;
  }

  std::vector<std::vector<int>> sessions_of_items() const {
    std::vector<std::vector<int>> out(chosen_.size());
    for (std::size_t k = 0; k < chosen_.size(); ++k) {
      for (int i = 0; i < sessions_; ++i) {
        if ((chosen_[k] >> i & 1u) != 0) out[k].push_back(i);
      }
    }
    return out;
  }

 private:
  std::vector<unsigned> subsets_for(const PackedItem& item, const Room& room) const {
    struct Rated {
      int uneven;
      long fullness;
      unsigned subset;
      auto operator<=>(const Rated&) const = default;
    };
    std::vector<Rated> rated;
    for (unsigned subset = 1; subset < (1u << sessions_); ++subset) {
      if (std::popcount(subset) != item.times) continue;
      long fullness = 0;
      for (int i = 0; i < sessions_; ++i) {
        if ((subset >> i & 1u) != 0) fullness -= room[static_cast<std::size_t>(i)];
      }
      rated.push_back({unevenness(subset, sessions_), fullness, subset});
    }
    std::sort(rated.begin(), rated.end());
    std::vector<unsigned> out;
    for (const Rated& r : rated) out.push_back(r.subset);
    return out;
  }

  std::span<const PackedItem> items_;
  int sessions_;
  std::vector<std::size_t> order_;
  std::vector<unsigned> chosen_;
  std::set<std::pair<std::size_t, Room>> failed_;
};

Room full_room(int sessions, long capacity) {
  Room room{};
  for (int i = 0; i < sessions; ++i) room[static_cast<std::size_t>(i)] = capacity;
  return room;
}

}  // namespace

bool fits_into_sessions(std::span<const PackedItem> items, int sessions, long capacity) {
  long total = 0;
  for (const PackedItem& item : items) {
    if (item.times > sessions || item.time > capacity) return false;
    total += item.time * item.times;
  }
  if (total > capacity * sessions) return false;
  return Fit(items, sessions).place(0, full_room(sessions, capacity));
}

std::optional<std::vector<std::vector<int>>> pack_sessions(std::span<const PackedItem> items,
                                                           int sessions, long capacity) {
  if (!fits_into_sessions(items, sessions, capacity)) return std::nullopt;
  Spread spread(items, sessions);
  LINTEL_CHECK(spread.place(0, full_room(sessions, capacity)));
  return spread.sessions_of_items();
}

}  // namespace lintel::plan
