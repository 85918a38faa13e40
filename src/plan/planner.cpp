#include "plan/planner.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "plan/expected_gain.h"
#include "plan/plan.h"
#include "plan/planner_search.h"
#include "plan/rules.h"
#include "plan/session_packing.h"

namespace lintel::plan {
namespace {

using reasoning::Factor;

constexpr double kLeastSession = 300.0, kMostSession = 7200.0;  // [s]

tl::unexpected<Error> invalid(std::string field, std::string message) {
  Error error{ErrorCode::Invalid, std::move(message), {}, "mend the entry", {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

bool is_finite(const Estimate& e) {
  return std::isfinite(e.value) && std::isfinite(e.standard_error) && e.standard_error >= 0.0;
}

// A target of the search: a part of the lean, or a setup change to be learnt.
struct Wanted {
  Factor part;
  Estimate size;
  double probability;
  double lean_per_gain;
  bool setup;
};

std::vector<Wanted> wanted_of(const PlannerInput& input) {
  std::vector<Wanted> out;
  for (const SetupChange& change : input.setup_changes) {
    if (change.lean_gain.value <= 0.0) continue;
    out.push_back({change.lever, change.lean_gain, 1.0, 1.0, true});
  }
  for (const TargetPart& target : input.targets) {
    const bool setup = reasoning::is_lever(target.part);
    const bool known =
        std::any_of(out.begin(), out.end(), [&](const Wanted& w) { return w.part == target.part; });
    if (known || target.size.value <= 0.0 || target.probability <= 0.0) continue;
    out.push_back({target.part, target.size, target.probability, target.lean_per_gain, setup});
  }
  return out;
}

Estimate response_of(const PlannerInput& input, Factor part) {
  for (const Response& response : input.responses) {
    if (response.part == part) return response.multiplier;
  }
  return {1.0, 0.0};
}

const Gain* gain_for(const Drill& drill, Factor part) {
  for (const Target& target : drill.targets) {
    if (target.part == part) return &target.gain;
  }
  return nullptr;
}

bool is_passed(const PlannerInput& input, const Prerequisite& before) {
  return std::any_of(input.passed.begin(), input.passed.end(), [&](const PassedStep& p) {
    return p.drill == before.drill && p.step >= before.step;
  });
}

int first_step(const PlannerInput& input, const Drill& drill) {
  int step = 0;
  for (const PassedStep& passed : input.passed) {
    if (passed.drill == drill.id) step = std::max(step, passed.step + 1);
  }
  return std::clamp(step, 0, static_cast<int>(drill.ladder.size()) - 1);
}

bool is_barred(const Drill& drill, const std::vector<body::WarningSign>& signs) {
  if (signs.empty()) return false;
  if (drill.loaded) return true;
  return std::any_of(signs.begin(), signs.end(), [&drill](body::WarningSign sign) {
    return std::find(drill.not_with.begin(), drill.not_with.end(), sign) != drill.not_with.end();
  });
}

struct DoseRules {
  double least_time, most_time;  // static stretching, hold of one side in a week [s]
  int least_days;
};
const DoseRules& dose_rules() {
  static const DoseRules rules = {
      60.0 * plan_rules().value("static_stretch.least_minutes_per_week"),
      60.0 * plan_rules().value("static_stretch.most_minutes_per_week"),
      static_cast<int>(plan_rules().value("static_stretch.least_days_per_week"))};
  return rules;
}

bool dose_is_useful(const Drill& drill, const Dose& dose) {
  if (drill.mode != Mode::StaticStretch) return true;
  const DoseRules& rules = dose_rules();
  return dose.times_per_week >= rules.least_days &&
         dose.hold_per_week() >= rules.least_time - 1e-9 &&
         dose.hold_per_week() <= rules.most_time + 1e-9;
}

// The search's problem, and which drill and dose each of its items and levels is.
struct Formulation {
  SearchProblem problem;
  std::vector<std::size_t> drill;               // of item
  std::vector<std::vector<std::size_t>> level;  // of item and level, in drill.doses
};

class Formulator {
 public:
  Formulator(std::span<const Drill> library, const PlannerInput& input)
      : library_(library), input_(input), wanted_(wanted_of(input)) {}

  Formulation formulate(Selection& selection) {
    SearchProblem& problem = out_.problem;
    for (const Wanted& w : wanted_) {
      SearchTarget target{w.size, w.probability, w.setup ? kSetupWeight : 1.0};
      target.full_gain = best_lean_gain(w);
      target.further_gain = plan_rules().value("further_drills.share") * target.full_gain;
      problem.targets.push_back(target);
    }
    problem.sessions = input_.sessions_per_week;
    problem.capacity = std::lround(input_.time_per_session);
    problem.group_capacity = std::lround(dose_rules().most_time);
    problem.groups = reasoning::kFactorCount;
    problem.most_items = input_.most_drills;
    for (std::size_t i = 0; i < library_.size(); ++i) {
      if (const auto reason = add(i)) selection.rejected.push_back({i, *reason});
    }
    add_notes(selection);
    return std::move(out_);
  }

  const std::vector<Wanted>& wanted() const { return wanted_; }

  // Of a full dose of the drill of the library that gives most.
  double best_lean_gain(const Wanted& w) const {
    double best = 0.0;
    for (const Drill& drill : library_) {
      const Gain* gain = gain_for(drill, w.part);
      if (gain != nullptr) {
        best = std::max(best, gain->per_week * counted_weeks(input_.weeks, gain->weeks));
      }
    }
    return best * w.lean_per_gain * std::max(0.0, response_of(input_, w.part).value);
  }

  double lean_gain(const Drill& drill, const Dose& dose, const Wanted& w) const {
    const Gain* gain = gain_for(drill, w.part);
    if (gain == nullptr) return 0.0;
    return w.lean_per_gain * std::max(0.0, response_of(input_, w.part).value) *
           planned_gain(*gain, drill.mode, dose, input_.weeks);
  }

 private:
  std::optional<LeftOut> add(std::size_t i) {
    const Drill& drill = library_[i];
    const bool aimed = std::any_of(wanted_.begin(), wanted_.end(), [&drill](const Wanted& w) {
      return gain_for(drill, w.part) != nullptr;
    });
    if (!aimed) return LeftOut::NoTarget;
    if (is_barred(drill, input_.warning_signs)) return LeftOut::WarningSign;
    if (!fits_equipment(drill, input_.equipment)) return LeftOut::Equipment;
    for (const Prerequisite& before : drill.prerequisites) {
      if (!is_passed(input_, before)) return LeftOut::Prerequisite;
    }
    return add_doses(i);
  }

  std::optional<LeftOut> add_doses(std::size_t i) {
    const Drill& drill = library_[i];
    SearchItem item;
    std::vector<std::size_t> levels;
    for (std::size_t d = 0; d < drill.doses.size(); ++d) {
      const Dose& dose = drill.doses[d];
      if (dose.times_per_week > input_.sessions_per_week) {
        stretch_short_of_days_ |= drill.mode == Mode::StaticStretch;
        continue;
      }
      if (dose.time_per_session > input_.time_per_session + 1e-9) continue;
      if (!dose_is_useful(drill, dose)) continue;
      SearchLevel level{std::lround(dose.time_per_session),
                        dose.times_per_week,
                        std::lround(dose.hold_per_week()),
                        {}};
      for (const Wanted& w : wanted_) level.gain.push_back(lean_gain(drill, dose, w));
      item.levels.push_back(std::move(level));
      levels.push_back(d);
    }
    if (item.levels.empty()) return LeftOut::TooLong;
    if (drill.mode == Mode::StaticStretch) {
      item.group = static_cast<int>(reasoning::index_of(drill.targets.front().part));
    }
    out_.problem.items.push_back(std::move(item));
    out_.drill.push_back(i);
    out_.level.push_back(std::move(levels));
    return std::nullopt;
  }

  void add_notes(Selection& selection) const {
    if (stretch_short_of_days_ && input_.sessions_per_week < dose_rules().least_days) {
      selection.notes.push_back(
          text("Static stretching works from %d days a week on (Thomas et al. 2018) and was left "
               "out: there are %d sessions a week.",
               dose_rules().least_days, input_.sessions_per_week));
    }
    for (const Wanted& w : wanted_) {
      const auto t = static_cast<std::size_t>(&w - wanted_.data());
      const bool trained = std::any_of(
          out_.problem.items.begin(), out_.problem.items.end(), [t](const SearchItem& item) {
            return std::any_of(item.levels.begin(), item.levels.end(),
                               [t](const SearchLevel& level) { return level.gain[t] > 0.0; });
          });
      if (!trained) {
        selection.notes.push_back("No drill for the " +
                                  std::string(reasoning::factor_label(w.part)) +
                                  " fits the equipment, the days and the warning signs.");
      }
    }
  }

  std::span<const Drill> library_;
  const PlannerInput& input_;
  std::vector<Wanted> wanted_;
  Formulation out_;
  bool stretch_short_of_days_ = false;
};

// Gains of all choices together, by target.
std::vector<double> total_gains(const SearchProblem& problem,
                                const std::vector<SearchChoice>& choices) {
  std::vector<double> gain(problem.targets.size(), 0.0);
  for (const SearchChoice& choice : choices) {
    const SearchLevel& level = problem.items[choice.item].levels[choice.level];
    for (std::size_t t = 0; t < gain.size(); ++t) gain[t] += level.gain[t];
  }
  return gain;
}

// What the plan loses without this choice, by target.
std::vector<double> lost_without(const SearchProblem& problem, const SearchResult& best,
                                 std::size_t left_out) {
  std::vector<SearchChoice> others = best.choices;
  others.erase(others.begin() + static_cast<std::ptrdiff_t>(left_out));
  const std::vector<double> with = total_gains(problem, best.choices);
  const std::vector<double> without = total_gains(problem, others);
  std::vector<double> lost(with.size());
  for (std::size_t t = 0; t < lost.size(); ++t) {
    const SearchTarget& target = problem.targets[t];
    lost[t] = target_reduction(target, with[t]) - target_reduction(target, without[t]);
  }
  return lost;
}

std::string reason_text(const Drill& drill, const std::vector<Wanted>& wanted,
                        const std::vector<double>& lost, int weeks) {
  std::size_t most = 0;
  for (std::size_t t = 1; t < lost.size(); ++t) {
    if (lost[t] > lost[most]) most = t;
  }
  const double lean = lost[most] * kDegreesPerRadian;
  const std::string part(reasoning::factor_label(wanted[most].part));
  const Gain* gain = gain_for(drill, wanted[most].part);
  const char* basis = gain != nullptr && gain->has_source ? "published gains" : "common practice";
  if (wanted[most].setup) {
    return text("Learns the new %s, which is worth %s of lean (%s).", part.c_str(),
                about_degrees(lean).c_str(), basis);
  }
  return text("Trains the %s: %s of lean in %d weeks (%s).", part.c_str(),
              about_degrees(lean).c_str(), weeks, basis);
}

void add_choices(const Formulation& f, const SearchResult& best, std::span<const Drill> library,
                 const PlannerInput& input, const std::vector<Wanted>& wanted,
                 Selection& selection) {
  struct Ranked {
    Choice choice;
    bool setup;
    double rate;
  };
  std::vector<PackedItem> packed;
  for (const SearchChoice& c : best.choices) {
    const SearchLevel& level = f.problem.items[c.item].levels[c.level];
    packed.push_back({level.time, level.times});
  }
  const auto sessions = pack_sessions(packed, f.problem.sessions, f.problem.capacity);
  LINTEL_CHECK(sessions.has_value());  // the search checked every set of items
  std::vector<Ranked> ranked;
  for (std::size_t k = 0; k < best.choices.size(); ++k) {
    const SearchChoice& c = best.choices[k];
    const Drill& drill = library[f.drill[c.item]];
    const std::vector<double> lost = lost_without(f.problem, best, k);
    double all = 0.0, setup = 0.0;
    for (std::size_t t = 0; t < lost.size(); ++t) {
      all += lost[t];
      if (wanted[t].setup) setup += lost[t];
    }
    const double time = f.problem.items[c.item].levels[c.level].weekly() / 60.0;
    ranked.push_back({{f.drill[c.item], f.level[c.item][c.level], first_step(input, drill),
                       (*sessions)[k], reason_text(drill, wanted, lost, input.weeks)},
                      setup > 0.0,
                      all / time});
  }
  std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
    return std::pair(a.setup, a.rate) > std::pair(b.setup, b.rate);
  });
  for (Ranked& r : ranked) selection.choices.push_back(std::move(r.choice));
}

void add_expectation(const Formulation& f, const SearchResult& best, std::span<const Drill> library,
                     const PlannerInput& input, const std::vector<Wanted>& wanted,
                     Selection& selection) {
  const std::vector<double> lean = total_gains(f.problem, best.choices);
  for (std::size_t t = 0; t < wanted.size(); ++t) {
    const Wanted& w = wanted[t];
    const SearchTarget& target = f.problem.targets[t];
    const Estimate response = response_of(input, w.part);
    double range = 0.0, spread = 0.0;
    for (const SearchChoice& c : best.choices) {
      const Drill& drill = library[f.drill[c.item]];
      const Gain* gain = gain_for(drill, w.part);
      if (gain == nullptr || gain->per_week <= 0.0) continue;
      const Dose& dose = drill.doses[f.level[c.item][c.level]];
      const double planned =
          std::max(0.0, response.value) * planned_gain(*gain, drill.mode, dose, input.weeks);
      range += planned;
      // One person answers to all drills of a part much or little: the spreads add up.
      spread += planned * gain->standard_deviation / gain->per_week;
    }
    if (range <= 0.0) continue;
    const double counted =
        lean[t] > 0.0 ? saturated_gain(lean[t], target.full_gain, target.further_gain) / lean[t]
                      : 1.0;
    ExpectedPart expected{w.part, counted * range, 0.0, target_reduction(target, lean[t])};
    expected.range_gain_error =
        counted * std::hypot(spread, range * response.standard_error / response.value);
    selection.lean_gain += expected.lean_gain;
    if (w.setup) selection.setup_gain += expected.lean_gain;
    selection.expected.push_back(expected);
  }
}

Result<void> validate_parts(const PlannerInput& input) {
  for (std::size_t i = 0; i < input.targets.size(); ++i) {
    const TargetPart& target = input.targets[i];
    const std::string field = "planner.targets[" + std::to_string(i) + "]";
    if (!is_finite(target.size)) return invalid(field + ".size", "is not a number");
    if (!(target.probability >= 0.0 && target.probability <= 1.0)) {
      return invalid(field + ".probability", "is outside of 0 to 1");
    }
    if (!(target.lean_per_gain >= 0.0 && target.lean_per_gain <= 10.0)) {
      return invalid(field + ".lean_per_gain", "is outside of 0 to 10");
    }
    for (std::size_t k = 0; k < i; ++k) {
      if (input.targets[k].part == target.part) return invalid(field + ".part", "occurs twice");
    }
  }
  for (std::size_t i = 0; i < input.setup_changes.size(); ++i) {
    const SetupChange& change = input.setup_changes[i];
    const std::string field = "planner.setup_changes[" + std::to_string(i) + "]";
    if (!reasoning::is_lever(change.lever)) return invalid(field + ".lever", "is no setup lever");
    if (!is_finite(change.lean_gain)) return invalid(field + ".lean_gain", "is not a number");
    for (std::size_t k = 0; k < i; ++k) {
      if (input.setup_changes[k].lever == change.lever) {
        return invalid(field + ".lever", "occurs twice");
      }
    }
  }
  for (std::size_t i = 0; i < input.responses.size(); ++i) {
    if (!is_finite(input.responses[i].multiplier)) {
      return invalid("planner.responses[" + std::to_string(i) + "].multiplier", "is not a number");
    }
  }
  return {};
}

}  // namespace

std::string_view left_out_name(LeftOut reason) {
  static constexpr std::array<std::string_view, 6> kNames = {
      "no_target", "equipment", "warning_sign", "prerequisite", "too_long", "not_worth_it"};
  return kNames[static_cast<std::size_t>(reason)];
}

Result<void> validate(const PlannerInput& input) {
  if (!(input.time_per_session >= kLeastSession && input.time_per_session <= kMostSession)) {
    return invalid("planner.time_per_session",
                   text("is %g minutes; allowed are 5 to 120", input.time_per_session / 60.0));
  }
  if (input.sessions_per_week < 1 || input.sessions_per_week > 7) {
    return invalid("planner.sessions_per_week",
                   text("is %d; allowed are 1 to 7", input.sessions_per_week));
  }
  if (input.weeks < 1 || input.weeks > 52) {
    return invalid("planner.weeks", text("is %d; allowed are 1 to 52", input.weeks));
  }
  if (input.most_drills < 1 || input.most_drills > 12) {
    return invalid("planner.most_drills", text("is %d; allowed are 1 to 12", input.most_drills));
  }
  return validate_parts(input);
}

Result<Selection> choose_drills(std::span<const Drill> library, const PlannerInput& input) {
  LINTEL_TRY_VOID(validate(input));
  Selection selection;
  if (triage(input.warning_signs).clearance == Clearance::NoDrills) {
    for (std::size_t i = 0; i < library.size(); ++i) {
      selection.rejected.push_back({i, LeftOut::WarningSign});
    }
    selection.notes.push_back("A warning sign rules out every drill.");
    return selection;
  }
  Formulator formulator(library, input);
  const Formulation f = formulator.formulate(selection);
  const SearchResult best = search_best(f.problem);
  selection.objective = best.objective;
  selection.nodes = best.nodes;
  selection.proved = best.proved;
  if (!best.proved) {
    selection.notes.push_back("The search was ended early: a slightly better choice may exist.");
  }
  add_choices(f, best, library, input, formulator.wanted(), selection);
  add_expectation(f, best, library, input, formulator.wanted(), selection);
  for (std::size_t item = 0; item < f.drill.size(); ++item) {
    const bool chosen = std::any_of(best.choices.begin(), best.choices.end(),
                                    [item](const SearchChoice& c) { return c.item == item; });
    if (!chosen) selection.rejected.push_back({f.drill[item], LeftOut::NotWorthIt});
  }
  std::sort(selection.rejected.begin(), selection.rejected.end(),
            [](const Rejected& a, const Rejected& b) { return a.drill < b.drill; });
  return selection;
}

}  // namespace lintel::plan
