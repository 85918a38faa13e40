#include "plan/drill.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"

namespace lintel::plan {
namespace {

struct EquipmentWords {
  std::string_view name, label;
};
constexpr std::array<EquipmentWords, kEquipmentCount> kEquipment = {{
    {"pipe", "pipe or broom stick"},
    {"bar", "empty bar"},
    {"discs", "light discs"},
    {"box", "box or step"},
    {"ball", "exercise ball"},
    {"chair", "chair"},
    {"bench", "bench"},
    {"roller", "foam roller or rolled towel"},
    {"band", "elastic band"},
    {"pull_up_bar", "pull-up bar"},
    {"wedge", "heel wedge or lifting shoe"},
    {"scale", "bathroom scale"},
    {"kettlebell", "kettlebell or dumbbell"},
    {"rack", "squat rack"},
}};

constexpr std::array<EquipmentWords, kModeCount> kModes = {{
    {"static_stretch", "static stretch"},
    {"mobilisation", "mobilisation"},
    {"loaded_range", "strength at long range"},
    {"skill", "movement practice"},
}};

class Faults {
 public:
  void add(std::string field, std::string message, std::string mend = {}) {
    Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
    error.place.field = std::move(field);
    errors_.push_back(std::move(error));
  }
  void require_text(const std::string& text, const std::string& field) {
    if (text.empty()) add(field, "is empty", "give it a text");
  }
  std::vector<Error> take() { return std::move(errors_); }

