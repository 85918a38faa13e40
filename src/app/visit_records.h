// Visits as records, and what hangs below one: tests, the practitioner's decisions.
#pragma once

#include <string>
#include <string_view>

#include "app/record_access.h"

namespace lintel::app {

// "lintel-visit-1"; "schema" and "date" (today) may be left out.
Result<Answer> create_visit(Practice& practice, const Caller& caller, std::string_view athlete,
                            std::string_view document, Faults& faults);
Result<Answer> show_visit(Practice& practice, const Caller& caller, std::string_view visit);

// What a PUT brings.
struct Change {
  std::int64_t expected_version = 0;  // 0 = the first one, where nothing is stored yet
  std::string_view document;
  std::string reason;
};
Result<Answer> change_visit(Practice& practice, const Caller& caller, std::string_view visit,
                            const Change& change, Faults& faults);
// An assistant gets the own ones.
Result<std::string> list_visits(Practice& practice, const Caller& caller, std::string_view athlete,
                                const store::Page& page);

// The visit's tests, lintel-tests-1, with "outcome" and "cautions". Before the first ones are
// stored: version 0 and no results. Left out may be "schema", "athlete", "date", "tester".
Result<Answer> show_tests(Practice& practice, const Caller& caller, std::string_view visit);
Result<Answer> put_tests(Practice& practice, const Caller& caller, std::string_view visit,
                         const Change& change, Faults& faults);

// lintel-overrulings-1, the same way. Of an entry "who" (the caller) and "date" (today) may be left
// out.
Result<Answer> show_overrulings(Practice& practice, const Caller& caller, std::string_view visit);
Result<Answer> put_overrulings(Practice& practice, const Caller& caller, std::string_view visit,
                               const Change& change, Faults& faults);

}  // namespace lintel::app
