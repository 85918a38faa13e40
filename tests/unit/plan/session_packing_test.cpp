#include "plan/session_packing.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "base/random.h"

namespace lintel::plan {
namespace {

TEST(SessionPacking, FindsTheOneWayThatThereIs) {
  // Three sessions: 6 + 4, 5 + 4, 5 + 1 is the way at 10; at 8 a 4 would have to join a 5.
  const std::vector<PackedItem> items = {{6, 1}, {4, 2}, {5, 2}, {1, 1}};
  EXPECT_TRUE(fits_into_sessions(items, 3, 10));
  EXPECT_FALSE(fits_into_sessions(items, 3, 8));
}

TEST(SessionPacking, RefusesMoreTimesThanSessions) {
  const std::vector<PackedItem> items = {{1, 4}};
  EXPECT_FALSE(fits_into_sessions(items, 3, 100));
  EXPECT_FALSE(pack_sessions(items, 3, 100).has_value());
}

TEST(SessionPacking, SpreadsADrillOverTheWeekWhereItCan) {
  const std::vector<PackedItem> items = {{5, 2}};
  const auto packed = pack_sessions(items, 6, 10);
  ASSERT_TRUE(packed.has_value());
  EXPECT_EQ((*packed)[0][1] - (*packed)[0][0], 3);
}

TEST(SessionPacking, WhatItSaysFitsIsPackedWithinEverySession) {
  int packed_count = 0;
  for (std::uint64_t seed = 1; seed <= 3000; ++seed) {
    Random random(seed);
    const int sessions = 1 + static_cast<int>(random.next() % 7);
    std::vector<PackedItem> items(1 + random.next() % 7);
    for (PackedItem& item : items) {
      item = {static_cast<long>(1 + random.next() % 9),
              1 + static_cast<int>(random.next() % static_cast<std::uint64_t>(sessions))};
    }
    const long capacity = static_cast<long>(6 + random.next() % 15);
    const auto packed = pack_sessions(items, sessions, capacity);
    ASSERT_EQ(packed.has_value(), fits_into_sessions(items, sessions, capacity));
    if (!packed) continue;
    ++packed_count;
    std::vector<long> load(static_cast<std::size_t>(sessions), 0);
    for (std::size_t i = 0; i < items.size(); ++i) {
      ASSERT_EQ((*packed)[i].size(), static_cast<std::size_t>(items[i].times));
      ASSERT_TRUE(std::is_sorted((*packed)[i].begin(), (*packed)[i].end()));
      for (const int s : (*packed)[i]) load[static_cast<std::size_t>(s)] += items[i].time;
    }
    for (const long l : load) EXPECT_LE(l, capacity);
  }
  EXPECT_GT(packed_count, 300);
}

}  // namespace
}  // namespace lintel::plan
