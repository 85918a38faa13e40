// The integer program of the planner and its branch and bound. Inside this module.
#pragma once

#include <cstdint>
#include <limits>
#include <vector>

#include "base/units.h"

namespace lintel::plan {

// Maximise sum over targets of weight * E[min(h(gain), size)] * probability, gain = sum of the
// chosen levels' gains, h = saturated_gain (expected_gain.h), which is concave as the rest is; at
// most one level of each item, at most most_items items; `sessions` sessions of `capacity` seconds,
// an item `times` of them, once each; items of one group at most group_capacity together.
struct SearchTarget {
  Estimate size;  // [rad of lean]
  double probability = 1.0;
  double weight = 1.0;
  double full_gain = std::numeric_limits<double>::infinity();  // counts in full up to here
  double further_gain = 0.0;                                   // what all beyond it can come to
};
struct SearchLevel {
  long time = 0;             // of one session [s]
  int times = 1;             // sessions a week
  long group_time = 0;       // what it takes of the capacity of its group
  std::vector<double> gain;  // of lean, one for each target, >= 0
  long weekly() const { return time * times; }
};
struct SearchItem {
  std::vector<SearchLevel> levels;
  int group = -1;  // none
};
struct SearchProblem {
  std::vector<SearchTarget> targets;
  std::vector<SearchItem> items;
  int sessions = 1;
  long capacity = 0;
  long group_capacity = 0;
  int groups = 0;
  int most_items = 6;
  std::int64_t most_nodes = 3'000'000;
};

struct SearchChoice {
  std::size_t item = 0;
  std::size_t level = 0;
};
struct SearchResult {
  std::vector<SearchChoice> choices;  // by item
  double objective = 0.0;
  long weekly = 0;  // [s] of all choices
  std::int64_t nodes = 0;
  bool proved = true;
};

// Expected reduction of one target, without its weight.
double target_reduction(const SearchTarget& target, double gain);

// Value of a set of gains.
double search_objective(const SearchProblem& problem, const std::vector<double>& gain);

// Land and Doig (1960), depth first. Bound at a node: the objective there plus the smaller of (a)
// what all remaining gains together could add to each concave term, (b) a fractional knapsack over
// the weekly minutes left, each item at its best rate on the tangents, (c) the largest remaining
// values, as many as there may be items. Among equal objectives (1e-12) the fewest minutes a week.
SearchResult search_best(const SearchProblem& problem);

}  // namespace lintel::plan
