// Questions to the posture model that touch no record: for sliders, tables and grip.
#pragma once

#include <string>
#include <string_view>

#include "app/record_access.h"
#include "base/progress.h"
#include "formats/question_json.h"
#include "reasoning/explain.h"

namespace lintel::app {

// Each takes a question of formats/question_json.h. Errors of all: Denied; Invalid with every fault
// of the question, or numbers out of range (field and range); Cancelled.

// Before and after some changes, as figures. Costs some milliseconds: for sliders.
Result<std::string> ask_what_if(const Caller& caller, std::string_view question, Faults& faults);
// "lintel-what-if-1", "lintel-grip-1" and "lintel-explanation-1" (with figures), as the commands of
// the same names give them. Explanations are remembered.
Result<std::string> ask_what_if_table(const Caller& caller, std::string_view question,
                                      Faults& faults, const WorkContext& work);
Result<std::string> ask_grip(const Caller& caller, std::string_view question, Faults& faults);
Result<std::string> ask_explanation(const Caller& caller, std::string_view question, Faults& faults,
                                    const WorkContext& work);

// What goes beside an explanation: "figures" and "best_change".
std::vector<formats::RawMember> figure_members(const reasoning::ExplainResult& explained,
                                               double disc_diameter);

}  // namespace lintel::app
