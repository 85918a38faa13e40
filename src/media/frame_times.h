// Turns the time stamps of a container into seconds that always increase. Internal.
#pragma once

#include <cstdint>
#include <optional>

namespace lintel::media {

struct FrameTime {
  double time_s = 0.0;  // since the first frame
  bool repaired = false;
};

// Rules: a missing stamp is one nominal interval after the last frame; a repeated stamp, or one
// that runs back less than half a second, is moved half a nominal interval behind the last frame,
// so that the next true stamp still fits; a jump back by more, or forward by more than ten minutes,
// is a break in the numbering, bridged by one nominal interval and shifted from there on.
class FrameTimes {
 public:
  // tick_s: seconds per unit of pts; nominal_interval_s: 0 = not known (1/30 s is taken).
  FrameTimes(double tick_s, double nominal_interval_s);
  FrameTime add(std::optional<std::int64_t> pts);

  std::int64_t repaired_count() const { return repaired_; }
  double shortest_interval_s() const { return shortest_; }
  double longest_interval_s() const { return longest_; }
  double mean_interval_s() const;  // 0 before the second frame
  bool variable_rate() const;      // intervals spread over more than a quarter of their mean
  // Another run through the same clip begins (after a jump to another place).
  void forget_last();

 private:
  double tick_;
  double interval_;
  std::optional<double> origin_;  // unshifted time of the first frame
  double shift_ = 0.0;
  std::optional<double> last_;
  double shortest_ = 0.0;
  double longest_ = 0.0;
  double interval_sum_ = 0.0;
  std::int64_t interval_count_ = 0;
  std::int64_t repaired_ = 0;
};

}  // namespace lintel::media
