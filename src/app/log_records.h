// The log of an athlete as records, one for each day, and what follows from it: progress, today.
#pragma once

#include <string>
#include <string_view>

#include "app/library.h"
#include "app/record_access.h"
#include "formats/history_json.h"
#include "formats/intake_json.h"
#include "plan/history.h"

namespace lintel::app {

// "lintel-log-1"; "schema" and "date" (today) may be left out. Drills of the same day are put
// together; one that is sent again replaces what was written before. The answer adds "stop" (what
// to do now) and "cautions". Errors: Denied when releases or best lifts come from somebody who may
// write the own log only; Invalid also for a day to come.
struct LogAnswer {
  Answer answer;
  bool is_new = false;
};
Result<LogAnswer> write_log(Practice& practice, const Caller& caller, std::string_view athlete,
                            std::string_view document, Faults& faults);
Result<std::string> list_log(Practice& practice, const Caller& caller, std::string_view athlete,
                             const store::Page& page);

struct ProgressOn {
  std::string date;        // ISO 8601; empty = today
  double bar_mass = 20.0;  // [kg]
};
// "lintel-progress-1" from the newest plan, the log and the tests of all visits.
Result<std::string> progress_of_athlete(Practice& practice, const Caller& caller,
                                        std::string_view athlete, const ProgressOn& on);
// What to do on one day (formats/today_json.h). Empty date = today.
Result<std::string> today_of_athlete(Practice& practice, const Caller& caller,
                                     std::string_view athlete, const std::string& date);

// Sessions, tests of every visit, releases and best lifts, as lintel-history-1 holds them.
Result<plan::History> history_of(store::Transaction& t, const Caller& caller,
                                 const Library& library, const std::string& athlete,
                                 const std::string& athlete_id);

}  // namespace lintel::app
