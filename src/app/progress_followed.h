// Inside app: what is followed of one athlete, from plan, athlete, protocols and log.
#pragma once

#include <optional>
#include <vector>

#include "body/test_protocol.h"
#include "plan/follow_up.h"
#include "plan/plan.h"

namespace lintel::app {

struct FollowedSources {
  std::optional<plan::Plan> plan;
  std::optional<body::Athlete> athlete;  // for pass lines relative to the body, and warning signs
  const std::vector<body::TestProtocol>* protocols = nullptr;
  const std::vector<plan::Drill>* drills = nullptr;
};

// Drills: those of the plan, else those of the log with the library's smallest dose. Tests: those
// of the plan's re-tests and of the log; standard errors of the log's tester stand in place of the
// protocols'; targets are the pass lines, as far as they are known for this athlete; the published
// gain is the plan's expectation for the test.
plan::AthleteFollowed followed_of(const FollowedSources& sources, const plan::History& history);

}  // namespace lintel::app
