// How often one name may do something: so many a minute, with a burst of the same number.
#pragma once

#include <chrono>
#include <map>
#include <mutex>
#include <string>

namespace lintel::server {

// Thread-safe. Forgets names whose bucket is full again; holds at most `names` of them and beyond
// that forgets the fullest first, so that a flood of names costs bounded memory.
class TokenBuckets {
 public:
  using Clock = std::chrono::steady_clock;
  explicit TokenBuckets(std::size_t names = 20'000) : names_(names) {}

  // Takes one token. Zero = taken; else after how many seconds there will be one.
  int take(const std::string& name, int per_minute, Clock::time_point now = Clock::now());

 private:
  struct Bucket {
    double tokens = 0.0;
    int per_minute = 0;
    Clock::time_point at;
  };
  void make_room(Clock::time_point now);

  std::size_t names_;
  std::mutex mutex_;
  std::map<std::string, Bucket> buckets_;
};

}  // namespace lintel::server
