// The findings in plain words. A limiter is never named without its probability.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>

#include "base/text.h"
#include "reasoning/defaults.h"
#include "reasoning/explain.h"

namespace lintel::reasoning {
namespace {

using posture::Limit;

double to_degrees(double radians) {
  return radians * kDegreesPerRadian;
}
double percent(double share) {
  return std::round(100.0 * share);
}

struct Ranked {
  Factor factor;
  double probability;
};

std::vector<Ranked> ranked_factors(const ExplainResult& r) {
  std::vector<Ranked> out;
  for (std::size_t i = 0; i < kFactorCount; ++i) {
    out.push_back({static_cast<Factor>(i), r.uncertainty.probability_largest[i]});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Ranked& a, const Ranked& b) { return a.probability > b.probability; });
  return out;
}

bool untested(const ExplainResult& r, Factor factor) {
  for (const Limit limit : limits_of(factor)) {
    for (const MissingTest& m : r.missing) {
      if (m.limit == limit) return true;
    }
  }
  return false;
}

std::string part_text(const ExplainResult& r, Factor factor) {
  const Spread& s = r.uncertainty.parts[index_of(factor)];
  return text("%.0f deg (95 %%: %.0f to %.0f)", to_degrees(r.shares.parts[index_of(factor)]),
              to_degrees(s.low), to_degrees(s.high));
}

void add_main_finding(const ExplainResult& r, std::vector<std::string>& out) {
  const auto ranked = ranked_factors(r);
  const Ranked& top = ranked.front();
  const double likely = default_table().value("explain.likely");
  const double clear = default_table().value("explain.clear");
  const std::string label(factor_label(top.factor));
  const double whole = to_degrees(r.shares.whole);
  if (whole < 2.0) {
    const std::string more = whole < 0.5 ? std::string("no") : text("%.0f deg", whole);
    out.push_back("There is little to explain: " + more +
                  " more lean than the same body would have with reference mobility and its best "
                  "setup.");
    return;
  }
  if (top.probability < likely) {
    out.push_back(
        text("No single cause stands out: %s is the largest with probability %.0f %%, %s "
             "with %.0f %%.",
             label.c_str(), percent(top.probability),
             std::string(factor_label(ranked[1].factor)).c_str(), percent(ranked[1].probability)));
    return;
  }
  const std::string how =
      top.probability >= clear ? "The largest part" : "Probably the largest part";
  out.push_back(
      text("%s of the %.0f deg of extra lean is %s: %s; it is the largest with "
           "probability %.0f %%.",
           how.c_str(), whole, label.c_str(), part_text(r, top.factor).c_str(),
           percent(top.probability)));
  if (untested(r, top.factor)) {
    out.push_back(text("That rests on average values: %s was not tested in full.", label.c_str()));
  }
}

// The body allows one lean, the athlete shows another.
void add_habit(const ExplainResult& r, std::vector<std::string>& out) {
  if (!r.observed) return;
  const Spread& habit = r.uncertainty.parts[index_of(Factor::Habit)];
  const double part = r.shares.parts[index_of(Factor::Habit)];
  const double noted = default_table().value("explain.habit_noted");
  const double seen = to_degrees(r.observed->value);
  const double allowed = to_degrees(r.shares.most_upright);
  if (r.tests_done == 0) {
    const Spread& upright = r.uncertainty.most_upright;
    out.push_back(
        text("With the ranges of an average adult this body would allow %.0f deg (95 %%: %.0f "
             "to %.0f); %.0f deg were seen. Whether that is habit or stiffness only tests "
             "can tell.",
             allowed, to_degrees(upright.low), to_degrees(upright.high), seen));
    return;
  }
  const double probability = percent(r.uncertainty.probability_largest[index_of(Factor::Habit)]);
  if (habit.low > 0.0) {
    out.push_back(
        text("The range is there and is not used: the body allows %.0f deg, %.0f deg were "
             "seen. %.0f deg are habit (95 %%: %.0f to %.0f; largest with probability "
             "%.0f %%).",
             allowed, seen, to_degrees(part), to_degrees(habit.low), to_degrees(habit.high),
             probability));
  } else if (r.uncertainty.contradicted) {
    out.push_back(
        text("The posture seen (%.0f deg) is more upright than the tests should allow "
             "(%.0f deg): a test reads too low or the measurement is off. Take the parts "
             "with care.",
             seen, allowed));
  } else if (part > noted) {
    out.push_back(
        text("The body would allow about %.0f deg and %.0f deg were seen: %.0f deg may be habit, "
             "but the errors are too wide to be sure (95 %%: %.0f to %.0f; largest with "
             "probability %.0f %%).",
             allowed, seen, to_degrees(part), to_degrees(habit.low), to_degrees(habit.high),
             probability));
  } else {
    out.push_back(
        text("The posture seen (%.0f deg) is as upright as the body allows today (%.0f deg) "
             "within the errors: range and setup, not habit, are what there is to change.",
             seen, allowed));
  }
}

void add_ankle_caution(const ExplainResult& r, std::vector<std::string>& out) {
  if (!untested(r, Factor::Ankle)) return;
  out.emplace_back(
      "A forward trunk does not prove a stiff ankle: as a test for it the overhead squat misses "
      "none "
      "(sensitivity 1.00) but calls two in three free ankles stiff (specificity 0.35, Rabin & "
      "Kozol "
      "2017). Measure knee to wall.");
}

void add_conflict(const ExplainResult& r, std::vector<std::string>& out) {
  if (r.outcome != posture::Outcome::Infeasible) return;
  std::string names;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    if (!r.conflict[i]) continue;
    std::string name(posture::limit_name(static_cast<Limit>(i)));
    std::replace(name.begin(), name.end(), '_', ' ');
    names += (names.empty() ? "" : ", ") + name;
  }
  out.push_back(
      text("Taken at their word the tests exclude this depth with this setup (%s); the parts "
           "are those of the nearest posture, with every range stretched a little.",
           names.c_str()));
}

