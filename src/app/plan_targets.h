// From findings and posture model to what the planner asks for.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "body/test_protocol.h"
#include "body/test_record.h"
#include "plan/plan.h"
#include "reasoning/finding.h"

namespace lintel::app {

// Parts to work on: the findings' mobility and habit targets, one for each part. Size: middle of
// its interval with the standard deviation that the interval stands for. Lean per gain of range:
// the part's share over the range that today lacks to the reference, 0.05 to 2. A change of setup
// takes lean from the parts (a raised heel from the ankle's): where parts and setup changes
// together come to more than there is between today and the reference, the parts are reduced alike.
std::vector<plan::TargetPart> planner_targets(const std::vector<reasoning::Target>& targets,
                                              const std::vector<plan::SetupChange>& setup_changes,
                                              const reasoning::ExplainResult& explained);

// The setup changes of the best what-if row, each with its part of the row's gain.
std::vector<plan::SetupChange> planner_setup_changes(const reasoning::ExplainResult& explained);

// The tests that watch the ranges, from the protocol library: knee to wall, thoracic rotation, wall
// test both ways, hip flexion; each by the protocol that this record has for it, if it has one.
std::vector<plan::FollowedTest> followed_tests(const std::vector<body::TestProtocol>& protocols,
                                               const std::optional<body::TestRecord>& record,
                                               const reasoning::ExplainResult& explained);

}  // namespace lintel::app
