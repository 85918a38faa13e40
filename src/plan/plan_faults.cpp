#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/plan.h"

namespace lintel::plan {
namespace {

constexpr double kSecond = 1.0;  // rounding of a written plan

class Checker {
 public:
  explicit Checker(const Plan& plan) : plan_(plan) {}

  std::vector<Error> check() {
    check_frame();
    check_clearance();
    check_drills();
    for (std::size_t w = 0; w < plan_.schedule.size(); ++w) check_week(w);
    check_goals();
    return std::move(faults_);
  }

 private:
  void add(std::string field, std::string message) {
    Error error{ErrorCode::Invalid, std::move(message), {}, "make the plan anew", {}};
    error.place.field = std::move(field);
    faults_.push_back(std::move(error));
  }

  void check_frame() {
    if (plan_.weeks < 1 || plan_.weeks > 52) add("weeks", "is outside of 1 to 52");
    if (plan_.sessions_per_week < 1 || plan_.sessions_per_week > 7) {
      add("sessions_per_week", "is outside of 1 to 7");
    }
    if (!(plan_.time_per_session >= 300.0 && plan_.time_per_session <= 7200.0)) {
      add("minutes_per_session", "is outside of 5 to 120");
    }
    if (!plan_.schedule.empty() &&
        plan_.schedule.size() != static_cast<std::size_t>(std::max(0, plan_.weeks))) {
      add("schedule", "does not have as many weeks as the plan");
    }
  }

  void check_clearance() {
    const Triage cleared = triage(plan_.warning_signs);
    if (plan_.clearance != cleared.clearance) {
      add("clearance", "does not follow from the warning signs");
    }
    if (cleared.clearance != Clearance::Full && plan_.referral.empty()) {
      add("referral", "is missing in spite of a warning sign");
    }
    if (cleared.clearance == Clearance::NoDrills &&
        (!plan_.drills.empty() || !plan_.schedule.empty())) {
      add("drills", "are given in spite of a warning sign that rules them out");
    }
  }

  void check_drills() {
    for (std::size_t i = 0; i < plan_.drills.size(); ++i) {
      const PlannedDrill& drill = plan_.drills[i];
      const std::string field = "drills[" + std::to_string(i) + "]";
      if (drill.loaded && !plan_.warning_signs.empty()) {
        add(field + ".loaded", "a loaded drill in spite of a warning sign");
      }
      if (drill.cautions.empty()) add(field + ".cautions", "is empty");
      for (std::size_t k = 0; k < i; ++k) {
        if (plan_.drills[k].id == drill.id) add(field + ".id", "occurs twice");
      }
    }
  }

  void check_week(std::size_t w) {
    const PlannedWeek& week = plan_.schedule[w];
    const std::string field = "schedule[" + std::to_string(w) + "]";
    if (week.number != static_cast<int>(w) + 1) add(field + ".week", "is out of order");
    if (week.start != plan_.from + 7 * static_cast<int>(w)) {
      add(field + ".start", "is not the day that the plan's start gives");
    }
    if (week.sessions.size() > static_cast<std::size_t>(std::max(0, plan_.sessions_per_week))) {
      add(field + ".sessions", "are more than the plan has in a week");
    }
    for (std::size_t s = 0; s < week.sessions.size(); ++s) {
      check_session(week.sessions[s], field + ".sessions[" + std::to_string(s) + "]");
    }
  }

  void check_session(const PlannedSession& session, const std::string& field) {
    double time = 0.0;
    std::vector<std::size_t> seen;
    for (const SessionItem& item : session.items) {
      time += item.time;
      if (item.drill >= plan_.drills.size()) {
        add(field, "names a drill that the plan does not have");
      } else if (std::find(seen.begin(), seen.end(), item.drill) != seen.end()) {
        add(field, "has \"" + plan_.drills[item.drill].id + "\" twice");
      }
      seen.push_back(item.drill);
    }
    if (time > plan_.time_per_session + kSecond) {
      add(field, text("takes %.1f minutes; the session has %.1f", time / 60.0,
                      plan_.time_per_session / 60.0));
    }
    if (std::abs(time - session.time) > kSecond) {
      add(field + ".minutes", "is not the sum of its drills");
    }
    if (session.day < 0 || session.day > 6) add(field + ".day", "is outside of 1 to 7");
  }

  void check_goals() {
    for (std::size_t i = 0; i < plan_.goals.size(); ++i) {
      const double p = plan_.goals[i].probability;
      if (p >= 0.0 && p <= 1.0) continue;
      add("goals[" + std::to_string(i) + "].probability", "is outside of 0 to 1");
    }
  }

  const Plan& plan_;
  std::vector<Error> faults_;
};

}  // namespace

std::vector<Error> find_faults(const Plan& plan) {
  return Checker(plan).check();
}

}  // namespace lintel::plan
