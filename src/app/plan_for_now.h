// A plan that was made some time ago, held against what is known of the athlete today.
#pragma once

#include <vector>

#include "body/athlete.h"
#include "plan/plan.h"

namespace lintel::app {

// With a warning sign that the plan does not know of: loaded drills are taken out, at a red flag
// all of them, and the referral is put in. Otherwise the plan as it is.
plan::Plan plan_for_now(plan::Plan plan, const std::vector<body::WarningSign>& signs);
// Does the athlete have a sign that the plan does not know of?
bool is_older_than_signs(const plan::Plan& plan, const std::vector<body::WarningSign>& signs);

// Takes the drills at these places out of the plan, its sessions and what belongs to them.
void take_drills_out(const std::vector<bool>& out, plan::Plan& plan);

}  // namespace lintel::app
