#include "server/work_pool.h"

#include <utility>

namespace lintel::server {

WorkPool::WorkPool(int threads, std::size_t queue) : limit_(queue) {
  for (int i = 0; i < threads; ++i) threads_.emplace_back([this] { run(); });
}

WorkPool::~WorkPool() {
  {
    const std::lock_guard lock(mutex_);
    closed_ = true;
  }
  filled_.notify_all();
}

bool WorkPool::try_post(Work work) {
  {
    const std::lock_guard lock(mutex_);
    if (queue_.size() >= limit_) return false;
    queue_.push_back(std::move(work));
  }
  filled_.notify_one();
  return true;
}

void WorkPool::post(Work work) {
  {
    const std::lock_guard lock(mutex_);
    queue_.push_back(std::move(work));
  }
  filled_.notify_one();
}

void WorkPool::run() {
  while (true) {
    Work work;
    {
      std::unique_lock lock(mutex_);
      filled_.wait(lock, [&] { return closed_ || !queue_.empty(); });
      if (queue_.empty()) return;
      work = std::move(queue_.front());
      queue_.pop_front();
    }
    work();
  }
}

}  // namespace lintel::server
