#include "jobs/thread_pool.h"

#include <algorithm>
#include <exception>
#include <utility>

namespace lintel::jobs {

ThreadPool::ThreadPool(std::size_t threads) {
  if (threads == 0) threads = std::max(1U, std::thread::hardware_concurrency());
  for (std::size_t i = 1; i < threads; ++i) {
    workers_.emplace_back([this](const std::stop_token& stop) { work(stop); });
  }
}

ThreadPool::~ThreadPool() {
  for (std::jthread& worker : workers_) worker.request_stop();
}

void ThreadPool::take_items(const std::function<void(std::size_t)>& body, std::size_t count) {
  for (;;) {
    std::size_t item = 0;
    {
      const std::lock_guard lock(mutex_);
      if (next_ >= count || failure_) return;
      item = next_++;
    }
    try {
      body(item);
    } catch (...) {
      const std::lock_guard lock(mutex_);
      if (!failure_) failure_ = std::current_exception();
      return;
    }
  }
}

void ThreadPool::work(const std::stop_token& stop) {
  std::size_t seen = 0;
  for (;;) {
    const std::function<void(std::size_t)>* body = nullptr;
    std::size_t count = 0;
    {
      std::unique_lock lock(mutex_);
      if (!wake_.wait(lock, stop, [&] { return generation_ != seen; })) return;
      seen = generation_;
      // The caller may have finished the work alone and left before this thread woke.
      if (body_ == nullptr) continue;
      body = body_;
      count = count_;
      ++busy_;
    }
    take_items(*body, count);
    {
      const std::lock_guard lock(mutex_);
      --busy_;
    }
    done_.notify_one();
  }
}

void ThreadPool::parallel_for(std::size_t count, const std::function<void(std::size_t)>& body) {
  {
    const std::lock_guard lock(mutex_);
    body_ = &body;
    count_ = count;
    next_ = 0;
    failure_ = nullptr;
    ++generation_;
  }
  wake_.notify_all();
  take_items(body, count);
  std::unique_lock lock(mutex_);
  done_.wait(lock, [&] { return busy_ == 0; });
  body_ = nullptr;
  if (failure_) std::rethrow_exception(std::exchange(failure_, nullptr));
}

}  // namespace lintel::jobs
