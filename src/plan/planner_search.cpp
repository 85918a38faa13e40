#include "plan/planner_search.h"

#include <algorithm>
#include <functional>
#include <numeric>

#include "plan/expected_gain.h"
#include "plan/planner.h"
#include "plan/session_packing.h"

namespace lintel::plan {
namespace {

constexpr double kEqual = 1e-12;  // [rad of lean, weighted]

class Search {
 public:
  explicit Search(const SearchProblem& problem)
      : p_(problem),
        gain_(problem.targets.size(), 0.0),
        group_(static_cast<std::size_t>(std::max(0, problem.groups)), 0) {
    order_items();
    sum_remaining_gains();
  }

  SearchResult run() {
    best_.proved = true;
    visit(0);
    std::sort(best_.choices.begin(), best_.choices.end(),
              [](const SearchChoice& a, const SearchChoice& b) { return a.item < b.item; });
    return std::move(best_);
  }

 private:
  // Most value a minute at the start first: good plans are found early.
  void order_items() {
    const std::vector<double> slope = slopes();
    std::vector<double> rate(p_.items.size(), 0.0);
    for (std::size_t i = 0; i < p_.items.size(); ++i) {
      for (const SearchLevel& level : p_.items[i].levels) {
        rate[i] = std::max(rate[i], value_of(level, slope) / static_cast<double>(level.weekly()));
      }
    }
    order_.resize(p_.items.size());
    std::iota(order_.begin(), order_.end(), std::size_t{0});
    std::stable_sort(order_.begin(), order_.end(),
                     [&rate](std::size_t a, std::size_t b) { return rate[a] > rate[b]; });
  }

  // remaining_[k][t]: largest gain of target t that items k.. in order can add.
  void sum_remaining_gains() {
    remaining_.assign(order_.size() + 1, std::vector<double>(p_.targets.size(), 0.0));
    for (std::size_t k = order_.size(); k-- > 0;) {
      for (std::size_t t = 0; t < p_.targets.size(); ++t) {
        double most = 0.0;
        for (const SearchLevel& level : p_.items[order_[k]].levels) {
          most = std::max(most, level.gain[t]);
        }
        remaining_[k][t] = remaining_[k + 1][t] + most;
      }
    }
  }

  std::vector<double> slopes() const {
    std::vector<double> out(p_.targets.size());
    for (std::size_t t = 0; t < out.size(); ++t) {
      const SearchTarget& target = p_.targets[t];
      const double gain = saturated_gain(gain_[t], target.full_gain, target.further_gain);
      out[t] = target.weight *
               saturated_gain_slope(gain_[t], target.full_gain, target.further_gain) *
               expected_reduction_slope(gain, target.size, target.probability);
    }
    return out;
  }

  double value_of(const SearchLevel& level, const std::vector<double>& slope) const {
    double value = 0.0;
    for (std::size_t t = 0; t < slope.size(); ++t) value += slope[t] * level.gain[t];
    return value;
  }

  double bound_by_targets(std::size_t k, double here) const {
    std::vector<double> most = gain_;
    for (std::size_t t = 0; t < most.size(); ++t) most[t] += remaining_[k][t];
    return search_objective(p_, most) - here;
  }

  double bound_by_time(std::size_t k) const {
    struct Offer {
      double rate, value;
    };
    const std::vector<double> slope = slopes();
    std::vector<Offer> offers;
    for (std::size_t i = k; i < order_.size(); ++i) {
      Offer offer{0.0, 0.0};
      for (const SearchLevel& level : p_.items[order_[i]].levels) {
        const double value = value_of(level, slope);
        offer.value = std::max(offer.value, value);
        offer.rate = std::max(offer.rate, value / static_cast<double>(level.weekly()));
      }
      if (offer.value > 0.0) offers.push_back(offer);
    }
    std::sort(offers.begin(), offers.end(),
              [](const Offer& a, const Offer& b) { return a.rate > b.rate; });
    double left = static_cast<double>(p_.capacity) * p_.sessions - static_cast<double>(weekly_);
    double by_time = 0.0;
    std::vector<double> values;
    for (const Offer& offer : offers) {
      const double taken = std::min(offer.value, offer.rate * std::max(0.0, left));
      by_time += taken;
      left -= taken / offer.rate;
      values.push_back(offer.value);
    }
    const auto places =
        std::min(values.size(), static_cast<std::size_t>(p_.most_items) - chosen_.size());
    std::partial_sort(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(places),
                      values.end(), std::greater<>());
    values.resize(places);
    return std::min(by_time, std::accumulate(values.begin(), values.end(), 0.0));
  }

