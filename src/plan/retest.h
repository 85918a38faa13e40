// When to test again: not before the gain that others have published can show in this test.
#pragma once

#include <optional>
#include <string>

#include "base/date.h"
#include "body/measurement_error.h"

namespace lintel::plan {

// A published response to a drill, in the unit of the test that follows it (SI inside core).
struct PublishedGain {
  double gain = 0.0;                // mean gain at the end of the trials
  double standard_deviation = 0.0;  // between people, 0 = not known
  double weeks = 6.0;               // after which the gain was measured
};

// Mean gain after `weeks` of training: in equal steps up to the length of the published trials, and
// no further, for nothing is published beyond it (conservative). weeks <= 0 gives 0.
double expected_gain(const PublishedGain& published, double weeks);

struct RetestRules {
  int trials = 3;          // tries averaged at both sessions
  int shortest_weeks = 2;  // common practice, no source
  int longest_weeks = 12;  // after which a re-test is due in any case; common practice, no source
};

struct RetestAdvice {
  int weeks = 0;                     // test again after this many whole weeks
  bool detectable = false;           // the expected gain then exceeds the detectable change
  double expected_gain = 0.0;        // by then
  double detectable_change = 0.0;    // MDC95 of the mean of `trials` tries, both sessions alike
  std::optional<int> trials_needed;  // not detectable: tries a session that would make it so
};

// The first whole week from shortest_weeks on at which the expected published gain exceeds the
// detectable change; longest_weeks with `detectable` false if there is none ("no detectable change
// is to be expected": a re-test then only watches for harm). Follows section "Reading" of the dose
// table: calf stretching gains about as much as the ankle test can show, hence weeks 6 to 8 and
// three averaged tries (Medeiros et al. 2018 against Powden et al. 2015).
RetestAdvice earliest_retest(const PublishedGain& published, const body::MeasurementError& error,
                             const RetestRules& rules = {});

// Why then, in one sentence for people. Both numbers are rounded there: where that makes them the
// same, words say which is the larger. is_length: centimetres, else degrees.
std::string retest_reason(const RetestAdvice& advice, bool is_length);

// The day of that: `weeks` after `start`.
inline Date retest_date(Date start, const RetestAdvice& advice) {
  return start + 7 * advice.weeks;
}

}  // namespace lintel::plan
