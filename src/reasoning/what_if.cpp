#include "reasoning/what_if.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "body/tables.h"
#include "reasoning/defaults.h"

namespace lintel::reasoning {

Factor factor_of(Lever lever) {
  switch (lever) {
    case Lever::Stance:
      return Factor::Stance;
    case Lever::ToeOut:
      return Factor::ToeOut;
    case Lever::Heel:
      return Factor::Heel;
    case Lever::Grip:
      return Factor::Grip;
    case Lever::AnkleRange:
      return Factor::Ankle;
    case Lever::HipRange:
      return Factor::Hip;
    case Lever::ThoraxRange:
      return Factor::Thorax;
    case Lever::ShoulderRange:
      return Factor::Shoulder;
    case Lever::LatissimusRange:
      return Factor::Latissimus;
    default:
      return Factor::Habit;
  }
}

namespace {

struct Situation {
  body::Setup setup;
  posture::Limits limits;
};

bool is_mobility(Lever lever) {
  return lever >= Lever::AnkleRange;
}
bool is_setup(Lever lever) {
  return lever <= Lever::Grip;
}

void apply(const Change& change, Situation& s) {
  if (is_setup(change.lever)) {
    lever_of(s.setup, factor_of(change.lever)) = change.to;
  } else if (is_mobility(change.lever)) {
    // All limits of the factor gain the same.
    for (const posture::Limit limit : limits_of(factor_of(change.lever))) {
      s.limits[limit].edge += change.to - change.from;
    }
  } else if (change.lever == Lever::BarMass) {
    s.setup.bar_mass = change.to;
  } else if (change.lever == Lever::Depth) {
    s.setup.depth = change.to;
  } else {
    s.setup.surface_height = change.to;
    s.setup.seat_share = default_table().value("what_if.seat_share");
  }
}

std::vector<Cost> costs_of(const WhatIfInput& input, const WhatIf& row) {
  static const double kAgreement = default_table().value("grip.agreement");
  std::vector<Cost> costs;
  for (const Change& change : row.changes) {
    switch (change.lever) {
      case Lever::Grip:
        if (std::abs(change.to - input.hip_crease_grip) > kAgreement) {
          costs.push_back(Cost::BarLeavesHipCrease);
        }
        break;
      case Lever::Stance:
        if (!input.allowed.competition_stance.contains(change.to)) {
          costs.push_back(Cost::OutOfCompetitionStance);
        }
        break;
      case Lever::Heel:
        if (change.to > change.from) costs.push_back(Cost::RaisedHeel);
        break;
      case Lever::BarMass:
        if (change.to < change.from) costs.push_back(Cost::LessLoad);
        break;
      case Lever::Depth:
        if (change.to < change.from) costs.push_back(Cost::LessDepth);
        break;
      case Lever::Surface:
        costs.push_back(Cost::LessLoad);
        break;
      case Lever::ToeOut:
        break;
      default:
        costs.push_back(Cost::NotAtOnce);
    }
  }
  if (row.shoulder_change > 2.0 * kRadiansPerDegree) costs.push_back(Cost::MoreShoulderDemand);
  return costs;
}

// Depth that the plain limits allow; nothing where not even that has a solution.
std::optional<double> deepest_of(const posture::BodyParameters& body, const Situation& s) {
  body::Setup setup = s.setup;
  setup.surface_height.reset();
  setup.seat_share = 0.0;
  const auto model = posture::Model::create(body, setup, s.limits);
  if (!model) return std::nullopt;
  const posture::Solution solution = posture::solve_deepest(*model);
  if (solution.outcome != posture::Outcome::Solved) return std::nullopt;
  return solution.posture.depth;
}

// Everything of a row but the depth that is gained.
Result<WhatIf> row_from(const WhatIfInput& input, const Evaluated& now,
                        const std::vector<Change>& changes) {
  Situation s{input.today, input.limits};
  for (const Change& change : changes) apply(change, s);
  const Evaluated after =
      LINTEL_TRY(evaluate_most_upright(input.body, s.setup, s.limits, &now.warm));
  WhatIf row;
  row.changes = changes;
  row.trunk_change = after.lean() - now.lean();
  row.trunk_inclination = input.most_upright + row.trunk_change;
  row.shoulder_change = after.shoulder_elevation - now.shoulder_elevation;
  row.possible = !after.stretched;
  row.costs = costs_of(input, row);
  return row;
}

class Table {
 public:
  explicit Table(const WhatIfInput& input) : input_(input) {}

  Result<void> start() {
    now_ = LINTEL_TRY(evaluate_most_upright(input_.body, input_.today, input_.limits));
    deepest_ = deepest_of(input_.body, {input_.today, input_.limits});
    return {};
  }
  const Evaluated& now() const { return now_; }
  const std::optional<double>& deepest() const { return deepest_; }

