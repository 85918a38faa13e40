// Who pushes the trunk forward, by how much: exact Shapley values.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "reasoning/factors.h"

namespace lintel::reasoning {

// Shapley values of a game (Shapley 1953): values[S] for each of the 2^players coalitions, bit i of
// S = player i takes part. phi_i = sum over S without i of |S|! (n - |S| - 1)! / n! times (v(S with
// i) - v(S)). Their sum is values.back() - values[0]. players <= 16.
std::vector<double> shapley_values(int players, std::span<const double> values);

// Both ends of the comparison. In coalition S the factors of S are as they are today, the others as
// in the reference; v(S) is the lean at equal strain of the most upright posture (Evaluated::lean,
// which is defined where limits exclude each other as well).
struct Comparison {
  posture::BodyParameters body;
  body::Setup today;
  body::Setup best;  // best setup for the reference mobility
  posture::Limits limits_today;
  posture::Limits limits_reference;
};
inline constexpr unsigned kCoalitionCount = 1u << kPhysicalFactorCount;
inline constexpr unsigned kEverything = kCoalitionCount - 1;

Result<Evaluated> evaluate_coalition(const Comparison& comparison, unsigned coalition,
                                     const posture::WarmStart* warm);

// Taking `factor` over from one end to the other cannot move this posture: the lever is the same at
// both ends, or none of its limits is touched at either.
bool leaves_unchanged(const Comparison& comparison, const Evaluated& posture, unsigned coalition,
                      Factor factor);

// All coalitions, in the order of their number; neighbours start each other, and what cannot move
// is not solved again.
struct CoalitionTable {
  std::vector<Evaluated> postures;  // kCoalitionCount
  int solves = 0;
  int extended = 0;     // coalitions that needed the extension beyond elastic limits
  int unconverged = 0;  // ended at the iteration limit
};
Result<CoalitionTable> evaluate_all(const Comparison& comparison);

struct Shares {
  double reference = 0.0;     // trunk inclination of the reference [rad]
  double most_upright = 0.0;  // reference + v(all) - v(none): what the body allows today with no
                              // more strain than the reference has
  double whole = 0.0;         // observed less reference; without an observation v(all) - v(none)
  // Parts sum to the whole. Habit = observed - most_upright: it adds the same to every coalition,
  // so that its Shapley value is this difference and the other nine do not depend on it. 0 unless
  // observed.
  std::array<double, kFactorCount> parts{};
};
Shares compute_shares(const CoalitionTable& table, std::optional<double> observed);

}  // namespace lintel::reasoning
