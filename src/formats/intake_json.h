// Who an athlete is and what they come with, "lintel-intake-1" (docs/schema/intake.schema.json).
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "body/athlete.h"
#include "plan/drill.h"
#include "plan/history.h"

namespace lintel::formats {

struct IntakeGoal {
  std::optional<plan::Lift> lift;
  std::optional<double> trunk_inclination;  // wanted at the bottom [rad]
  std::optional<Date> date;
  std::string words;
};

struct Consent {
  bool given = false;
  Date date;
  std::string by;  // the athlete, or who answers for them
};

struct Intake {
  body::Athlete athlete;
  std::optional<Date> birth_date;
  std::string sport;
  std::optional<IntakeGoal> goal;
  std::string history;  // injuries, operations, training years, in words
  std::optional<Consent> consent;
  std::vector<std::string> tags;           // lower case, each once
  std::optional<double> time_per_session;  // [s]
  std::optional<int> sessions_per_week;
  plan::EquipmentSet equipment;
  std::string notes;
};

struct IntakeReading {
  std::optional<Intake> intake;  // only when there is no fault
  std::vector<Error> faults;     // all (at most 100), with field, line and column
};

// Strict, as read_athlete_json; fields of the athlete begin with "athlete.". Limits: 1 MiB. Never
// throws.
IntakeReading read_intake_json(std::string_view text, std::string_view file_name);

// Reading it gives the same intake back, but for rounding to ten digits.
std::string write_intake_json(const Intake& intake);

}  // namespace lintel::formats
