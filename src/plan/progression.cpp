#include "plan/progression.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

#include "base/text.h"
#include "plan/plan.h"
#include "plan/progression_numbers.h"

namespace lintel::plan {
namespace {

// Details of a rule that applies; nothing when it does not.
using Details = std::optional<std::string>;

double number(std::string_view key) {
  return progression_numbers().value(key);
}

bool is_about_position(const DrillDone& done) {
  return done.stop_sign == StopSign::HeelLift || done.stop_sign == StopSign::LumbarRounding;
}

bool stopped_for_a_clinician(const DrillDone& done) {
  return done.stop_sign && is_for_a_clinician(*done.stop_sign);
}

std::string on(Date date) {
  return " on " + date.iso();
}

// Everything the rules look at, gathered once. No check leans on the order of the rules.
class Case {
 public:
  Case(const DrillAsked& asked, const History& history,
       const std::vector<body::WarningSign>& warning_signs, const std::optional<TestNews>& news,
       Date today)
      : asked_(asked),
        history_(history),
        news_(news),
        today_(today),
        triage_(triage(warning_signs)) {
    entries_ = entries_of(history, asked.drill, today);
    release_ = last_release(history, today);
    for (const DatedDrill& entry : entries_) {
      if (counts(entry.date)) since_release_.push_back(entry);
    }
    const auto few = static_cast<std::size_t>(number("recent.sessions"));
    recent_ = entries_;
    if (recent_.size() > few)
      recent_.erase(recent_.begin(), recent_.end() - static_cast<long>(few));
  }

  Details details_of(Rule rule) const {
    using Check = Details (Case::*)() const;
    static constexpr std::array<Check, kRuleCount> kChecks = {
        &Case::warning_sign,       &Case::clinician_sign,   &Case::stopped_elsewhere,
        &Case::severe_pain,        &Case::pain_again,       &Case::pain_at_first_step,
        &Case::pain_above_limit,   &Case::pain_not_settled, &Case::pain_rising,
        &Case::test_worse,         &Case::lost_bar,         &Case::position_lost_again,
        &Case::long_break,         &Case::too_much_undone,  &Case::effort_too_high,
        &Case::nothing_logged,     &Case::not_settled_once, &Case::not_recorded,
        &Case::position_lost_once, &Case::short_break,      &Case::not_all_done,
        &Case::effort_near_limit,  &Case::not_working,      &Case::target_reached,
        &Case::too_few_sessions,   &Case::last_step,        &Case::next_step_loaded,
        &Case::good_sessions};
    return (this->*kChecks[static_cast<std::size_t>(rule)])();
  }

 private:
  bool counts(Date date) const { return !release_ || date > *release_; }
  const Rung& rung() const { return asked_.ladder[static_cast<std::size_t>(asked_.step)]; }
  const DrillDone& last() const { return *entries_.back().done; }
  Date last_date() const { return entries_.back().date; }
  int days_since_last() const { return today_ - last_date(); }

  // How many of the last few sessions are so. `pain` rules pass over what a release has settled.
  int recently(const std::function<bool(const DatedDrill&)>& is_so) const {
    return static_cast<int>(std::count_if(recent_.begin(), recent_.end(), is_so));
  }
  Details twice(const std::function<bool(const DatedDrill&)>& is_so, const char* what) const {
    const int times = recently(is_so);
    if (times < 2) return std::nullopt;
    return text("%s in %d of the last %d sessions", what, times, static_cast<int>(recent_.size()));
  }

