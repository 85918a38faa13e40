#include "plan/retest.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "base/units.h"

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

std::string retest_reason(const RetestAdvice& advice, bool is_length) {
  const double unit = is_length ? 100.0 : kDegreesPerRadian;
  const auto in_unit = [&](double si) {
    return text("%.1f %s", si * unit, is_length ? "cm" : "degrees");
  };
  const std::string gain = in_unit(advice.expected_gain);
  const std::string change = in_unit(advice.detectable_change);
  const bool same = gain == change;
  if (advice.detectable) {
    return (same ? "By then a gain just above the " + change + " that the test can show is expected"
                 : "By then a gain of " + gain + " is expected, more than the " + change +
                       " that the test can show") +
           "; earlier a difference would be noise.";
  }
  const std::string what =
      gain == in_unit(0.0) ? std::string("Next to no gain is expected by then")
      : same ? "The expected gain stays just below the " + change + " that the test can show"
             : "The expected gain of " + gain + " stays below the " + change +
                   " that the test can show";
  return what + ": this re-test only watches that nothing gets worse.";
}

}  // namespace lintel::plan
