#include "app/plan_edits.h"

#include <algorithm>
#include <cmath>

#include "app/plan_for_now.h"
#include "formats/located_json.h"

namespace lintel::app {
namespace {

tl::unexpected<Error> invalid(std::size_t edit, const std::string& key, std::string message,
                              std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = "edits[" + std::to_string(edit) + "]." + key;
  return fail(std::move(error));
}

Result<std::size_t> place_of(const plan::Plan& plan, const std::string& id, std::size_t edit) {
  std::vector<std::string> ids;
  for (const plan::PlannedDrill& drill : plan.drills) {
    if (drill.id == id) return ids.size();
    ids.push_back(drill.id);
  }
  const std::string_view nearest = formats::nearest_word(id, ids);
  return invalid(edit, "drill", "\"" + id + "\" is not in this plan",
                 nearest.empty() ? "take the id from the plan's drills"
                                 : "did you mean \"" + std::string(nearest) + "\"?");
}

// What the time of a drill goes with: repetitions, or how long they are held.
double work_of(const plan::Dose& dose) {
  const double repetitions = std::max(1, dose.repetitions);
  return dose.sets * repetitions * std::max(1.0, dose.hold);
}

// Sets of every session; a lighter week keeps its share.
void set_sets(std::size_t place, int before, double factor, plan::Plan& plan) {
  const int sets = plan.drills[place].dose.sets;
  for (plan::PlannedWeek& week : plan.schedule) {
    for (plan::PlannedSession& session : week.sessions) {
      for (plan::SessionItem& item : session.items) {
        if (item.drill != place) continue;
        const double time_of_a_set = item.time / item.sets * factor * before / sets;
        item.sets = std::max(
            1, static_cast<int>(std::ceil(static_cast<double>(item.sets) * sets / before - 1e-9)));
        item.time = time_of_a_set * item.sets;
      }
      session.time = 0.0;
      for (const plan::SessionItem& item : session.items) session.time += item.time;
    }
  }
}

Result<void> apply_one(const formats::PlanEdit& edit, std::size_t index,
                       const std::vector<plan::Drill>& library, plan::Plan& plan) {
  const std::size_t place = LINTEL_TRY(place_of(plan, edit.drill, index));
  if (edit.leave_out) {
    std::vector<bool> out(plan.drills.size(), false);
    out[place] = true;
    take_drills_out(out, plan);
    return {};
  }
  plan::PlannedDrill& planned = plan.drills[place];
  const plan::Dose before = planned.dose;
  if (edit.sets) planned.dose.sets = *edit.sets;
  if (edit.repetitions) planned.dose.repetitions = *edit.repetitions;
  if (edit.hold) planned.dose.hold = *edit.hold;
  if (planned.dose.repetitions == 0 && planned.dose.hold <= 0.0) {
    return invalid(index, "hold_s", "leaves neither repetitions nor a time to hold",
                   "give one of the two");
  }
  const double factor = work_of(planned.dose) / work_of(before);
  planned.dose.time_per_session = before.time_per_session * factor;
  set_sets(place, before.sets, factor, plan);
  if (!edit.step) return {};
  const plan::Drill* drill = plan::find_drill(library, edit.drill);
  const int steps = drill == nullptr ? 0 : static_cast<int>(drill->ladder.size());
  if (*edit.step >= steps) {
    return invalid(index, "step", "is " + std::to_string(*edit.step + 1),
                   "this drill has " + std::to_string(steps) + " steps");
  }
  set_step(*drill, *edit.step, planned);
  return {};
}

}  // namespace

void set_step(const plan::Drill& drill, int step, plan::PlannedDrill& planned) {
  const plan::LadderStep& rung = drill.ladder[static_cast<std::size_t>(step)];
  planned.step = step;
  planned.step_name = rung.name;
  planned.step_how = rung.how;
  planned.move_on = rung.move_on;
}

Result<plan::Plan> apply_edits(plan::Plan plan, const std::vector<formats::PlanEdit>& edits,
                               const std::vector<plan::Drill>& library, std::string note) {
  for (std::size_t i = 0; i < edits.size(); ++i) {
    LINTEL_TRY_VOID(apply_one(edits[i], i, library, plan));
  }
  if (!note.empty()) plan.notes.push_back(std::move(note));
  std::vector<Error> faults = plan::find_faults(plan);
  if (faults.empty()) return plan;
  faults.front().mend = "fewer sets, shorter holds, or a new plan with longer sessions";
  return fail(std::move(faults.front()));
}

}  // namespace lintel::app
