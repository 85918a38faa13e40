#include "store/session_pool.h"

#include <algorithm>
#include <utility>

namespace lintel::store {

SessionPool::SessionPool(int size, Open open) : open_(std::move(open)) {
  free_.resize(static_cast<std::size_t>(std::max(1, size)));
}

SessionPool::Lease::~Lease() {
  if (pool_) pool_->give_back(std::move(session_));
}

Result<SessionPool::Lease> SessionPool::take(Clock::time_point deadline) {
  std::unique_lock lock(mutex_);
  if (!free_again_.wait_until(lock, deadline, [&] { return !free_.empty(); })) {
    return fail(ErrorCode::Io, "the database is busy", "try again in a moment");
  }
  std::unique_ptr<soci::session> session = std::move(free_.back());
  free_.pop_back();
  lock.unlock();
  if (!session) {
    Result<std::unique_ptr<soci::session>> opened = open_();
    if (!opened) {
      give_back(nullptr);
      return fail(std::move(opened).error());
    }
    session = std::move(opened).value();
  }
  return Lease(*this, std::move(session));
}

void SessionPool::give_back(std::unique_ptr<soci::session> session) {
  {
    const std::lock_guard lock(mutex_);
    // Opened ones at the end, where the next one is taken; others wait until they are needed.
    free_.insert(session ? free_.end() : free_.begin(), std::move(session));
  }
  free_again_.notify_one();
}

}  // namespace lintel::store
