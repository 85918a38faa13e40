#include "server/token_bucket.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace lintel::server {
namespace {

double refilled(double tokens, int per_minute, std::chrono::steady_clock::duration time) {
  const double minutes = std::chrono::duration<double, std::ratio<60>>(time).count();
  return std::min<double>(per_minute, tokens + minutes * per_minute);
}

}  // namespace

int TokenBuckets::take(const std::string& name, int per_minute, Clock::time_point now) {
  const std::lock_guard lock(mutex_);
  auto found = buckets_.find(name);
  if (found == buckets_.end()) {
    if (buckets_.size() >= names_) make_room(now);
    found = buckets_.emplace(name, Bucket{static_cast<double>(per_minute), per_minute, now}).first;
  }
  Bucket& bucket = found->second;
  bucket.tokens = refilled(bucket.tokens, per_minute, now - bucket.at);
  bucket.at = now;
  bucket.per_minute = per_minute;
  if (bucket.tokens >= 1.0) {
    bucket.tokens -= 1.0;
    return 0;
  }
  return std::max(1, static_cast<int>(std::ceil((1.0 - bucket.tokens) * 60.0 / per_minute)));
}

void TokenBuckets::make_room(Clock::time_point now) {
  std::vector<std::pair<double, std::string>> fullest;
  for (const auto& [name, bucket] : buckets_) {
    const double tokens = refilled(bucket.tokens, bucket.per_minute, now - bucket.at);
    fullest.emplace_back(-tokens / bucket.per_minute, name);
  }
  std::sort(fullest.begin(), fullest.end());
  for (std::size_t i = 0; i < fullest.size(); ++i) {
    if (i > names_ / 4 && fullest[i].first > -1.0) break;
    buckets_.erase(fullest[i].second);
  }
}

}  // namespace lintel::server
