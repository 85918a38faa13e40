// A queue between a producer and a consumer thread that holds at most `capacity` items.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <mutex>
#include <optional>
#include <utility>

namespace lintel::jobs {

template <typename T>
class BoundedQueue {
 public:
  explicit BoundedQueue(std::size_t capacity) : capacity_(capacity) {}

  // Waits for room. False when the queue was closed: the item is dropped and the producer stops.
  bool push(T item) {
    std::unique_lock lock(mutex_);
    room_.wait(lock, [&] { return closed_ || items_.size() < capacity_; });
    if (closed_) return false;
    items_.push_back(std::move(item));
    filled_.notify_one();
    return true;
  }

  // Waits for an item. Nothing when the queue is closed and empty.
  std::optional<T> pop() {
    std::unique_lock lock(mutex_);
    filled_.wait(lock, [&] { return closed_ || !items_.empty(); });
    if (items_.empty()) return std::nullopt;
    T item = std::move(items_.front());
    items_.pop_front();
    room_.notify_one();
    return item;
  }

  // Either side: no more pushes; pops drain what is left.
  void close() {
    const std::lock_guard lock(mutex_);
    closed_ = true;
    room_.notify_all();
    filled_.notify_all();
  }

 private:
  const std::size_t capacity_;
  std::mutex mutex_;
  std::condition_variable room_;
  std::condition_variable filled_;
  std::deque<T> items_;
  bool closed_ = false;
};

}  // namespace lintel::jobs
