// How sure the shares are: Monte Carlo over the errors of tests, lengths and the observed lean.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "base/executor.h"
#include "base/progress.h"
#include "base/random.h"
#include "reasoning/shares.h"

namespace lintel::reasoning {

// What is known and how well. Standard errors are those of body.lengths and limits.standard_error
// (test error, or the population's SD where a test was not done), and the SDs of the couplings in
// data/mobility/limits.csv.
struct UncertainInput {
  posture::BodyParameters body;
  body::Setup today;
  body::Setup best;  // the reference setup, the same in every draw: it is a choice, not a fact
  posture::AthleteLimits limits;
  std::optional<Estimate> observed;  // trunk inclination at the bottom
  // Shank inclination at the bottom. It tells habit from a wrong test: a shank that stays well
  // short of what the ankle allows is not held back by the ankle. lean_per_shank: how much less the
  // trunk leans per radian that the shank travels forward, in balance; posture_at_lean() gives it.
  std::optional<Estimate> observed_shank;
  double lean_per_shank = 0.0;
};

// Draw `index` of stream Random(seed, index), always in the order lengths, edges, couplings,
// observed angle; independent normal deviates. Lengths and half-windows (balance, arm tilt, line of
// the knee) stay above a fifth of their mean, ranges of the spine above 0.
struct Draw {
  Comparison comparison;
  std::optional<double> observed;
  std::array<double, posture::kLimitCount> limit_deviate{};  // standard normal
  std::array<double, body::kSegmentCount> length_deviate{};
};
Draw draw_comparison(const UncertainInput& input, std::uint64_t seed, std::uint64_t index);
// How far each uncertain input is from its mean, in its standard errors; the order of a draw.
inline constexpr std::size_t kCouplingCount = 5;
inline constexpr std::size_t kDeviateCount =
    body::kSegmentCount + posture::kLimitCount + kCouplingCount + 1;  // the last: what was seen
using Deviates = std::array<double, kDeviateCount>;
Deviates draw_deviates(std::uint64_t seed, std::uint64_t index);
Draw comparison_at(const UncertainInput& input, const Deviates& deviates);
// The means.
Comparison mean_comparison(const UncertainInput& input);

// Mean and spread over draws, each with its weight.
struct Spread {
  double mean = 0.0;
  double standard_deviation = 0.0;
  double low = 0.0;   // 2.5 %
  double high = 0.0;  // 97.5 %
};

// What one draw said, for whoever asks further questions of the same draws.
struct DrawSample {
  std::uint64_t index = 0;  // draw_comparison(input, seed, index) gives the draw back
  double weight = 1.0;      // see Uncertainty::effective_draws
  std::array<double, kFactorCount> parts{};                  // [rad]
  std::array<double, posture::kLimitCount> limit_deviate{};  // standard normal before weighting
};

enum class Samples : std::uint8_t { Dropped, Kept };

struct UncertaintyOptions {
  int draws = 10000;
  std::uint64_t seed = 1;
  Samples samples = Samples::Dropped;
};

struct Uncertainty {
  int draws = 0;
  Spread reference, most_upright, whole;
  std::array<Spread, kFactorCount> parts;
  std::array<double, kFactorCount> probability_largest{};  // sums to 1; habit only if observed
  // Standard deviation of all parts together that comes from the error of one limit [rad]: what a
  // better test of it would remove.
  std::array<double, posture::kLimitCount> spread_by_limit{};
  int stretched = 0;  // draws in which today's tests exclude the posture
  // What was seen was possible: a draw in which it would not have been (more upright than the body
  // of the draw allows) counts little, one with a large habit less than one with a small one.
  // Weight of a draw: exp(-habit / mean habit), below zero exp(-(habit / tolerance)^2 / 2), both in
  // data/reasoning/defaults.csv (habit.*); with a shank also exp(-(d / e)^2 / 2), d the lean that
  // the two do not agree on, e from the shank's error and shank.tolerance. Where hardly a draw
  // agrees with what was seen (effective draws below a twentieth) all count alike and
  // `contradicted` is set.
  double effective_draws = 0.0;
  bool contradicted = false;
  // Mean deviation of each limit and length [in its standard errors] over the weighted draws: what
  // was seen tells about the tests.
  std::array<double, posture::kLimitCount> limit_shift{};
  std::array<double, body::kSegmentCount> length_shift{};
  std::vector<DrawSample> samples;  // if UncertaintyOptions::samples says so
};

// The input with limits and lengths moved by these shifts: the athlete that tests and observation
// together make most likely. The same input where nothing was observed or it was contradicted.
UncertainInput fitted_input(const UncertainInput& input, const Uncertainty& uncertainty);

// Shares of one draw. Exact Shapley values need up to 512 postures; a draw takes v(none), v(all),
// every factor alone and every factor missing, and
//   phi_i = (v(i) - v(none) + v(all) - v(all without i)) / 2 + correction_i,
// which is exact for games whose interactions are between pairs; correction_i is what the mean
// athlete's exact value differs from it, so that the mean is exact. What is then missing to the sum
// is spread over the factors in proportion to how far first and last marginal differ. Measured
// error against exact values of the same draws: bench/reasoning_bench.cpp prints it.
class DrawShares {
 public:
  // exact: table of the mean athlete.
  DrawShares(const Comparison& mean, const CoalitionTable& exact);
  struct Result {
    Shares shares;
    bool stretched = false;
    double trunk_upright = 0.0;  // of today's most upright posture, itself and its shank
    double shank_upright = 0.0;
  };
  lintel::Result<Result> compute(const Draw& draw) const;

 private:
  const CoalitionTable& exact_;
  std::array<double, kPhysicalFactorCount> correction_{};
};

// Same seed, same bits, for every number of threads. Errors: Cancelled, those of the model.
Result<Uncertainty> compute_uncertainty(const UncertainInput& input, const CoalitionTable& exact,
                                        const UncertaintyOptions& options, Executor& executor,
                                        const WorkContext& work);

}  // namespace lintel::reasoning
