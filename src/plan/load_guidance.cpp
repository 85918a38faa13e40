#include "plan/load_guidance.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "body/number_table.h"
#include "plan/plan.h"

namespace lintel::embedded {
extern const std::string_view plan_loads_csv;
}

namespace lintel::plan {
namespace {

constexpr int kMostWeeks = 12;
constexpr int kStages = 5;
constexpr std::array<std::string_view, kStages> kStageNames = {"pipe", "empty_bar", "light",
                                                               "moderate", "full"};
constexpr std::array<std::string_view, kStages> kStageLabels = {"pipe", "empty bar", "light",
                                                                "moderate", "full"};

const body::NumberTable& numbers() {
  static const body::NumberTable kTable = [] {
    auto table = body::NumberTable::create(embedded::plan_loads_csv, "data/plan/loads.csv");
    LINTEL_CHECK(table.has_value());
    return std::move(table).value();
  }();
  return kTable;
}

double of_stage(LoadStage stage, const char* what) {
  return numbers().value("stage." + std::string(load_stage_name(stage)) + "." + what);
}

// The lift itself where it is known; else the smallest of what the other lifts suggest.
void choose_reference(const BestLifts& best, LoadAdvice& advice) {
  const auto worth = [&best](Lift lift) -> std::optional<double> {
    const auto& mass = best[lift];
    if (!mass || !(*mass > 0) || !std::isfinite(*mass)) return std::nullopt;
    return *mass * numbers().value("reference." + std::string(lift_name(lift)));
  };
  if (const auto itself = worth(Lift::OverheadSquat)) {
    advice.reference = Lift::OverheadSquat;
    advice.reference_mass = *itself;
    return;
  }
  for (int i = 0; i < kLiftCount; ++i) {
    const auto suggested = worth(static_cast<Lift>(i));
    if (!suggested || (advice.reference && *suggested >= advice.reference_mass)) continue;
    advice.reference = static_cast<Lift>(i);
    advice.reference_mass = *suggested;
  }
}

// The share of the reference that week `good` after the first good one allows.
double share_of(int good) {
  const int stage = std::min(1 + good, kStages - 1);
  if (stage == 1) return numbers().value("stage.empty_bar.most_share");
  const double base = of_stage(static_cast<LoadStage>(stage), "share");
  const int weeks_at_full = std::max(0, good - (kStages - 2));
  return std::min(base + weeks_at_full * numbers().value("stage.weekly_rise"),
                  numbers().value("stage.most_share"));
}

bool is_lighter(const LoadQuestion& question, int index) {
  return is_deload_week(std::max(question.first_week, 1) + index);
}

// Good weeks that are behind before week `index`, if all goes well; lighter weeks do not count.
int good_weeks_before(const LoadQuestion& question, int index) {
  int good = std::max(question.good_weeks, 0);
  for (int i = 1; i <= index; ++i) good += is_lighter(question, i) ? 0 : 1;
  return good;
}

// Of the whole plan; below 1 after its end.
int weeks_to_come(const LoadQuestion& question) {
  return question.plan_weeks - std::max(question.first_week, 1) + 1;
}

LoadWeek week_of(const LoadQuestion& question, const LoadAdvice& advice, int index) {
  LoadWeek week;
  week.week = index + 1;
  const int number = std::max(question.first_week, 1) + index;
  if (number <= question.plan_weeks) week.plan_week = number;
  week.deload = is_lighter(question, index);
  if (question.position_held && !question.pain && advice.reference) {
    const int good = good_weeks_before(question, index);
    const double allowed = share_of(good) * advice.reference_mass;
    if (allowed >= question.bar_mass) {
      week.stage = static_cast<LoadStage>(std::min(1 + good, kStages - 1));
      week.share = share_of(good);
      const double step = numbers().value("step_of_discs");
      week.mass = question.bar_mass;
      if (week.stage != LoadStage::EmptyBar) {
        week.mass += step * std::floor((allowed - question.bar_mass) / step + 1e-9);
      }
    }
  }
  week.sets = static_cast<int>(of_stage(week.stage, "sets"));
  if (week.deload) week.sets = (week.sets + 1) / 2;
  week.repetitions = static_cast<int>(of_stage(week.stage, "repetitions"));
  return week;
}

std::string why_of(const LoadQuestion& question, const LoadAdvice& advice) {
  if (!advice.reference) {
    return "No best lift is known: stay with the pipe, and enter the best overhead squat or "
           "snatch.";
  }
  if (question.pain) {
    return "There was pain in the last sessions: stay with the pipe until they are free of it.";
  }
  if (!question.position_held) {
    return "The position does not hold without a load yet: stay with the pipe until it does.";
  }
  return text(
      "Loads are taken from the best %s, counted as an overhead squat of %g kg; every week "
      "only if the one before was good.",
      std::string(lift_label(*advice.reference)).c_str(), advice.reference_mass);
}

}  // namespace

std::string_view load_stage_name(LoadStage stage) {
  return kStageNames[static_cast<std::size_t>(stage)];
}

std::string_view load_stage_label(LoadStage stage) {
  return kStageLabels[static_cast<std::size_t>(stage)];
}

BestLifts best_lifts_of(const History& history, Date today) {
  BestLifts out;
  std::array<Date, kLiftCount> dates{};
  for (const BestLift& entry : history.best_lifts) {
    const auto i = static_cast<std::size_t>(entry.lift);
    if (entry.date > today || (out.best[i] && entry.date < dates[i])) continue;
    out.best[i] = entry.mass;
    dates[i] = entry.date;
  }
  return out;
}

std::optional<int> weeks_left(const LoadQuestion& question) {
  const int left = weeks_to_come(question);
  if (left < 1) return std::nullopt;
  return std::min(left, kMostWeeks);
}

LoadAdvice advise_loads(const LoadQuestion& question, int weeks) {
  LoadAdvice advice;
  advice.source = "common practice, no source";
  const Triage signs = triage(question.warning_signs);
  if (signs.clearance != Clearance::Full) {
    advice.why = "Nothing with a load: " + signs.referrals.front().label + "; see " +
                 signs.referrals.front().whom + ".";
    return advice;
  }
  if (question.stopped) {
    advice.why = "Nothing with a load: a sign in the log is for a clinician to see first.";
    return advice;
  }
  advice.allowed = true;
  choose_reference(question.best, advice);
  for (int i = 0; i < std::clamp(weeks, 1, kMostWeeks); ++i) {
    advice.weeks.push_back(week_of(question, advice, i));
  }
  advice.why = why_of(question, advice);
  const int shown = static_cast<int>(advice.weeks.size());
  if (weeks_to_come(question) > shown) {
    advice.note =
        text("Only the coming %d weeks are shown: the loads after them follow from how these go.",
             shown);
  }
  return advice;
}

}  // namespace lintel::plan
