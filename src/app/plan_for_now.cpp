#include "app/plan_for_now.h"

#include <algorithm>

namespace lintel::app {
namespace {

bool contains(const std::vector<body::WarningSign>& signs, body::WarningSign sign) {
  return std::find(signs.begin(), signs.end(), sign) != signs.end();
}

void empty_out(plan::Plan& plan) {
  plan.drills.clear();
  plan.schedule.clear();
  plan.goals.clear();
  plan.retests.clear();
  plan.setup_changes.clear();
  plan.stop_rules.clear();
  plan.seated_hold.reset();
}

}  // namespace

bool is_older_than_signs(const plan::Plan& plan, const std::vector<body::WarningSign>& signs) {
  return std::any_of(signs.begin(), signs.end(),
                     [&](body::WarningSign sign) { return !contains(plan.warning_signs, sign); });
}

void take_drills_out(const std::vector<bool>& out, plan::Plan& plan) {
  std::vector<std::size_t> next(plan.drills.size(), 0);
  std::vector<plan::PlannedDrill> kept;
  for (std::size_t i = 0; i < plan.drills.size(); ++i) {
    next[i] = kept.size();
    if (!out[i]) kept.push_back(std::move(plan.drills[i]));
  }
  plan.drills = std::move(kept);
  for (plan::PlannedWeek& week : plan.schedule) {
    for (plan::PlannedSession& session : week.sessions) {
      std::erase_if(session.items, [&](const plan::SessionItem& item) { return out[item.drill]; });
      session.time = 0.0;
      for (plan::SessionItem& item : session.items) {
        item.drill = next[item.drill];
        session.time += item.time;
      }
    }
    std::erase_if(week.sessions, [](const plan::PlannedSession& s) { return s.items.empty(); });
  }
  const bool has_hold =
      std::any_of(plan.drills.begin(), plan.drills.end(),
                  [](const plan::PlannedDrill& d) { return d.id == "seated-half-unloaded-hold"; });
  if (!has_hold) plan.seated_hold.reset();
}

plan::Plan plan_for_now(plan::Plan plan, const std::vector<body::WarningSign>& signs) {
  if (!is_older_than_signs(plan, signs)) return plan;
  for (const body::WarningSign sign : signs) {
    if (!contains(plan.warning_signs, sign)) plan.warning_signs.push_back(sign);
  }
  const plan::Triage triage = plan::triage(plan.warning_signs);
  plan.clearance = triage.clearance;
  plan.referral = plan::referral_text(triage);
  plan.notes.emplace_back("A warning sign was noted after this plan was made: make a new plan.");
  if (triage.clearance == plan::Clearance::NoDrills) {
    empty_out(plan);
    return plan;
  }
  std::vector<bool> loaded;
  for (const plan::PlannedDrill& drill : plan.drills) loaded.push_back(drill.loaded);
  take_drills_out(loaded, plan);
  return plan;
}

}  // namespace lintel::app