  Details warning_sign() const {
    if (triage_.clearance == Clearance::Full) return std::nullopt;
    const bool loaded = asked_.loaded || rung().loaded;
    if (triage_.clearance == Clearance::UnloadedOnly && !loaded) return std::nullopt;
    const WarningRule& sign = triage_.referrals.front();
    return sign.label + "; see " + sign.whom;
  }
  Details clinician_sign() const {
    for (const DatedDrill& e : since_release_) {
      if (stopped_for_a_clinician(*e.done)) {
        return std::string(stop_sign_label(*e.done->stop_sign)) + on(e.date);
      }
    }
    return std::nullopt;
  }
  Details stopped_elsewhere() const {
    for (const Session& session : history_.sessions) {
      if (session.date > today_ || !counts(session.date)) continue;
      for (const DrillDone& done : session.drills) {
        if (done.drill == asked_.drill || !stopped_for_a_clinician(done)) continue;
        return std::string(stop_sign_label(*done.stop_sign)) + on(session.date);
      }
    }
    return std::nullopt;
  }
  Details severe_pain() const {
    for (const DatedDrill& e : since_release_) {
      if (worst_pain(*e.done) >= number("pain.severe")) {
        return text("%d of 10", worst_pain(*e.done)) + on(e.date);
      }
    }
    return std::nullopt;
  }
  bool is_above_limit(const DatedDrill& e) const {
    return counts(e.date) && e.done->pain_during.value_or(0) > number("pain.limit");
  }
  bool is_unsettled(const DatedDrill& e) const {
    return counts(e.date) && e.done->pain_next_morning.value_or(0) > number("pain.settled");
  }
  Details pain_again() const {
    return twice([this](const DatedDrill& e) { return is_above_limit(e); },
                 text("more than %g of 10", number("pain.limit")).c_str());
  }
  Details pain_at_first_step() const {
    if (asked_.step > 0) return std::nullopt;
    if (Details d = pain_above_limit()) return d;
    if (Details d = pain_not_settled()) return d;
    return pain_rising();
  }
  Details pain_above_limit() const {
    if (entries_.empty() || !is_above_limit(entries_.back())) return std::nullopt;
    return text("%d of 10", *last().pain_during) + on(last_date()) +
           text(", allowed are %g", number("pain.limit"));
  }
  Details pain_not_settled() const {
    return twice([this](const DatedDrill& e) { return is_unsettled(e); },
                 text("more than %g of 10 the morning after", number("pain.settled")).c_str());
  }
  // Mean of the pain of the sessions in the seven days that end with `day`.
  std::optional<double> weekly_pain(Date day) const {
    double sum = 0;
    int sessions = 0;
    for (const DatedDrill& e : since_release_) {
      if (e.date > day || e.date <= day - 7 || !e.done->pain_during) continue;
      sum += worst_pain(*e.done);
      ++sessions;
    }
    if (sessions < number("pain.rise_sessions")) return std::nullopt;
    return sum / sessions;
  }
  Details pain_rising() const {
    if (since_release_.empty()) return std::nullopt;
    const auto now = weekly_pain(since_release_.back().date);
    const auto before = weekly_pain(since_release_.back().date - 7);
    if (!now || !before || !(*now - *before > number("pain.rise"))) return std::nullopt;
    return text("from %.1f to %.1f of 10, mean of a week", *before, *now);
  }
  Details test_worse() const {
    if (entries_.empty() || !news_ || !news_->worse) return std::nullopt;
    return "see the changes of the tests";
  }
  Details lost_bar() const {
    if (entries_.empty() || last().stop_sign != StopSign::LossOfBarControl) return std::nullopt;
    return last_date().iso();
  }
  Details position_lost_again() const {
    return twice([](const DatedDrill& e) { return is_about_position(*e.done); },
                 "heels or low back");
  }
  Details long_break() const {
    if (entries_.empty() || days_since_last() < number("break.long_days")) return std::nullopt;
    return text("%d days since the last session", days_since_last());
  }
  Details too_much_undone() const {
    const double least = number("done.share_back");
    return twice([this, least](const DatedDrill& e) { return share_done(asked_, e) < least; },
                 text("less than %.0f %%", 100 * least).c_str());
  }
  Details effort_too_high() const {
    const double limit = number("effort.too_high");
    return twice([limit](const DatedDrill& e) { return e.done->effort.value_or(0) >= limit; },
                 text("effort of %g or more", limit).c_str());
  }
  Details nothing_logged() const {
    if (!entries_.empty()) return std::nullopt;
    return "begin as planned";
  }
  Details not_settled_once() const {
    if (entries_.empty()) return std::nullopt;
    if (!is_unsettled(entries_.back())) return std::nullopt;
    return text("%d of 10 after the session", *last().pain_next_morning) + on(last_date());
  }
  Details not_recorded() const {
    if (entries_.empty()) return std::nullopt;
    if (!last().pain_during) return "pain during the session" + on(last_date());
    if (!last().pain_next_morning && last_date() < today_) {
      return "pain the morning after the session" + on(last_date());
    }
    if (!last().effort) return "effort of the session" + on(last_date());
    return std::nullopt;
  }
  Details position_lost_once() const {
    if (entries_.empty()) return std::nullopt;
    if (!is_about_position(last())) return std::nullopt;
    return std::string(stop_sign_label(*last().stop_sign)) + on(last_date());
  }
  Details short_break() const {
    if (entries_.empty() || days_since_last() < number("break.short_days")) return std::nullopt;
    return text("%d days since the last session", days_since_last());
  }
  Details not_all_done() const {
    if (entries_.empty()) return std::nullopt;
    const double share = share_done(asked_, entries_.back());
    if (share >= 1) return std::nullopt;
    return text("%.0f %%", 100 * share) + on(last_date());
  }
  Details effort_near_limit() const {
    if (entries_.empty() || !(last().effort.value_or(0) > rung().effort_at_most)) {
      return std::nullopt;
    }
    return text("effort %g, to move on at most %g", *last().effort, rung().effort_at_most);
  }
  Details not_working() const {
    if (!news_ || !news_->not_working) return std::nullopt;
    return "see the forecast";
  }
  Details target_reached() const {
    if (!news_ || !news_->target_reached) return std::nullopt;
    return "on every side that is tested";
  }
  int good_in_a_row() const {
    const auto bad = std::find_if(entries_.rbegin(), entries_.rend(), [this](const DatedDrill& e) {
      return !is_good(asked_, e, today_);
    });
    return static_cast<int>(bad - entries_.rbegin());
  }
  Details too_few_sessions() const {
    if (good_in_a_row() >= rung().good_sessions) return std::nullopt;
    return text("%d of %d", good_in_a_row(), rung().good_sessions);
  }
  Details last_step() const {
    const int steps = static_cast<int>(asked_.ladder.size());
    if (asked_.step + 1 < steps) return std::nullopt;
    return text("step %d of %d", asked_.step + 1, steps);
  }
  Details next_step_loaded() const {
    if (last_step()) return std::nullopt;
    const Rung& next = asked_.ladder[static_cast<std::size_t>(asked_.step) + 1];
    if (triage_.clearance == Clearance::Full || !next.loaded) return std::nullopt;
    return triage_.referrals.front().label;
  }
  Details good_sessions() const {
    return text("%d, effort at most %g, no pain above %g", good_in_a_row(), rung().effort_at_most,
                number("pain.limit"));
  }

