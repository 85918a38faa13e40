// Threads that run handlers, so that the io thread never waits for a disk or a database.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace lintel::server {

class WorkPool {
 public:
  using Work = std::function<void()>;  // must not throw
  WorkPool(int threads, std::size_t queue);
  ~WorkPool();  // runs what is in the queue, then ends

  // False when the queue is full.
  bool try_post(Work work);
  // For the rest of something already begun (pieces of a file, events): never refused.
  void post(Work work);

 private:
  void run();

  const std::size_t limit_;
  std::mutex mutex_;
  std::condition_variable filled_;
  std::deque<Work> queue_;
  bool closed_ = false;
  std::vector<std::jthread> threads_;
};

}  // namespace lintel::server