  Result<WhatIf> row(const std::vector<Change>& changes) const {
    WhatIf row = LINTEL_TRY(row_from(input_, now_, changes));
    const bool of_depth = !changes.empty() && (changes.front().lever == Lever::Depth ||
                                               changes.front().lever == Lever::Surface);
    if (of_depth) return row;
    Situation s{input_.today, input_.limits};
    for (const Change& change : changes) apply(change, s);
    const auto deepest = deepest_of(input_.body, s);
    if (deepest && deepest_) row.depth_gained = *deepest - *deepest_;
    return row;
  }

  // What is minimised: lean plus a small price of the change, as in find_best_setup.
  Result<double> price(const std::vector<Change>& changes) const {
    static const double kChange = default_table().value("best_setup.change_cost");
    Situation s{input_.today, input_.limits};
    double sum = 0.0;
    for (const Change& change : changes) {
      apply(change, s);
      const Range& range = input_.allowed[factor_of(change.lever)];
      const double width = range.high - range.low;
      if (width > 0.0) sum += kChange * std::pow((change.to - change.from) / width, 2.0);
    }
    const Evaluated after =
        LINTEL_TRY(evaluate_most_upright(input_.body, s.setup, s.limits, &now_.warm));
    return sum + after.lean();
  }

  // Values of a setup lever over its allowed range, all different from today's.
  std::vector<Change> grid(Lever lever) const {
    static const int kPoints = static_cast<int>(default_table().value("what_if.grid_points"));
    body::Setup today = input_.today;
    const double now = lever_of(today, factor_of(lever));
    const Range& range = input_.allowed[factor_of(lever)];
    std::vector<Change> out;
    if (lever == Lever::Grip && today.bar_position != body::BarPosition::Overhead) return out;
    for (int i = 0; i < kPoints; ++i) {
      const double value = range.low + (range.high - range.low) * i / (kPoints - 1);
      if (std::abs(value - now) > 1e-3) out.push_back({lever, now, value});
    }
    return out;
  }

  // The best combination of these levers, one value of each.
  Result<std::optional<std::vector<Change>>> best_of(const std::vector<Lever>& levers,
                                                     double below) const {
    std::vector<std::vector<Change>> grids;
    std::size_t count = 1;
    for (const Lever lever : levers) {
      grids.push_back(grid(lever));
      count *= grids.back().size();
    }
    std::optional<std::vector<Change>> best;
    for (std::size_t k = 0; k < count; ++k) {
      std::vector<Change> changes;
      std::size_t rest = k;
      for (const auto& values : grids) {
        changes.push_back(values[rest % values.size()]);
        rest /= values.size();
      }
      const double p = LINTEL_TRY(price(changes));
      if (p < below - 1e-9) {
        below = p;
        best = std::move(changes);
      }
    }
    return best;
  }