 private:
  std::vector<Error> errors_;
};

std::string indexed(std::string_view list, std::size_t i, std::string_view member) {
  std::string field = std::string(list) + "[" + std::to_string(i) + "]";
  if (!member.empty()) field += "." + std::string(member);
  return field;
}

bool is_id(const std::string& id) {
  const auto allowed = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
  };
  return !id.empty() && id.size() <= 60 && std::all_of(id.begin(), id.end(), allowed);
}

void check_targets(const Drill& drill, Faults& faults) {
  if (drill.targets.empty()) faults.add("targets", "is empty", "name what the drill trains");
  for (std::size_t i = 0; i < drill.targets.size(); ++i) {
    const Gain& gain = drill.targets[i].gain;
    const auto in = [](double v, double low, double high) { return v >= low && v <= high; };
    if (!in(gain.per_week, 0.0, 10.0 * kRadiansPerDegree)) {
      faults.add(indexed("targets", i, "gain_deg_per_week"), "is outside of 0 to 10");
    }
    if (!in(gain.reference_time, 60.0, 24 * 3600.0)) {
      faults.add(indexed("targets", i, "reference_minutes_per_week"), "is outside of 1 to 1440");
    }
    if (!in(gain.weeks, 1.0, 52.0)) {
      faults.add(indexed("targets", i, "weeks"), "is outside of 1 to 52");
    }
    // Where nobody measured it, nobody knows it to better than half of itself.
    const double least = gain.has_source ? 0.0 : 0.5 * gain.per_week;
    if (!(gain.standard_deviation > 0.0 && gain.standard_deviation >= least - 1e-12 &&
          std::isfinite(gain.standard_deviation))) {
      faults.add(indexed("targets", i, "gain_sd_deg_per_week"),
                 gain.has_source ? "must be above 0"
                                 : "must be at least half of the gain where there is no source");
    }
    faults.require_text(gain.source, indexed("targets", i, "source"));
    for (std::size_t k = 0; k < i; ++k) {
      if (drill.targets[k].part == drill.targets[i].part) {
        faults.add(indexed("targets", i, "part"), "occurs twice", "keep one of the two");
      }
    }
  }
}

void check_doses(const Drill& drill, Faults& faults) {
  if (drill.doses.empty()) faults.add("doses", "is empty", "give at least one dose");
  for (std::size_t i = 0; i < drill.doses.size(); ++i) {
    const Dose& dose = drill.doses[i];
    if (dose.sets < 1 || dose.sets > 20) {
      faults.add(indexed("doses", i, "sets"), "is outside of 1 to 20");
    }
    if (dose.repetitions < 0 || dose.repetitions > 100) {
      faults.add(indexed("doses", i, "repetitions"), "is outside of 0 to 100");
    }
    if (!(dose.hold >= 0.0 && dose.hold <= 600.0)) {
      faults.add(indexed("doses", i, "hold_s"), "is outside of 0 to 600");
    }
    if (dose.repetitions == 0 && dose.hold <= 0.0) {
      faults.add(indexed("doses", i, ""), "has neither repetitions nor a hold");
    }
    if (dose.times_per_week < 1 || dose.times_per_week > 7) {
      faults.add(indexed("doses", i, "times_per_week"), "is outside of 1 to 7");
    }
    if (!(dose.time_per_session >= 30.0 && dose.time_per_session <= 3600.0)) {
      faults.add(indexed("doses", i, "minutes_per_session"), "is outside of 0.5 to 60");
    }
    // Holds and three seconds a repetition must fit into the stated time.
    const double least = dose.sets * std::max(1, dose.repetitions) * dose.hold;
    if (least > dose.time_per_session + 1e-9) {
      faults.add(indexed("doses", i, "minutes_per_session"),
                 text("is less than the holds take together, %.1f minutes", least / 60.0));
    }
    if (i > 0 && dose.time_per_week() < drill.doses[i - 1].time_per_week()) {
      faults.add(indexed("doses", i, ""), "is less time a week than the dose before it",
                 "put the smallest dose first");
    }
  }
}

void check_ladder(const Drill& drill, Faults& faults) {
  if (drill.ladder.empty()) faults.add("ladder", "is empty", "give at least one step");
  for (std::size_t i = 0; i < drill.ladder.size(); ++i) {
    const LadderStep& step = drill.ladder[i];
    faults.require_text(step.name, indexed("ladder", i, "name"));
    faults.require_text(step.how, indexed("ladder", i, "how"));
    faults.require_text(step.easier, indexed("ladder", i, "easier"));
    faults.require_text(step.harder, indexed("ladder", i, "harder"));
    faults.require_text(step.move_on, indexed("ladder", i, "move_on"));
    if (step.good_sessions < 1 || step.good_sessions > 30) {
      faults.add(indexed("ladder", i, "good_sessions"), "is outside of 1 to 30");
    }
    if (!(step.effort_at_most >= 1.0 && step.effort_at_most <= 10.0)) {
      faults.add(indexed("ladder", i, "effort_at_most"), "is outside of 1 to 10");
    }
    if (step.loaded && !drill.loaded) {
      faults.add(indexed("ladder", i, "loaded"), "is true in a drill that is not loaded",
                 "write \"loaded\": true for the drill, so that a warning sign leaves it out");
    }
  }
}

}  // namespace

std::string_view equipment_name(Equipment equipment) {
  return kEquipment[static_cast<std::size_t>(equipment)].name;
}
std::string_view equipment_label(Equipment equipment) {
  return kEquipment[static_cast<std::size_t>(equipment)].label;
}
std::optional<Equipment> find_equipment(std::string_view name) {
  for (std::size_t i = 0; i < kEquipment.size(); ++i) {
    if (kEquipment[i].name == name) return static_cast<Equipment>(i);
  }
  return std::nullopt;
}
std::vector<Equipment> EquipmentSet::list() const {
  std::vector<Equipment> out;
  for (int i = 0; i < kEquipmentCount; ++i) {
    if (has(static_cast<Equipment>(i))) out.push_back(static_cast<Equipment>(i));
  }
  return out;
}

std::string_view mode_name(Mode mode) {
  return kModes[static_cast<std::size_t>(mode)].name;
}
std::string_view mode_label(Mode mode) {
  return kModes[static_cast<std::size_t>(mode)].label;
}

