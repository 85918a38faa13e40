// Athletes as records: intake, caseload, timeline, trends.
#pragma once

#include <string>
#include <string_view>

#include "app/record_access.h"
#include "formats/intake_json.h"

namespace lintel::app {

// `document` is a lintel-intake-1; "schema" and "athlete.id" (the record's own) may be left out.
// Errors of all: those of access; Invalid with every fault of the document.
Result<Answer> create_athlete(Practice& practice, const Caller& caller, std::string_view document,
                              Faults& faults);
Result<Answer> show_athlete(Practice& practice, const Caller& caller, std::string_view athlete);
// Errors: Conflict for a version that is not the newest; Invalid when athlete.id is another one.
struct AthleteChange {
  std::int64_t expected_version = 0;
  std::string_view document;
  std::string reason;
};
Result<Answer> change_athlete(Practice& practice, const Caller& caller, std::string_view athlete,
                              const AthleteChange& change, Faults& faults);
enum class Archive : std::uint8_t { In, Back };
Result<Answer> archive_athlete(Practice& practice, const Caller& caller, std::string_view athlete,
                               std::int64_t expected_version, Archive where, std::string reason);

enum class ListAs : std::uint8_t { Json, Csv };
struct CaseloadRequest {
  std::string view = "all", search, tag, after;
  int limit = 50;
  ListAs as = ListAs::Json;  // Csv: needs Permission::TakeOut
};
Result<std::string> list_athletes(Practice& practice, const Caller& caller,
                                  const CaseloadRequest& request);
Result<std::string> athlete_timeline(Practice& practice, const Caller& caller,
                                     std::string_view athlete, int limit);
// An athlete's account: {"athlete": id, "name": ...}. Errors: NotFound for any other role.
Result<std::string> own_athlete(Practice& practice, const Caller& caller);

// The intake of a record of ours. Errors: Invalid (a record that no longer holds).
Result<formats::Intake> intake_of(const store::Record& record);

}  // namespace lintel::app
