#include "reasoning/setups_to_film.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "reasoning/change_text.h"
#include "reasoning/defaults.h"

namespace lintel::reasoning {
namespace {

constexpr std::array<Lever, kLeverFactorCount> kSetupLevers = {Lever::Stance, Lever::ToeOut,
                                                               Lever::Heel, Lever::Grip};

double threshold(std::string_view key) {
  return default_table().value(std::string(key));
}
double degrees(double radians) {
  return radians * kDegreesPerRadian;
}

// Values a gym can set up: multiples of the lever's step within what is allowed, at its ends and in
// its middle, a step or more from today; for the heels the plate as well.
std::vector<Change> values_to_try(const ExplainResult& r, Lever lever) {
  body::Setup today = r.setup;
  const double now = lever_of(today, factor_of(lever));
  const double step = threshold("film.step." + std::string(lever_name(lever)));
  const Range& range = r.allowed[factor_of(lever)];
  constexpr double kRounding = 1e-9;
  const double first = std::ceil(range.low / step - kRounding) * step;
  const double last = std::floor(range.high / step + kRounding) * step;
  std::vector<double> values = {first, std::round(0.5 * (first + last) / step) * step, last};
  if (lever == Lever::Heel) values.push_back(threshold("film.heel_plate"));
  std::vector<Change> out;
  for (const double value : values) {
    const bool known = std::any_of(out.begin(), out.end(), [&](const Change& c) {
      return std::abs(c.to - value) < 0.5 * step;
    });
    if (!known && std::abs(value - now) > 0.9 * step) out.push_back({lever, now, value});
  }
  return out;
}

// The draws that are asked, with the posture each has today.
struct Asked {
  std::vector<DrawSample> samples;
  std::vector<Draw> draws;
  std::vector<Evaluated> today;
};

Result<Asked> ask(const ExplainResult& r) {
  Asked asked;
  const auto most = static_cast<std::size_t>(threshold("film.draws"));
  for (const DrawSample& s : r.uncertainty.samples) {
    if (asked.samples.size() == most) break;
    Draw draw = draw_comparison(r.uncertain_input, r.seed, s.index);
    const Comparison& c = draw.comparison;
    auto today = evaluate_most_upright(c.body, c.today, c.limits_today);
    if (!today) continue;
    asked.samples.push_back(s);
    asked.draws.push_back(std::move(draw));
    asked.today.push_back(std::move(today).value());
  }
  if (asked.samples.empty()) {
    return fail(ErrorCode::Internal, "no draw has a posture at the bottom");
  }
  return asked;
}

// Change of the lean in each draw [rad]; empty where many bodies cannot take this setup.
std::vector<double> predict(const Asked& asked, const std::vector<Change>& changes) {
  std::vector<double> out(asked.samples.size(), 0.0);
  std::size_t failed = 0;
  for (std::size_t k = 0; k < out.size(); ++k) {
    const Comparison& c = asked.draws[k].comparison;
    const auto after =
        evaluate_changed(c.body, c.today, c.limits_today, changes, &asked.today[k].warm);
    if (after) {
      out[k] = after->lean() - asked.today[k].lean();
    } else {
      ++failed;
    }
  }
  constexpr std::size_t kFewest = 20;  // one in so many may fail
  if (failed * kFewest > out.size()) out.clear();
  return out;
}

Size weighted_size(const std::vector<DrawSample>& samples, const std::vector<double>& values) {
  std::vector<std::size_t> order(values.size());
  double total = 0.0, sum = 0.0;
  for (std::size_t k = 0; k < values.size(); ++k) {
    order[k] = k;
    total += samples[k].weight;
    sum += samples[k].weight * values[k];
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
  Size size{sum / total, values[order.front()], values[order.back()]};
  double below = 0.0;
  bool low_found = false;
  for (const std::size_t k : order) {
    below += samples[k].weight / total;
    if (!low_found && below >= 0.025) {
      size.low = values[k];
      low_found = true;
    }
    if (below >= 0.975) {
      size.high = values[k];
      break;
    }
  }
  return size;
}

// Mean change under each hypothesis "this factor is the largest", with its probability.
struct Hypothesis {
  Factor factor = Factor::Habit;
  double probability = 0.0;
  double change = 0.0;
};

std::vector<Hypothesis> hypotheses_of(const std::vector<DrawSample>& samples,
                                      const std::vector<double>& values) {
  std::vector<Hypothesis> all(kFactorCount);
  double total = 0.0;
  for (std::size_t k = 0; k < samples.size(); ++k) {
    const auto& parts = samples[k].parts;
    const auto largest =
        static_cast<std::size_t>(std::max_element(parts.begin(), parts.end()) - parts.begin());
    all[largest].probability += samples[k].weight;
    all[largest].change += samples[k].weight * values[k];
    total += samples[k].weight;
  }
  for (std::size_t i = 0; i < kFactorCount; ++i) {
    all[i].factor = static_cast<Factor>(i);
    if (all[i].probability > 0.0) all[i].change /= all[i].probability;
    all[i].probability /= total;
  }
  constexpr double kWorthNaming = 0.1;
  std::erase_if(all, [](const Hypothesis& h) { return h.probability < kWorthNaming; });
  std::stable_sort(all.begin(), all.end(), [](const Hypothesis& a, const Hypothesis& b) {
    return a.probability > b.probability;
  });
  return all;
}

// The likeliest hypothesis and the one whose prediction is farthest from it.
void add_hypotheses(SetupToFilm& setup, const std::vector<Hypothesis>& all) {
  if (all.size() < 2) return;
  const Hypothesis& first = all.front();
  const auto other =
      std::max_element(all.begin() + 1, all.end(), [&](const auto& a, const auto& b) {
        return std::abs(a.change - first.change) < std::abs(b.change - first.change);
      });
  // Less than the film can show tells nothing apart.
  if (std::abs(other->change - first.change) < threshold("film.error")) return;
  setup.against = first.factor;
  setup.other = other->factor;
  setup.change_if_against = first.change;
  setup.change_if_other = other->change;
}

std::optional<SetupToFilm> setup_of(const ExplainResult& r, const Asked& asked,
                                    std::vector<Change> changes) {
  const std::vector<double> values = predict(asked, changes);
  if (values.empty()) return std::nullopt;
  SetupToFilm setup;
  setup.changes = std::move(changes);
  setup.change = weighted_size(asked.samples, values);
  setup.value = value_of_signal(asked.samples, values, threshold("film.error"));
  setup.score = std::max(0.0, -setup.change.value) + setup.value.gain;
  // Only the plate under the heels is beyond: see values_to_try.
  for (const Change& c : setup.changes) {
    const Range& range = r.allowed[factor_of(c.lever)];
    if (c.to > range.high + 1e-9 || c.to < range.low - 1e-9) setup.within_allowed = false;
  }
  add_hypotheses(setup, hypotheses_of(asked.samples, values));
  return setup;
}

bool better(const SetupToFilm& a, const SetupToFilm& b) {
  return a.score > b.score;
}

// The best value of each lever, then the best two levers together.
struct Candidates {
  std::vector<SetupToFilm> singles;  // one a lever, best first
  std::optional<SetupToFilm> pair;
};

Candidates candidates_of(const ExplainResult& r, const Asked& asked) {
  Candidates out;
  for (const Lever lever : kSetupLevers) {
    if (lever == Lever::Grip && r.setup.bar_position != body::BarPosition::Overhead) continue;
    std::optional<SetupToFilm> best;
    for (const Change& change : values_to_try(r, lever)) {
      auto setup = setup_of(r, asked, {change});
      if (setup && (!best || better(*setup, *best))) best = std::move(setup);
    }
    if (best) out.singles.push_back(std::move(*best));
  }
  std::stable_sort(out.singles.begin(), out.singles.end(), better);
  for (std::size_t i = 0; i < out.singles.size(); ++i) {
    for (std::size_t j = i + 1; j < out.singles.size(); ++j) {
      auto setup =
          setup_of(r, asked, {out.singles[i].changes.front(), out.singles[j].changes.front()});
      if (setup && (!out.pair || better(*setup, *out.pair))) out.pair = std::move(setup);
    }
  }
  return out;
}

std::string amount(double change) {
  const double rounded = std::round(degrees(std::abs(change))) + 0.0;
  if (rounded == 0.0) return "no change";
  return text("%.0f deg %s", rounded, change < 0.0 ? "more upright" : "more lean");
}

Result<void> add_words(SetupToFilm& setup, const ExplainResult& r) {
  const WhatIfInput input{r.fitted_body,
                          r.setup,
                          r.fitted_limits,
                          r.allowed,
                          r.grip ? r.grip->hip_crease.value : r.setup.grip_width,
                          r.shares.most_upright};
  setup.costs = LINTEL_TRY(evaluate_changes(input, setup.changes)).costs;
  setup.how = describe_changes(setup.changes);
  if (!setup.within_allowed) setup.how += " (a plate under the heels)";
  setup.why = text("Predicted %s (95 %%: %+.0f to %+.0f deg of lean).",
                   amount(setup.change.value).c_str(), std::round(degrees(setup.change.low)) + 0.0,
                   std::round(degrees(setup.change.high)) + 0.0);
  if (!setup.within_allowed) setup.why += " To find out, not to keep.";
  if (!setup.against) {
    setup.shows =
        "It shows whether the gain is there; every likely cause predicts much the same, so it does "
        "not tell them apart.";
    return {};
  }
  setup.shows = text(
      "If %s is the largest part: %s; if %s: %s.",
      std::string(factor_label(*setup.against)).c_str(), amount(setup.change_if_against).c_str(),
      std::string(factor_label(*setup.other)).c_str(), amount(setup.change_if_other).c_str());
  return {};
}

}  // namespace

Result<std::vector<SetupToFilm>> find_setups_to_film(const ExplainResult& r) {
  if (r.uncertainty.samples.empty()) {
    return fail(ErrorCode::Invalid, "the draws were not kept",
                "explain with ExplainOptions::samples = Samples::Kept");
  }
  if (r.uncertainty.contradicted) return std::vector<SetupToFilm>();
  const Asked asked = LINTEL_TRY(ask(r));
  Candidates candidates = candidates_of(r, asked);
  const double least = threshold("film.least");
  const auto most = static_cast<std::size_t>(threshold("film.most"));
  std::vector<SetupToFilm> out;
  // One change at a time is the only way to see which one did it; the best two together as well
  // where they promise more than either.
  for (SetupToFilm& setup : candidates.singles) {
    if (setup.score < least || out.size() + 1 > most) break;
    out.push_back(std::move(setup));
  }
  if (candidates.pair && !out.empty() && candidates.pair->score > out.front().score + least) {
    if (out.size() == most) out.pop_back();
    out.push_back(std::move(*candidates.pair));
  }
  for (SetupToFilm& setup : out) LINTEL_TRY_VOID(add_words(setup, r));
  return out;
}

}  // namespace lintel::reasoning
