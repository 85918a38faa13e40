#include "plan/test_follow_up.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "body/test_outcome.h"
#include "plan/progression_numbers.h"

namespace lintel::plan {
namespace {

double number(std::string_view key) {
  return progression_numbers().value(key);
}

Estimate mean_of(const TestSession& session, const TestFollowed& test) {
  return body::mean_of_tries(session.tries, test.error);
}

double sign_of(body::Better better) {
  return better == body::Better::Lower ? -1.0 : 1.0;
}

// Nothing is known of the gain: none is expected, and what a change of `detectable` takes a while
// to be is as far as it may go in a week.
Estimate prior_without_source(double detectable) {
  return {0.0, detectable / number("forecast.unknown_weeks")};
}

// What is expected of a week before any re-test, in the direction that is better.
Estimate prior_of(const TestFollowed& test) {
  if (test.published && test.published->weeks > 0 && test.published->gain != 0) {
    const double gain = test.published->gain / test.published->weeks;
    const double spread = test.published->standard_deviation / test.published->weeks;
    return {gain, spread > 0 ? spread : std::abs(gain) * number("forecast.unknown_spread")};
  }
  const double error = body::error_of_mean(test.error, RetestRules{}.trials);
  return prior_without_source(body::minimal_detectable_change(error, error));
}

// The least gain a week that is worth the time: a share of what is published, or what suffices for
// the target by the goal date where that is less.
double useful_gain(const TestFollowed& test, const Observed& first) {
  if (!test.published) return 0.0;
  double least = prior_of(test).value * number("working.share_of_published");
  if (test.target && test.goal_date && *test.goal_date > first.date) {
    least = std::min(least, (sign_of(test.better) * *test.target - first.value.value) /
                                weeks_between(first.date, *test.goal_date));
  }
  return std::max(0.0, least);
}

// Means of the sessions with better = larger.
std::vector<Observed> observed_of(const TestSeries& series) {
  std::vector<Observed> observed;
  for (const TestSession* session : series.sessions) {
    Estimate mean = mean_of(*session, *series.test);
    mean.value *= sign_of(series.test->better);
    observed.push_back({session->date, mean});
  }
  return observed;
}

struct Span {
  Date from;
  int weeks = 0;
};

// `observed` with better = larger, which `sign` turns back.
Result<std::vector<FanPoint>> fan_of(const Estimate& prior, const std::vector<Observed>& observed,
                                     double sign, const Span& span) {
  const GainPosterior posterior = LINTEL_TRY(posterior_gain({prior}, observed));
  std::vector<FanPoint> fan;
  for (int week = 0; week <= span.weeks; ++week) {
    const Date day = span.from + 7 * week;
    Estimate value = value_on(posterior, day);
    value.value *= sign;
    fan.push_back({day, value});
  }
  return fan;
}

}  // namespace

std::vector<TestSeries> series_of(const AthleteFollowed& followed, const History& history,
                                  Date today) {
  std::vector<TestSeries> out;
  for (const TestFollowed& test : followed.tests) {
    for (const auto side : {body::TestSide::Left, body::TestSide::Right, body::TestSide::Both}) {
      TestSeries series{&test, side, {}};
      for (const TestSession& session : history.tests) {
        const bool belongs = session.protocol == test.protocol && session.side == side;
        if (belongs && session.date <= today && !session.tries.empty()) {
          series.sessions.push_back(&session);
        }
      }
      if (series.sessions.empty()) continue;
      std::stable_sort(series.sessions.begin(), series.sessions.end(),
                       [](const auto* a, const auto* b) { return a->date < b->date; });
      out.push_back(std::move(series));
    }
  }
  return out;
}

ChangeVerdict judge_change(double change, double detectable_change, body::Better better) {
  if (!(std::abs(change) > detectable_change)) return ChangeVerdict::NoDetectableChange;
  if (better == body::Better::Neither) return ChangeVerdict::Changed;
  return (change > 0) == (better == body::Better::Higher) ? ChangeVerdict::Improved
                                                          : ChangeVerdict::Worse;
}

TestChange change_of(const TestSeries& series) {
  const TestSession& first = *series.sessions.front();
  const TestSession& latest = *series.sessions.back();
  TestChange out;
  out.protocol = series.test->protocol;
  out.side = series.side;
  out.first = first.date;
  out.latest = latest.date;
  out.first_tries = static_cast<int>(first.tries.size());
  out.latest_tries = static_cast<int>(latest.tries.size());
  out.first_mean = mean_of(first, *series.test);
  out.latest_mean = mean_of(latest, *series.test);
  if (series.sessions.size() < 2) return out;
  out.change = out.latest_mean.value - out.first_mean.value;
  out.detectable_change = body::minimal_detectable_change(out.first_mean.standard_error,
                                                          out.latest_mean.standard_error);
  out.verdict = judge_change(out.change, out.detectable_change, series.test->better);
  return out;
}

Result<TestForecast> forecast_of(const TestSeries& series, Date today) {
  const TestFollowed& test = *series.test;
  const double sign = sign_of(test.better);
  const std::vector<Observed> observed = observed_of(series);
  const GainModel model{prior_of(test)};
  const GainPosterior posterior = LINTEL_TRY(posterior_gain(model, observed));
  TestForecast out;
  out.protocol = test.protocol;
  out.side = series.side;
  out.sessions = posterior.sessions;
  out.now = value_on(posterior, today);
  out.now.value *= sign;
  out.gain = posterior.gain;
  out.gain_interval = interval_of(posterior.gain, 0.95);
  out.useful_gain = useful_gain(test, observed.front());
  out.probability_useful = probability_gain_above(posterior, out.useful_gain);
  out.working = is_working(posterior, {out.useful_gain, number("working.least_probability"),
                                       number("working.after_weeks")});
  if (test.published) out.response = response_multiplier(posterior, model);
  if (!test.target) return out;
  const double target = sign * *test.target;
  out.reached = probability_reached(posterior, target, today) >= 0.5;
  if (test.goal_date) {
    out.probability_at_goal = probability_reached(posterior, target, *test.goal_date);
  }
  const double longest = number("forecast.longest_weeks");
  out.likely = date_reached(posterior, target, 0.5, today, longest);
  out.nearly_sure = date_reached(posterior, target, 0.9, today, longest);
  return out;
}

Result<std::vector<FanPoint>> forecast_fan(const TestSeries& series, Date from, int weeks) {
  const Span span{from, weeks};
  return fan_of(prior_of(*series.test), observed_of(series), sign_of(series.test->better), span);
}

Result<std::vector<FanPoint>> forecast_fan(std::vector<Observed> sessions, body::Better better,
                                           Date from, int weeks) {
  if (sessions.empty()) return fail(ErrorCode::Invalid, "there is no session to go on from", "");
  const double sign = sign_of(better);
  for (Observed& session : sessions) session.value.value *= sign;
  const double detectable = body::minimal_detectable_change(sessions.front().value.standard_error,
                                                            sessions.back().value.standard_error);
  return fan_of(prior_without_source(detectable), sessions, sign, {from, weeks});
}

Date next_retest(const TestFollowed& test, std::optional<Date> latest, Date start) {
  const int notice = static_cast<int>(number("retest.notice_days"));
  if (test.retest_due && (!latest || *latest < *test.retest_due - notice)) return *test.retest_due;
  const PublishedGain published = test.published.value_or(PublishedGain{});
  return retest_date(latest.value_or(start), earliest_retest(published, test.error));
}

}  // namespace lintel::plan