// Knees that stay back although the ankle would let them travel.
void add_shank(const ExplainResult& r, const Observation& observation,
               std::vector<std::string>& out) {
  if (!observation.shank_inclination || untested(r, Factor::Ankle)) return;
  const Estimate& shank = *observation.shank_inclination;
  const double upright = r.most_upright.posture.shank_inclination;
  static const double kNoted = default_table().value("explain.shank_noted");
  if (shank.value + 2.0 * shank.standard_error > upright - kNoted) return;
  out.push_back(
      text("The shank came to %.0f deg from vertical; the ankle that was tested would let it "
           "travel to about %.0f deg.",
           to_degrees(shank.value), to_degrees(upright)));
}

// A stiff shoulder forbids leaning; it does not make one lean.
void add_shoulders(const ExplainResult& r, const Observation& observation,
                   std::vector<std::string>& out) {
  if (!r.shoulders) return;
  const ShoulderChange& s = *r.shoulders;
  const double short_by = s.demanded_bottom - s.allowed_bottom;
  if (short_by > 0.0) {
    out.push_back(
        text("With this lean the arms need %.0f deg against the upper back at the bottom; "
             "%.0f deg are there at this grip. Less lean, a wider grip or more range "
             "close the gap.",
             to_degrees(s.demanded_bottom), to_degrees(s.allowed_bottom)));
  }
  const double noted = default_table().value("observed.shoulder_change_noted");
  const bool given_way = observation.shoulder_change_given &&
                         observation.shoulder_change_given->value < -noted &&
                         observation.shoulder_change_given->value +
                                 2.0 * observation.shoulder_change_given->standard_error <
                             0.0;
  if (s.expected_change_by_latissimus < -noted) {
    out.push_back(
        text("The latissimus is the stop overhead: standing the arms get there, and as the low "
             "back rounds "
             "on the way down about %.0f deg of arm angle go%s (its part of the lean: %s, largest "
             "with probability %.0f %%).",
             to_degrees(-s.expected_change_by_latissimus),
             given_way ? ", which is what was seen" : "", part_text(r, Factor::Latissimus).c_str(),
             percent(r.uncertainty.probability_largest[index_of(Factor::Latissimus)])));
  } else if (given_way) {
    out.push_back(
        text("The arms gave way by %.0f deg on the way down, more than the lean asks for.",
             to_degrees(-observation.shoulder_change_given->value)));
  }
}

void add_negative_parts(const ExplainResult& r, std::vector<std::string>& out) {
  std::string names;
  for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) {
    if (r.uncertainty.parts[i].high >= 0.0 || r.shares.parts[i] > -1.0 * kRadiansPerDegree)
      continue;
    names += (names.empty() ? "" : ", ") + std::string(factor_label(static_cast<Factor>(i))) + " " +
             part_text(r, static_cast<Factor>(i));
  }
  if (names.empty()) return;
  out.push_back("Negative parts (" + names +
                ") take lean away: more range than the reference, or a stop that does not let the "
                "trunk lean as far as the rest would.");
}

void add_missing(const ExplainResult& r, std::vector<std::string>& out) {
  if (r.missing.empty()) return;
  const MissingTest& first = r.missing.front();
  const double open = to_degrees(first.spread);
  const std::string leaves =
      open < 0.5 ? std::string("under half a degree") : text("%.0f deg", open);
  const std::string many =
      r.missing.size() == 1
          ? std::string("1 range was not tested and counts as that")
          : text("%zu ranges were not tested and count as those", r.missing.size());
  out.push_back(many + " of an average adult; the test that would tell most is \"" +
                std::string(test_label(first.test)) + "\" (it alone leaves " + leaves + " open).");
}

}  // namespace

std::vector<std::string> describe_findings(const ExplainResult& result,
                                           const Observation& observation) {
  std::vector<std::string> out;
  if (result.tests_done > 0) add_main_finding(result, out);
  add_habit(result, out);
  add_shank(result, observation, out);
  add_ankle_caution(result, out);
  add_conflict(result, out);
  add_shoulders(result, observation, out);
  if (result.tests_done > 0) add_negative_parts(result, out);
  add_missing(result, out);
  return out;
}

}  // namespace lintel::reasoning