  const DrillAsked& asked_;
  const History& history_;
  const std::optional<TestNews>& news_;
  Date today_;
  Triage triage_;
  std::vector<DatedDrill> entries_, since_release_, recent_;
  std::optional<Date> release_;
};

// The share of the sets that a week asks for: less in a lighter one.
double share_asked(const DrillAsked& asked, Date date) {
  for (const Date first : asked.lighter_weeks) {
    if (date >= first && date < first + 7) return asked.lighter_share;
  }
  return 1.0;
}

}  // namespace

double share_done(const DrillAsked& asked, const DatedDrill& entry) {
  // A lighter week keeps whole sets, at least one.
  const double sets = std::max(1.0, std::ceil(asked.sets * share_asked(asked, entry.date) - 1e-9));
  double share = entry.done->sets / sets;
  if (asked.repetitions > 0 && entry.done->repetitions > 0) {
    share *= static_cast<double>(entry.done->repetitions) / asked.repetitions;
  } else if (asked.repetitions == 0 && asked.hold > 0 && entry.done->hold > 0) {
    share *= entry.done->hold / asked.hold;
  }
  return share;
}

bool is_good(const DrillAsked& asked, const DatedDrill& entry, Date today) {
  const DrillDone& done = *entry.done;
  const bool morning_known = done.pain_next_morning.has_value() || entry.date >= today;
  return done.step >= asked.step && !done.stop_sign && morning_known &&
         done.pain_next_morning.value_or(0) <= number("pain.settled") && done.pain_during &&
         *done.pain_during <= number("pain.limit") && done.effort &&
         *done.effort <= asked.ladder[static_cast<std::size_t>(asked.step)].effort_at_most &&
         share_done(asked, entry) >= 1;
}

DrillDecision decide(const DrillAsked& asked, const History& history,
                     const std::vector<body::WarningSign>& warning_signs,
                     const std::optional<TestNews>& news, Date today) {
  LINTEL_CHECK(!asked.ladder.empty() && asked.step >= 0 &&
               asked.step < static_cast<int>(asked.ladder.size()));
  const Case all(asked, history, warning_signs, news, today);
  DrillDecision out;
  out.drill = asked.drill;
  out.step = out.next_step = asked.step;
  for (const RuleRow& row : progression_rules()) {
    const Details details = all.details_of(row.rule);
    if (!details) continue;
    out.rule = row.rule;
    out.decision = row.decision;
    out.reason = row.why + ": " + *details;
    break;
  }
  if (out.decision == Decision::MoveOn) ++out.next_step;
  if (out.decision == Decision::GoBack && asked.step > 0) {
    --out.next_step;
  } else if (out.decision == Decision::GoBack) {
    out.decision = Decision::Hold;
    out.reason += "; there is no easier step, do fewer sets";
  }
  out.reason += ".";
  return out;
}

}  // namespace lintel::plan
