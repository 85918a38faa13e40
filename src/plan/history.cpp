#include "plan/history.h"

#include <algorithm>
#include <array>

namespace lintel::plan {
namespace {

struct StopSignText {
  std::string_view name;
  std::string_view label;
};
constexpr std::array<StopSignText, kStopSignCount> kStopSigns = {{
    {"sharp_pain", "sharp or radiating pain"},
    {"numbness", "numbness or tingling"},
    {"dizziness", "dizziness"},
    {"chest_pain", "chest pain"},
    {"loss_of_bar_control", "loss of control over the bar"},
    {"heel_lift", "heels came up"},
    {"lumbar_rounding", "the low back rounded"},
}};

constexpr std::array<std::string_view, kLiftCount> kLiftNames = {
    "overhead_squat", "snatch", "clean_and_jerk", "back_squat", "front_squat"};
constexpr std::array<std::string_view, kLiftCount> kLiftLabels = {
    "overhead squat", "snatch", "clean and jerk", "back squat", "front squat"};

template <typename T>
void sort_entries(std::vector<T>& entries) {
  std::stable_sort(entries.begin(), entries.end(),
                   [](const T& a, const T& b) { return a.date < b.date; });
}

}  // namespace

std::string_view stop_sign_name(StopSign sign) {
  return kStopSigns[static_cast<std::size_t>(sign)].name;
}

std::string_view stop_sign_label(StopSign sign) {
  return kStopSigns[static_cast<std::size_t>(sign)].label;
}

bool is_for_a_clinician(StopSign sign) {
  return sign <= StopSign::ChestPain;
}

std::string_view lift_name(Lift lift) {
  return kLiftNames[static_cast<std::size_t>(lift)];
}

std::string_view lift_label(Lift lift) {
  return kLiftLabels[static_cast<std::size_t>(lift)];
}

int worst_pain(const DrillDone& done) {
  return std::max(done.pain_during.value_or(0), done.pain_next_morning.value_or(0));
}

void sort_by_date(History& history) {
  sort_entries(history.sessions);
  sort_entries(history.tests);
  sort_entries(history.releases);
  sort_entries(history.best_lifts);
}

std::vector<DatedDrill> entries_of(const History& history, std::string_view drill, Date last) {
  std::vector<DatedDrill> out;
  for (const Session& session : history.sessions) {
    if (session.date > last) continue;
    for (const DrillDone& done : session.drills) {
      if (done.drill == drill) out.push_back({session.date, &done});
    }
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const DatedDrill& a, const DatedDrill& b) { return a.date < b.date; });
  return out;
}

std::optional<Date> last_release(const History& history, Date last) {
  std::optional<Date> out;
  for (const ClinicianRelease& release : history.releases) {
    if (release.date <= last && (!out || release.date > *out)) out = release.date;
  }
  return out;
}

}  // namespace lintel::plan
