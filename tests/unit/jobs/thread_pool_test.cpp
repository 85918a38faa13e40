#include "jobs/thread_pool.h"

#include <gtest/gtest.h>
#include <atomic>
#include <stdexcept>
#include <vector>

namespace lintel::jobs {
namespace {

TEST(ThreadPool, DoesEveryItemOnceForAnyNumberOfThreads) {
  for (const std::size_t threads : {1U, 2U, 4U}) {
    ThreadPool pool(threads);
    EXPECT_EQ(pool.thread_count(), threads);
    for (int round = 0; round < 200; ++round) {
      std::vector<std::atomic<int>> done(37);
      pool.parallel_for(done.size(), [&](std::size_t i) { ++done[i]; });
      for (const auto& count : done) EXPECT_EQ(count.load(), 1);
    }
  }
}

TEST(ThreadPool, HandsAnExceptionToTheCallerAndStaysUsable) {
  ThreadPool pool(3);
  EXPECT_THROW(pool.parallel_for(100,
                                 [](std::size_t i) {
                                   if (i == 50) throw std::runtime_error("item 50");
                                 }),
               std::runtime_error);
  std::atomic<int> done = 0;
  pool.parallel_for(10, [&](std::size_t) { ++done; });
  EXPECT_EQ(done.load(), 10);
}

TEST(ThreadPool, NoItemsIsNoWork) {
  ThreadPool pool(2);
  pool.parallel_for(0, [](std::size_t) { FAIL(); });
}

}  // namespace
}  // namespace lintel::jobs
