// Every value of one athlete over time, and statistics over the caseload.
#pragma once

#include <string>
#include <string_view>

#include "app/athlete_records.h"
#include "app/record_access.h"

namespace lintel::app {

// Series with standard errors, detectable change, target and forecast (formats/caseload_json.h).
// Csv needs Permission::TakeOut.
Result<std::string> athlete_trends(Practice& practice, const Caller& caller,
                                   std::string_view athlete, ListAs as);

// Median range by age band and side; change a week of a test while a drill was done. Errors:
// NotFound for a protocol that is not known; Denied.
Result<std::string> cohort_range(Practice& practice, const Caller& caller,
                                 const std::string& protocol, ListAs as);
Result<std::string> cohort_change(Practice& practice, const Caller& caller,
                                  const std::string& protocol, ListAs as);

// One visit as an HL7 FHIR R4 bundle: tests, newest measured clip, newest plan. Empty visit = the
// newest one.
Result<std::string> fhir_of_visit(Practice& practice, const Caller& caller,
                                  std::string_view athlete, const std::string& visit);

}  // namespace lintel::app
