// What a visit asks the posture model: the athlete and what was seen, as its findings take them.
#pragma once

#include <string>
#include <string_view>

#include "app/practice.h"
#include "app/record_access.h"
#include "base/result.h"

namespace lintel::app {

// {"question": {"athlete", "observed_deg", "observed_error_deg"}, "seen": "clip", "typed" or null,
// "trial": id or null}. `question` is what POST /questions/... take: the athlete with the tests of
// this visit and of those before it, and the lean of the clip (`trial`; empty = the newest measured
// side view) or the one that was typed in. Errors: those of access and of gather_visit.
Result<std::string> question_of_visit(Practice& practice, const Caller& caller,
                                      std::string_view visit, std::string_view trial);

}  // namespace lintel::app
