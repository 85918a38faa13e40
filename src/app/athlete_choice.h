// An athlete as a person at the command line names one: by id, or by name when that is enough.
#pragma once

#include <string>
#include <string_view>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"

namespace lintel::app {

struct ChosenAthlete {
  std::string id, name;
};
// Archived ones too. Errors: NotFound; Conflict when the name fits several, with their ids.
Result<ChosenAthlete> choose_athlete(Practice& practice, const Caller& caller,
                                     std::string_view id_or_name);

}  // namespace lintel::app
