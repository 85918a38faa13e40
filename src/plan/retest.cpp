#include "plan/retest.h"

#include <algorithm>
#include <cmath>

namespace lintel::plan {
namespace {

constexpr int kMostTrials = 10;  // that one would ask of anybody in one session

double detectable(const body::MeasurementError& error, int trials) {
  const double of_mean = body::error_of_mean(error, trials);
  return body::minimal_detectable_change(of_mean, of_mean);
}

}  // namespace

double expected_gain(const PublishedGain& published, double weeks) {
  if (!(weeks > 0) || !(published.weeks > 0)) return 0.0;
  return published.gain * std::min(weeks / published.weeks, 1.0);
}

RetestAdvice earliest_retest(const PublishedGain& published, const body::MeasurementError& error,
                             const RetestRules& rules) {
  const int trials = std::max(rules.trials, 1);
  const int shortest = std::max(rules.shortest_weeks, 1);
  const int longest = std::max(rules.longest_weeks, shortest);
  RetestAdvice advice;
  advice.detectable_change = detectable(error, trials);
  advice.weeks = longest;
  for (int weeks = shortest; weeks <= longest; ++weeks) {
    if (expected_gain(published, weeks) > advice.detectable_change) {
      advice.weeks = weeks;
      advice.detectable = true;
      break;
    }
  }
  advice.expected_gain = expected_gain(published, advice.weeks);
  if (advice.detectable) return advice;
  for (int more = trials + 1; more <= kMostTrials; ++more) {
    if (advice.expected_gain > detectable(error, more)) {
      advice.trials_needed = more;
      break;
    }
  }
  return advice;
}

}  // namespace lintel::plan
