// Change and forecast of every test that is followed.
#pragma once

#include "plan/follow_up.h"

namespace lintel::plan {

// Sessions of one protocol and side up to `today`, in order of date.
struct TestSeries {
  const TestFollowed* test = nullptr;
  body::TestSide side = body::TestSide::Both;
  std::vector<const TestSession*> sessions;
};
// One for every test of `followed` and every side of it that was tested, in that order.
std::vector<TestSeries> series_of(const AthleteFollowed& followed, const History& history,
                                  Date today);

TestChange change_of(const TestSeries& series);
// Only for tests with better and worse. Errors: those of posterior_gain.
Result<TestForecast> forecast_of(const TestSeries& series, Date today);

// The true value of the test on the days to come, once a week from `from` on (that day included),
// in the test's own direction. Errors: those of posterior_gain.
struct FanPoint {
  Date date;
  Estimate value;
};
Result<std::vector<FanPoint>> forecast_fan(const TestSeries& series, Date from, int weeks);
// The same of a measure for which no gain is published (the trunk in films), sessions in order of
// date: before the second one a week may bring, either way, what two sessions can tell apart.
Result<std::vector<FanPoint>> forecast_fan(std::vector<Observed> sessions, body::Better better,
                                           Date from, int weeks);

// The day on which the test is due again: as planned if that lies after the latest session (by more
// than the notice), else by earliest_retest() from it.
Date next_retest(const TestFollowed& test, std::optional<Date> latest, Date start);

}  // namespace lintel::plan
