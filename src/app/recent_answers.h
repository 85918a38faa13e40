// The latest answers by what they answer, so that the same question is not computed twice.
#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <utility>

namespace lintel::app {

// Thread-safe; keeps at most `capacity` answers, the least lately used goes first.
template <typename T>
class RecentAnswers {
 public:
  explicit RecentAnswers(std::size_t capacity) : capacity_(capacity) {}

  std::shared_ptr<const T> find(const std::string& key) {
    const std::scoped_lock lock(mutex_);
    for (auto it = entries_.begin(); it != entries_.end(); ++it) {
      if (it->first != key) continue;
      entries_.splice(entries_.begin(), entries_, it);
      return entries_.front().second;
    }
    return nullptr;
  }

  std::shared_ptr<const T> keep(const std::string& key, T answer) {
    auto kept = std::make_shared<const T>(std::move(answer));
    const std::scoped_lock lock(mutex_);
    entries_.emplace_front(key, kept);
    if (entries_.size() > capacity_) entries_.pop_back();
    return kept;
  }

 private:
  std::size_t capacity_;
  std::mutex mutex_;
  std::list<std::pair<std::string, std::shared_ptr<const T>>> entries_;
};

}  // namespace lintel::app