 private:
  const WhatIfInput& input_;
  Evaluated now_;
  std::optional<double> deepest_;
};

// Changes other than the setup levers, where they apply.
std::vector<Change> other_changes(const WhatIfInput& input, const Table& table) {
  const auto& defaults = default_table();
  const body::Setup& today = input.today;
  std::vector<Change> out;
  if (today.bar_position != body::BarPosition::None &&
      input.allowed.bar_mass.low < today.bar_mass - 0.1) {
    out.push_back({Lever::BarMass, today.bar_mass, input.allowed.bar_mass.low});
  }
  if (!today.surface_height) {
    const double higher = today.depth - defaults.value("what_if.higher_by");
    if (higher >= body::range_table()["depth"].low) {
      out.push_back({Lever::Depth, today.depth, higher});
    }
    const auto model = posture::Model::create(input.body, today, elastic(input.limits));
    const double hip =
        model ? posture::evaluate_posture(*model, table.now().warm.coordinates).hip_height : 0.0;
    const double surface = hip - body::limit_table().value("seat.hip_above_surface");
    const body::Number& range = body::range_table()["surface_height"];
    if (surface > range.low && surface < range.high) {
      out.push_back({Lever::Surface, 0.0, surface});
    }
  }
  const double step = defaults.value("what_if.mobility_step");
  for (int i = static_cast<int>(Lever::AnkleRange); i < kLeverCount; ++i) {
    const auto lever = static_cast<Lever>(i);
    const bool of_arm = lever == Lever::ShoulderRange || lever == Lever::LatissimusRange;
    if (of_arm && today.bar_position != body::BarPosition::Overhead) continue;
    const double now = input.limits[limits_of(factor_of(lever)).front()].edge;
    out.push_back({lever, now, now + step});
  }
  return out;
}

Result<std::optional<WhatIf>> best_combination(const Table& table, int size, double below) {
  std::optional<WhatIf> best;
  for (int mask = 1; mask < 16; ++mask) {
    std::vector<Lever> levers;
    for (int i = 0; i < 4; ++i) {
      if ((mask >> i) & 1) levers.push_back(static_cast<Lever>(i));
    }
    if (static_cast<int>(levers.size()) != size) continue;
    const auto found = LINTEL_TRY(table.best_of(levers, below));
    if (!found) continue;
    below = LINTEL_TRY(table.price(*found));
    best = LINTEL_TRY(table.row(*found));
  }
  return best;
}

}  // namespace

std::string_view lever_name(Lever lever) {
  static constexpr std::array<std::string_view, kLeverCount> kNames = {
      "stance",  "toe_out",     "heel",      "grip",         "bar_mass",       "depth",
      "surface", "ankle_range", "hip_range", "thorax_range", "shoulder_range", "latissimus_range"};
  return kNames[static_cast<std::size_t>(lever)];
}

std::string_view lever_label(Lever lever) {
  static constexpr std::array<std::string_view, kLeverCount> kLabels = {"stance width",
                                                                        "toe-out",
                                                                        "heel height",
                                                                        "grip width",
                                                                        "bar",
                                                                        "height of the bottom",
                                                                        "seat at the bottom",
                                                                        "ankle range",
                                                                        "hip and low-back range",
                                                                        "upper-back range",
                                                                        "shoulder range",
                                                                        "latissimus length"};
  return kLabels[static_cast<std::size_t>(lever)];
}

std::string_view cost_name(Cost cost) {
  static constexpr std::array<std::string_view, 7> kNames = {"bar_leaves_hip_crease",
                                                             "out_of_competition_stance",
                                                             "less_depth",
                                                             "less_load",
                                                             "raised_heel",
                                                             "not_at_once",
                                                             "more_shoulder_demand"};
  return kNames[static_cast<std::size_t>(cost)];
}

std::string_view cost_sentence(Cost cost) {
  static constexpr std::array<std::string_view, 7> kSentences = {
      "In the snatch the bar no longer lies in the hip crease.",
      "This is not the stance you compete in.",
      "The bottom is higher than the lift asks for.",
      "There is less weight on the legs and overhead.",
      "A raised heel takes work away from the ankle: keep training its range.",
      "Range is gained over weeks, not in one session.",
      "It asks more of the shoulders."};
  return kSentences[static_cast<std::size_t>(cost)];
}

Result<Evaluated> evaluate_changed(const posture::BodyParameters& body, const body::Setup& today,
                                   const posture::Limits& limits,
                                   const std::vector<Change>& changes,
                                   const posture::WarmStart* warm) {
  Situation s{today, limits};
  for (const Change& change : changes) apply(change, s);
  return evaluate_most_upright(body, s.setup, s.limits, warm);
}

body::Setup changed_setup(const body::Setup& today, const std::vector<Change>& changes) {
  Situation s{today, {}};
  for (const Change& change : changes) apply(change, s);
  return s.setup;
}

posture::Limits changed_limits(const posture::Limits& limits, const std::vector<Change>& changes) {
  Situation s{{}, limits};
  for (const Change& change : changes) apply(change, s);
  return s.limits;
}

Result<WhatIf> evaluate_changes(const WhatIfInput& input, const std::vector<Change>& changes) {
  Table table(input);
  LINTEL_TRY_VOID(table.start());
  return table.row(changes);
}

Result<WhatIf> evaluate_changes(const WhatIfInput& input, const Evaluated& now,
                                const std::vector<Change>& changes) {
  return row_from(input, now, changes);
}

Result<WhatIfTable> compute_what_if(const WhatIfInput& input) {
  LINTEL_TRY_VOID(validate(input.allowed));
  Table table(input);
  LINTEL_TRY_VOID(table.start());
  WhatIfTable out;
  out.trunk_inclination = input.most_upright;
  out.shoulder_elevation = table.now().shoulder_elevation;
  out.deepest = table.deepest();
  double best_single = table.now().lean();
  for (int i = 0; i < kLeverFactorCount; ++i) {
    const auto lever = static_cast<Lever>(i);
    const auto found = LINTEL_TRY(table.best_of({lever}, std::numeric_limits<double>::infinity()));
    if (!found) continue;
    best_single = std::min(best_single, LINTEL_TRY(table.price(*found)));
    out.single.push_back(LINTEL_TRY(table.row(*found)));
  }
  for (const Change& change : other_changes(input, table)) {
    auto row = table.row({change});
    if (row) out.single.push_back(std::move(row).value());
  }
  std::stable_sort(out.single.begin(), out.single.end(), [](const WhatIf& a, const WhatIf& b) {
    return a.trunk_change < b.trunk_change;
  });
  out.best_pair = LINTEL_TRY(best_combination(table, 2, best_single));
  double below = best_single;
  if (out.best_pair) below = std::min(below, LINTEL_TRY(table.price(out.best_pair->changes)));
  out.best_triple = LINTEL_TRY(best_combination(table, 3, below));
  const BestSetup best =
      LINTEL_TRY(find_best_setup(input.body, input.today, input.limits, input.allowed));
  std::vector<Change> changes;
  body::Setup from = input.today;
  body::Setup to = best.setup;
  for (int i = 0; i < kLeverFactorCount; ++i) {
    const auto factor = static_cast<Factor>(i);
    if (std::abs(lever_of(from, factor) - lever_of(to, factor)) > 1e-6) {
      changes.push_back({static_cast<Lever>(i), lever_of(from, factor), lever_of(to, factor)});
    }
  }
  out.best_setup = LINTEL_TRY(table.row(changes));
  return out;
}

}  // namespace lintel::reasoning
