// How fast one test is getting better, when it will reach its target, and whether the work works.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "base/units.h"

namespace lintel::plan {

// The model of one test of one side, in the unit of the test; better = larger (turn the sign of a
// test whose smaller numbers are better).
//   value(t) = start + gain * h(t),  gain ~ N(prior.value, prior.standard_error^2),  start flat,
//   observed = value(t) + error,     error ~ N(0, standard error of that session's mean ^2)
//   h(t) = t weeks, or levelling * (1 - exp(-t / levelling)) where gains are known to level off.
// h is fixed, so that the model stays linear and the posterior a closed form.
struct GainModel {
  Estimate prior;                // gain a week before any re-test: mean and spread between people
  double levelling_weeks = 0.0;  // 0 = equal steps
};

struct Observed {
  Date date;
  Estimate value;  // mean of the session's tries; standard error > 0
};

// What the re-tests say about start and gain together, at weeks counted from `origin`.
struct GainPosterior {
  Date origin;
  Estimate start;         // value at the origin
  Estimate gain;          // a week, at the origin
  double covariance = 0;  // of the two
  double levelling_weeks = 0.0;
  int sessions = 0;  // that went in
  Date last;         // the latest of them
};

// Errors: Invalid without an observation, with a standard error that is not above 0, a prior whose
// spread is not above 0, or numbers that are not finite.
Result<GainPosterior> posterior_gain(const GainModel& model, const std::vector<Observed>& observed);

// The true value on a day (not what a test would read), with its standard error.
Estimate value_on(const GainPosterior& posterior, Date day);

// Probability that the true value has reached `target` on that day.
double probability_reached(const GainPosterior& posterior, double target, Date day);

// How this athlete answers, against the expectation: gain over the prior's mean, with its standard
// error; plan::Response of the planner. Nothing if the prior's mean is 0.
std::optional<Estimate> response_multiplier(const GainPosterior& posterior, const GainModel& model);

// Probability that the gain a week (at the origin) exceeds `least`.
double probability_gain_above(const GainPosterior& posterior, double least);

// The first day from `from` on at which the target is reached with at least `probability`; nothing
// if that is later than `longest_weeks` after `from`.
std::optional<Date> date_reached(const GainPosterior& posterior, double target, double probability,
                                 Date from, double longest_weeks);

// Central interval of a normal estimate: 0.95 -> value -+ 1.96 standard errors. level in (0, 1).
struct Interval {
  double low = 0.0;
  double high = 0.0;
};
Interval interval_of(const Estimate& estimate, double level);

struct WorkingRules {
  double least_gain = 0.0;         // a week, below which the work is not worth its time
  double least_probability = 0.2;  // that the gain exceeds it
  double after_weeks = 4.0;        // of training, counted between first and latest test
};

enum class Working : std::uint8_t {
  TooEarly,  // no re-test yet, or not enough weeks
  Yes,       // the gain exceeds the useful minimum with at least 1 - least_probability
  Open,      // neither is clear
  No,        // said early: the gain exceeds it with less than least_probability
};
std::string_view working_name(Working working);  // "too_early", "yes", "open", "no"

Working is_working(const GainPosterior& posterior, const WorkingRules& rules);

}  // namespace lintel::plan
