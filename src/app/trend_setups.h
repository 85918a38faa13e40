// In which setup each clip of an athlete was filmed: only like is compared with like over time.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "app/athlete_records.h"
#include "app/practice.h"
#include "formats/caseload_json.h"
#include "store/records.h"

namespace lintel::app {

struct TrialSetups {
  std::vector<formats::TrendSetup> groups;  // the first is the athlete's own setup
  std::map<std::string, std::size_t> of;    // index into groups, by id of the trial
};

// `trials`: ids, in order of their days. A clip's setup is the one that it was measured with (its
// assessment); of a clip without one, the setup of the athlete's record with the trial's changes. A
// setup that is no other's like (body/setup_likeness.h) begins a group.
Result<TrialSetups> setups_of_trials(store::Transaction& t, const Practice& practice,
                                     const formats::Intake& intake, const store::Record& athlete,
                                     const std::vector<std::string>& trials);

}  // namespace lintel::app
