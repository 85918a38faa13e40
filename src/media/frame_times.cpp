#include "media/frame_times.h"

#include <algorithm>

namespace lintel::media {
namespace {

constexpr double kFallbackInterval = 1.0 / 30.0;
constexpr double kBackwardBreak = 0.5;
constexpr double kForwardBreak = 600.0;

}  // namespace

FrameTimes::FrameTimes(double tick_s, double nominal_interval_s)
    : tick_(tick_s), interval_(nominal_interval_s > 0.0 ? nominal_interval_s : kFallbackInterval) {}

FrameTime FrameTimes::add(std::optional<std::int64_t> pts) {
  FrameTime result;
  const double stamp = pts ? static_cast<double>(*pts) * tick_ : 0.0;
  if (!last_) {
    if (!origin_) {
      origin_ = stamp;
      result.repaired = !pts.has_value();
    } else {
      result.time_s = pts ? stamp - *origin_ + shift_ : 0.0;
      result.repaired = !pts.has_value();
    }
  } else if (!pts) {
    result = {*last_ + interval_, true};
  } else {
    const double time = stamp - *origin_ + shift_;
    if (time < *last_ - kBackwardBreak || time > *last_ + kForwardBreak) {
      result = {*last_ + interval_, true};
      shift_ += result.time_s - time;
    } else if (time <= *last_) {
      result = {*last_ + 0.5 * interval_, true};
    } else {
      result.time_s = time;
    }
  }
  if (last_ && !result.repaired) {
    const double gap = result.time_s - *last_;
    shortest_ = interval_count_ == 0 ? gap : std::min(shortest_, gap);
    longest_ = std::max(longest_, gap);
    interval_sum_ += gap;
    ++interval_count_;
  }
  if (result.repaired) ++repaired_;
  last_ = result.time_s;
  return result;
}

double FrameTimes::mean_interval_s() const {
  return interval_count_ == 0 ? 0.0 : interval_sum_ / static_cast<double>(interval_count_);
}

bool FrameTimes::variable_rate() const {
  return interval_count_ > 1 && longest_ - shortest_ > 0.25 * mean_interval_s();
}

void FrameTimes::forget_last() {
  last_.reset();
}

}  // namespace lintel::media
