#include "reasoning/best_setup.h"

#include <algorithm>
#include <array>

#include "reasoning/defaults.h"

namespace lintel::reasoning {
namespace {

using Point = std::array<double, kLeverFactorCount>;

class Search {
 public:
  Search(const posture::BodyParameters& body, const body::Setup& today,
         const posture::Limits& limits, const AllowedSetup& allowed)
      : body_(body), today_(today), limits_(limits), allowed_(allowed) {
    for (std::size_t i = 0; i < kLeverFactorCount; ++i) {
      const auto lever = static_cast<Factor>(i);
      at_[i] = lever_of(today_, lever);
      const Range& range = allowed_[lever];
      at_[i] = std::clamp(at_[i], range.low, range.high);
      step_[i] = 0.25 * (range.high - range.low);
    }
    // A grip means nothing to a bar that is not held overhead.
    if (today.bar_position != body::BarPosition::Overhead) step_[index_of(Factor::Grip)] = 0.0;
  }

  Result<BestSetup> run() {
    best_ = LINTEL_TRY(evaluate(at_));
    best_cost_ = cost(at_, best_);
    constexpr int kHalvings = 5;
    for (int halving = 0; halving <= kHalvings;) {
      const Point before = at_;
      for (std::size_t i = 0; i < kLeverFactorCount; ++i) LINTEL_TRY_VOID(probe(i));
      if (at_ == before) {
        for (double& step : step_) step *= 0.5;
        ++halving;
      } else {
        Point ahead;
        for (std::size_t i = 0; i < kLeverFactorCount; ++i) ahead[i] = 2.0 * at_[i] - before[i];
        LINTEL_TRY_VOID(try_point(ahead));
      }
    }
    return BestSetup{setup_at(at_), best_.trunk_inclination, best_.lean(), best_.shoulder_elevation,
                     solves_};
  }

 private:
  body::Setup setup_at(const Point& point) const {
    body::Setup setup = today_;
    for (std::size_t i = 0; i < kLeverFactorCount; ++i) {
      lever_of(setup, static_cast<Factor>(i)) = point[i];
    }
    return setup;
  }
  Result<Evaluated> evaluate(const Point& point) {
    ++solves_;
    return evaluate_most_upright(body_, setup_at(point), limits_,
                                 solves_ > 1 ? &best_.warm : nullptr);
  }
  double cost(const Point& point, const Evaluated& value) const {
    static const double kChange = default_table().value("best_setup.change_cost");
    body::Setup today = today_;
    double sum = value.lean();
    for (std::size_t i = 0; i < kLeverFactorCount; ++i) {
      const auto lever = static_cast<Factor>(i);
      const double width = allowed_[lever].high - allowed_[lever].low;
      if (width <= 0.0) continue;
      const double moved = (point[i] - lever_of(today, lever)) / width;
      sum += kChange * moved * moved;
    }
    return sum;
  }
  Result<bool> try_point(Point point) {
    for (std::size_t i = 0; i < kLeverFactorCount; ++i) {
      const Range& range = allowed_[static_cast<Factor>(i)];
      point[i] = std::clamp(point[i], range.low, range.high);
    }
    if (point == at_) return false;
    const Evaluated value = LINTEL_TRY(evaluate(point));
    const double c = cost(point, value);
    if (c >= best_cost_ - 1e-9) return false;
    at_ = point;
    best_ = value;
    best_cost_ = c;
    return true;
  }
  Result<void> probe(std::size_t i) {
    if (step_[i] <= 0.0) return {};
    for (const double sign : {1.0, -1.0}) {
      Point point = at_;
      point[i] += sign * step_[i];
      if (LINTEL_TRY(try_point(point))) break;
    }
    return {};
  }

  const posture::BodyParameters& body_;
  body::Setup today_;
  const posture::Limits& limits_;
  const AllowedSetup& allowed_;
  Point at_{}, step_{};
  Evaluated best_;
  double best_cost_ = 0.0;
  int solves_ = 0;
};

}  // namespace

Result<BestSetup> find_best_setup(const posture::BodyParameters& body, const body::Setup& today,
                                  const posture::Limits& limits, const AllowedSetup& allowed) {
  LINTEL_TRY_VOID(validate(allowed));
  return Search(body, today, limits, allowed).run();
}

}  // namespace lintel::reasoning
