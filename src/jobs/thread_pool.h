// A fixed set of threads behind the Executor interface.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "base/executor.h"

namespace lintel::jobs {

// parallel_for may be called from one thread at a time; the calling thread works too. An exception
// thrown by the body is rethrown to the caller after all work has stopped.
class ThreadPool final : public Executor {
 public:
  explicit ThreadPool(std::size_t threads);  // 0 = one for each core
  ~ThreadPool() override;

  void parallel_for(std::size_t count, const std::function<void(std::size_t)>& body) override;
  std::size_t thread_count() const override { return workers_.size() + 1; }

 private:
  void work(const std::stop_token& stop);
  void take_items(const std::function<void(std::size_t)>& body, std::size_t count);

  std::mutex mutex_;
  std::condition_variable_any wake_;
  std::condition_variable done_;
  const std::function<void(std::size_t)>* body_ = nullptr;
  std::size_t count_ = 0;
  std::size_t next_ = 0;
  std::size_t busy_ = 0;
  std::size_t generation_ = 0;
  std::exception_ptr failure_;
  std::vector<std::jthread> workers_;
};

}  // namespace lintel::jobs