std::string dose_text(const Dose& dose) {
  std::string out = std::to_string(dose.sets) + " x ";
  if (dose.repetitions > 0) {
    out += std::to_string(dose.repetitions);
    if (dose.hold > 0.0) out += text(", hold %g s", dose.hold);
  } else {
    out += text("%g s", dose.hold);
  }
  out += dose.times_per_week == 1   ? std::string(", once a week")
         : dose.times_per_week == 7 ? std::string(", every day")
                                    : text(", %d days a week", dose.times_per_week);
  return out + text(", %g min", dose.time_per_session / 60.0);
}

bool fits_equipment(const Drill& drill, EquipmentSet have) {
  return std::all_of(drill.needs.begin(), drill.needs.end(),
                     [have](EquipmentSet any) { return have.has_any_of(any); });
}

std::vector<Error> find_faults(const Drill& drill) {
  Faults faults;
  if (!is_id(drill.id)) {
    faults.add("id", "is \"" + drill.id + "\"",
               "use at most 60 lower-case letters, digits and hyphens");
  }
  faults.require_text(drill.name, "name");
  faults.require_text(drill.purpose, "purpose");
  faults.require_text(drill.position, "position");
  faults.require_text(drill.dose_source, "dose_source");
  faults.require_text(drill.source, "source");
  if (drill.steps.empty()) faults.add("steps", "is empty", "say how it is done");
  if (drill.cues.empty()) faults.add("cues", "is empty", "give at least one cue");
  if (drill.cautions.empty()) faults.add("cautions", "is empty", "give at least one caution");
  if (drill.drawing.empty()) faults.add("drawing", "is empty", "draw at least one panel");
  for (std::size_t i = 0; i < drill.needs.size(); ++i) {
    if (drill.needs[i].empty()) {
      faults.add(indexed("equipment", i, ""), "names nothing", "name at least one thing");
    }
  }
  check_targets(drill, faults);
  check_doses(drill, faults);
  check_ladder(drill, faults);
  return faults.take();
}

std::vector<Error> find_faults(std::span<const Drill> library) {
  Faults faults;
  for (std::size_t i = 0; i < library.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      if (library[k].id == library[i].id) {
        faults.add(library[i].id + ".id", "occurs twice in the library");
      }
    }
    for (const Prerequisite& before : library[i].prerequisites) {
      const Drill* other = find_drill(library, before.drill);
      const std::string field = library[i].id + ".prerequisites";
      if (other == nullptr) {
        faults.add(field, "names \"" + before.drill + "\", which is no drill of the library");
      } else if (before.step < 0 || before.step >= static_cast<int>(other->ladder.size())) {
        faults.add(field, text("asks for step %d of \"%s\", which has %d", before.step + 1,
                               before.drill.c_str(), static_cast<int>(other->ladder.size())));
      }
    }
  }
  // A chain of prerequisites longer than the library has come round to itself.
  for (const Drill& drill : library) {
    std::vector<std::string> reached = {drill.id};
    for (std::size_t next = 0; next < reached.size(); ++next) {
      const Drill* at = find_drill(library, reached[next]);
      if (at == nullptr) continue;
      for (const Prerequisite& before : at->prerequisites) {
        if (before.drill == drill.id) {
          faults.add(drill.id + ".prerequisites", "go in a circle");
          next = reached.size();
          break;
        }
        if (std::find(reached.begin(), reached.end(), before.drill) == reached.end()) {
          reached.push_back(before.drill);
        }
      }
    }
  }
  return faults.take();
}

const Drill* find_drill(std::span<const Drill> library, std::string_view id) {
  const auto it =
      std::find_if(library.begin(), library.end(), [id](const Drill& d) { return d.id == id; });
  return it == library.end() ? nullptr : &*it;
}

std::vector<Drill> drills_in_use(std::span<const Drill> library) {
  std::vector<Drill> out;
  std::copy_if(library.begin(), library.end(), std::back_inserter(out),
               [](const Drill& drill) { return !drill.archived; });
  return out;
}

}  // namespace lintel::plan
