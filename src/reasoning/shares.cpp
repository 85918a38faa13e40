#include "reasoning/shares.h"

#include <bit>

namespace lintel::reasoning {
namespace {

constexpr unsigned bit(std::size_t i) {
  return 1u << i;
}

posture::Limits coalition_limits(const Comparison& c, unsigned coalition) {
  posture::Limits limits = c.limits_reference;
  for (std::size_t i = kLeverFactorCount; i < kPhysicalFactorCount; ++i) {
    if ((coalition & bit(i)) == 0) continue;
    for (const posture::Limit limit : limits_of(static_cast<Factor>(i))) {
      limits[limit] = c.limits_today[limit];
    }
  }
  return limits;
}

body::Setup coalition_setup(const Comparison& c, unsigned coalition) {
  body::Setup setup = c.best;
  body::Setup today = c.today;
  for (std::size_t i = 0; i < kLeverFactorCount; ++i) {
    const auto lever = static_cast<Factor>(i);
    if ((coalition & bit(i)) != 0) lever_of(setup, lever) = lever_of(today, lever);
  }
  return setup;
}

}  // namespace

std::vector<double> shapley_values(int players, std::span<const double> values) {
  LINTEL_CHECK(players >= 1 && players <= 16);
  const auto n = static_cast<std::size_t>(players);
  LINTEL_CHECK(values.size() == (std::size_t{1} << n));
  // weight[s] = s! (n - s - 1)! / n!, by weight[s] = weight[s - 1] * s / (n - s).
  std::vector<double> weight(n);
  weight[0] = 1.0 / static_cast<double>(n);
  for (std::size_t s = 1; s < n; ++s) {
    weight[s] = weight[s - 1] * static_cast<double>(s) / static_cast<double>(n - s);
  }
  std::vector<double> parts(n, 0.0);
  for (unsigned coalition = 0; coalition < values.size(); ++coalition) {
    const auto size = static_cast<std::size_t>(std::popcount(coalition));
    for (std::size_t i = 0; i < n; ++i) {
      if ((coalition & bit(i)) != 0) continue;
      parts[i] += weight[size] * (values[coalition | bit(i)] - values[coalition]);
    }
  }
  return parts;
}

Result<Evaluated> evaluate_coalition(const Comparison& comparison, unsigned coalition,
                                     const posture::WarmStart* warm) {
  return evaluate_most_upright(comparison.body, coalition_setup(comparison, coalition),
                               coalition_limits(comparison, coalition), warm);
}

bool leaves_unchanged(const Comparison& c, const Evaluated& posture, unsigned coalition,
                      Factor factor) {
  if (is_lever(factor)) {
    body::Setup today = c.today;
    body::Setup best = c.best;
    return lever_of(today, factor) == lever_of(best, factor);
  }
  if (posture.outcome != posture::Outcome::Solved) return false;
  const bool present = (coalition & bit(index_of(factor))) != 0;
  for (const posture::Limit limit : limits_of(factor)) {
    const double now = (present ? c.limits_today : c.limits_reference)[limit].edge;
    const double then = (present ? c.limits_reference : c.limits_today)[limit].edge;
    const double reserve = posture.reserve[static_cast<std::size_t>(limit)];
    const double width = c.limits_today[limit].soft_width;
    if (now == then) continue;
    if (reserve < width || reserve + (then - now) < width) return false;
  }
  return true;
}

Result<CoalitionTable> evaluate_all(const Comparison& comparison) {
  CoalitionTable table;
  table.postures.resize(kCoalitionCount);
  for (unsigned coalition = 0; coalition < kCoalitionCount; ++coalition) {
    Evaluated& posture = table.postures[coalition];
    bool known = false;
    for (std::size_t i = 0; i < kPhysicalFactorCount && !known; ++i) {
      if ((coalition & bit(i)) == 0) continue;
      const unsigned without = coalition ^ bit(i);
      const auto factor = static_cast<Factor>(i);
      if (!leaves_unchanged(comparison, table.postures[without], without, factor)) continue;
      posture = table.postures[without];
      // The edges moved, the posture did not.
      for (const posture::Limit limit : limits_of(factor)) {
        posture.reserve[static_cast<std::size_t>(limit)] +=
            comparison.limits_today[limit].edge - comparison.limits_reference[limit].edge;
      }
      known = true;
    }
    if (known) continue;
    const unsigned neighbour = coalition & (coalition - 1);  // without the lowest factor
    posture = LINTEL_TRY(evaluate_coalition(
        comparison, coalition, coalition == 0 ? nullptr : &table.postures[neighbour].warm));
    ++table.solves;
    if (posture.extended) ++table.extended;
    if (posture.outcome == posture::Outcome::IterationLimit) ++table.unconverged;
  }
  return table;
}

Shares compute_shares(const CoalitionTable& table, std::optional<double> observed) {
  std::vector<double> values(kCoalitionCount);
  for (std::size_t i = 0; i < values.size(); ++i) {
    values[i] = table.postures[i].lean();
  }
  const std::vector<double> parts = shapley_values(kPhysicalFactorCount, values);
  Shares shares;
  shares.reference = table.postures.front().trunk_inclination;
  shares.most_upright = shares.reference + values.back() - values.front();
  for (std::size_t i = 0; i < parts.size(); ++i) shares.parts[i] = parts[i];
  if (observed) shares.parts[index_of(Factor::Habit)] = *observed - shares.most_upright;
  shares.whole = observed.value_or(shares.most_upright) - shares.reference;
  return shares;
}

}  // namespace lintel::reasoning
