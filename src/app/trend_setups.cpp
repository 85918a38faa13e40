#include "app/trend_setups.h"

#include "app/trial_records.h"
#include "formats/athlete_json.h"
#include "formats/trial_json.h"

namespace lintel::app {
namespace {

using body::Setup;

void take(const std::optional<double>& measured, double& setting) {
  if (measured) setting = *measured;
}

void take_bar(const std::string& word, Setup& setup) {
  using body::BarPosition;
  for (const BarPosition position :
       {BarPosition::Overhead, BarPosition::Back, BarPosition::Front, BarPosition::None}) {
    if (body::bar_position_name(position) == word) setup.bar_position = position;
  }
}

Setup setup_of(const Practice& practice, const formats::Intake& intake,
               const store::Record& athlete, const formats::TrialDocument& trial) {
  Setup setup = intake.athlete.setup;
  if (const auto text = formats::athlete_of_intake(athlete.document, trial.edit.setup)) {
    const auto changed = formats::read_athlete_json(*text, "athlete");
    if (changed.athlete) setup = changed.athlete->setup;
  }
  if (const auto measured = stored_assessment(practice, trial)) {
    const view::SetupFacts& facts = measured->facts.setup;
    take(facts.bar_mass, setup.bar_mass);
    take(facts.stance_width, setup.stance_width);
    take(facts.toe_out, setup.toe_out);
    take(facts.heel_elevation, setup.heel_elevation);
    take(facts.grip_width, setup.grip_width);
    take_bar(facts.bar_position, setup);
  }
  return setup;
}

}  // namespace

Result<TrialSetups> setups_of_trials(store::Transaction& t, const Practice& practice,
                                     const formats::Intake& intake, const store::Record& athlete,
                                     const std::vector<std::string>& trials) {
  const Setup& own = intake.athlete.setup;
  TrialSetups out;
  out.groups.push_back({true, {}});
  std::vector<Setup> setups = {own};  // the one that began each group
  for (const std::string& id : trials) {
    if (out.of.contains(id)) continue;
    const store::Record record = LINTEL_TRY(store::find_record(t, athlete.organization, id));
    const auto reading = formats::read_trial_json(record.document, "");
    const Setup setup = reading.trial ? setup_of(practice, intake, athlete, *reading.trial) : own;
    std::size_t group = 0;
    while (group < setups.size() && !body::setup_differences(setup, setups[group]).empty()) ++group;
    if (group == setups.size()) {
      setups.push_back(setup);
      out.groups.push_back({false, body::setup_differences(setup, own)});
    }
    out.of[id] = group;
  }
  return out;
}

}  // namespace lintel::app