  void keep_if_better(double objective) {
    const bool better = objective > best_.objective + kEqual;
    const bool cheaper = objective >= best_.objective - kEqual && weekly_ < best_.weekly;
    if (!better && !cheaper) return;
    best_.objective = objective;
    best_.weekly = weekly_;
    best_.choices = chosen_;
  }

  bool can_improve(std::size_t k, double here) const {
    const double bound = here + std::min(bound_by_targets(k, here), bound_by_time(k));
    if (bound > best_.objective + kEqual) return true;
    // As good at fewer minutes: whatever is added takes minutes.
    return bound >= best_.objective - kEqual && weekly_ < best_.weekly;
  }

  bool fits(const SearchItem& item, const SearchLevel& level) {
    if (item.group >= 0 &&
        group_[static_cast<std::size_t>(item.group)] + level.group_time > p_.group_capacity) {
      return false;
    }
    packed_.push_back({level.time, level.times});
    const bool fit = fits_into_sessions(packed_, p_.sessions, p_.capacity);
    packed_.pop_back();
    return fit;
  }

  void visit(std::size_t k) {
    if (++best_.nodes > p_.most_nodes) {
      best_.proved = false;
      return;
    }
    const double here = search_objective(p_, gain_);
    keep_if_better(here);
    if (k == order_.size() || chosen_.size() >= static_cast<std::size_t>(p_.most_items)) return;
    if (!can_improve(k, here)) return;
    const std::size_t i = order_[k];
    const SearchItem& item = p_.items[i];
    for (std::size_t l = item.levels.size(); l-- > 0;) {
      if (!fits(item, item.levels[l])) continue;
      apply(i, l);
      visit(k + 1);
      undo(i, l);
    }
    visit(k + 1);
  }

  void apply(std::size_t i, std::size_t l) {
    const SearchLevel& level = p_.items[i].levels[l];
    saved_.push_back(gain_);
    for (std::size_t t = 0; t < gain_.size(); ++t) gain_[t] += level.gain[t];
    weekly_ += level.weekly();
    if (p_.items[i].group >= 0)
      group_[static_cast<std::size_t>(p_.items[i].group)] += level.group_time;
    packed_.push_back({level.time, level.times});
    chosen_.push_back({i, l});
  }

  void undo(std::size_t i, std::size_t l) {
    const SearchLevel& level = p_.items[i].levels[l];
    gain_ = std::move(saved_.back());  // exactly as before: no rounding builds up
    saved_.pop_back();
    weekly_ -= level.weekly();
    if (p_.items[i].group >= 0)
      group_[static_cast<std::size_t>(p_.items[i].group)] -= level.group_time;
    packed_.pop_back();
    chosen_.pop_back();
  }

  const SearchProblem& p_;
  std::vector<std::size_t> order_;
  std::vector<std::vector<double>> remaining_;
  std::vector<double> gain_;
  std::vector<std::vector<double>> saved_;
  std::vector<long> group_;  // [s] a week in use
  std::vector<PackedItem> packed_;
  std::vector<SearchChoice> chosen_;
  long weekly_ = 0;
  SearchResult best_;
};

}  // namespace

double target_reduction(const SearchTarget& target, double gain) {
  return expected_reduction(saturated_gain(gain, target.full_gain, target.further_gain),
                            target.size, target.probability);
}

double search_objective(const SearchProblem& problem, const std::vector<double>& gain) {
  double sum = 0.0;
  for (std::size_t t = 0; t < problem.targets.size(); ++t) {
    const SearchTarget& target = problem.targets[t];
    sum += target.weight * target_reduction(target, gain[t]);
  }
  return sum;
}

SearchResult search_best(const SearchProblem& problem) {
  return Search(problem).run();
}

}  // namespace lintel::plan
