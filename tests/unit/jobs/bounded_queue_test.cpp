#include "jobs/bounded_queue.h"

#include <gtest/gtest.h>
#include <thread>

namespace lintel::jobs {
namespace {

TEST(BoundedQueue, HandsItemsOverInOrderWithAProducerThatIsFaster) {
  BoundedQueue<int> queue(3);
  std::jthread producer([&] {
    for (int i = 0; i < 1000; ++i) queue.push(i);
    queue.close();
  });
  int expected = 0;
  while (const std::optional<int> item = queue.pop()) EXPECT_EQ(*item, expected++);
  EXPECT_EQ(expected, 1000);
}

TEST(BoundedQueue, ClosingByTheConsumerStopsAProducerThatWaitsForRoom) {
  BoundedQueue<int> queue(1);
  int pushed = 0;
  std::jthread producer([&] {
    while (queue.push(pushed)) ++pushed;
  });
  EXPECT_TRUE(queue.pop().has_value());
  queue.close();
  producer.join();
  EXPECT_GE(pushed, 1);
}

}  // namespace
}  // namespace lintel::jobs
