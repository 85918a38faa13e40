// What the log of an athlete tells the planner: steps that are behind, and how this athlete
// answers.
#pragma once

#include <filesystem>
#include <vector>

#include "base/result.h"
#include "body/test_protocol.h"
#include "plan/history.h"
#include "plan/plan.h"

namespace lintel::app {

// Steps below the one last worked on count as passed. Response of a part: gain a week that its
// re-tests show, over the library's expectation for a full dose of its best drill
// (plan/forecast.h). input.tests must be filled in. Errors: those of plan::posterior_gain.
Result<void> add_history(const plan::History& history,
                         const std::vector<body::TestProtocol>& protocols,
                         const std::vector<plan::Drill>& library, plan::PlanInput& input);

// The log of a file. Errors: those of the file; Conflict when it is another athlete's.
Result<plan::History> read_history(const std::filesystem::path& file, const std::string& athlete_id,
                                   const std::vector<body::TestProtocol>& protocols,
                                   const std::vector<plan::Drill>& library);

}  // namespace lintel::app
