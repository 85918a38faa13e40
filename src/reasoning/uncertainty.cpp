#include "reasoning/uncertainty.h"

#include <algorithm>
#include <cmath>

#include "body/tables.h"
#include "reasoning/defaults.h"

namespace lintel::reasoning {
namespace {

using posture::Limit;

constexpr unsigned bit(std::size_t i) {
  return 1u << i;
}

bool is_half_window(Limit limit) {
  return limit == Limit::ArmTiltForward || limit == Limit::ArmTiltBackward ||
         limit == Limit::KneeOutward || limit == Limit::KneeInward ||
         limit == Limit::BalanceForward || limit == Limit::BalanceBackward;
}

bool is_of_spine(Limit limit) {
  return limit == Limit::LumbarFlexion || limit == Limit::LumbarExtension ||
         limit == Limit::ThoracicExtension || limit == Limit::ThoracicFlexion;
}

double moved_edge(Limit limit, double mean, double by) {
  double edge = mean + by;
  if (is_half_window(limit)) edge = std::max(edge, 0.2 * mean);
  if (is_of_spine(limit)) edge = std::max(edge, 0.0);
  return edge;
}

double moved_length(const Estimate& length, double deviate) {
  return std::max(0.2 * length.value, length.value + deviate * length.standard_error);
}

struct CouplingSpread {
  std::string_view key;
  double posture::Couplings::*member;
  double standard_deviation;
};

const std::array<CouplingSpread, kCouplingCount>& coupling_spreads() {
  static const std::array<CouplingSpread, kCouplingCount> kSpreads = [] {
    using posture::Couplings;
    std::array<CouplingSpread, kCouplingCount> spreads = {
        {{"hip_flexion.per_abduction", &Couplings::hip_flexion_per_abduction, 0.0},
         {"hip_flexion.per_external_rotation", &Couplings::hip_flexion_per_external_rotation, 0.0},
         {"shoulder_elevation.per_grip_abduction", &Couplings::shoulder_per_grip_abduction, 0.0},
         {"latissimus_elevation.per_grip_abduction", &Couplings::latissimus_per_grip_abduction,
          0.0},
         {"latissimus_elevation.per_lumbar_flexion", &Couplings::latissimus_per_lumbar_flexion,
          0.0}}};
    for (CouplingSpread& spread : spreads) {
      spread.standard_deviation = body::limit_table()[spread.key].standard_deviation;
    }
    return spreads;
  }();
  return kSpreads;
}

// First and last marginal of each factor.
struct Marginals {
  std::array<double, kPhysicalFactorCount> first{};
  std::array<double, kPhysicalFactorCount> last{};
  double none = 0.0;
  double all = 0.0;

  double middle(std::size_t i) const { return 0.5 * (first[i] + last[i]); }
};

struct Weighted {
  double value;
  double weight;
};

Spread spread_of(std::vector<Weighted> values) {
  Spread s;
  double total = 0.0;
  for (const Weighted& v : values) {
    s.mean += v.weight * v.value;
    total += v.weight;
  }
  s.mean /= total;
  for (const Weighted& v : values) {
    s.standard_deviation += v.weight * (v.value - s.mean) * (v.value - s.mean) / total;
  }
  s.standard_deviation = std::sqrt(s.standard_deviation);
  std::sort(values.begin(), values.end(),
            [](const Weighted& a, const Weighted& b) { return a.value < b.value; });
  double below = 0.0;
  s.low = values.front().value;
  s.high = values.back().value;
  bool low_found = false;
  for (const Weighted& v : values) {
    below += v.weight / total;
    if (!low_found && below >= 0.025) {
      s.low = v.value;
      low_found = true;
    }
    if (below >= 0.975) {
      s.high = v.value;
      break;
    }
  }
  return s;
}

struct DrawOutcome {
  std::uint64_t index = 0;
  Shares shares;
  std::array<double, posture::kLimitCount> limit_deviate{};
  std::array<double, body::kSegmentCount> length_deviate{};
  bool stretched = false;
  double disagreement = 0.0;  // of lean and shank, in standard errors
  double weight = 1.0;
};

// How far lean and shank are from a balanced posture of this draw.
double disagreement_of(const UncertainInput& input, const Draw& draw,
                       const DrawShares::Result& result) {
  static const double kTolerance = default_table().value("shank.tolerance");
  if (!input.observed_shank || !draw.observed || input.lean_per_shank <= 0.0) return 0.0;
  const double kept_back = result.shank_upright - input.observed_shank->value;
  const double error =
      std::hypot(input.lean_per_shank * input.observed_shank->standard_error, kTolerance);
  return (*draw.observed - result.trunk_upright - input.lean_per_shank * kept_back) / error;
}

// Sets the weights; whether what was seen contradicts nearly every draw.
bool weigh(std::vector<DrawOutcome>& outcomes, double& effective) {
  static const double kMean = default_table().value("habit.mean");
  static const double kTolerance = default_table().value("habit.tolerance");
  double sum = 0.0, squares = 0.0;
  for (DrawOutcome& o : outcomes) {
    const double habit = o.shares.parts[index_of(Factor::Habit)];
    o.weight = habit >= 0.0 ? std::exp(-habit / kMean)
                            : std::exp(-0.5 * std::pow(habit / kTolerance, 2.0));
    o.weight *= std::exp(-0.5 * o.disagreement * o.disagreement);
    sum += o.weight;
    squares += o.weight * o.weight;
  }
  const auto n = static_cast<double>(outcomes.size());
  effective = squares > 0.0 ? sum * sum / squares : 0.0;
  // All equally unlikely is no agreement either.
  const bool contradicted = effective < 0.05 * n || sum < 1e-3 * n;
  if (contradicted) {
    for (DrawOutcome& o : outcomes) o.weight = 1.0;
    effective = n;
  }
  return contradicted;
}

Uncertainty reduce(std::vector<DrawOutcome> outcomes, bool observed, Samples samples) {
  Uncertainty u;
  const std::size_t n = outcomes.size();
  u.draws = static_cast<int>(n);
  u.effective_draws = static_cast<double>(n);
  if (observed) u.contradicted = weigh(outcomes, u.effective_draws);
  double total = 0.0;
  for (const DrawOutcome& o : outcomes) total += o.weight;
  std::vector<Weighted> column(n);
  const auto spread = [&](const auto& of) {
    for (std::size_t k = 0; k < n; ++k) column[k] = {of(outcomes[k]), outcomes[k].weight};
    return spread_of(column);
  };
  u.reference = spread([](const DrawOutcome& o) { return o.shares.reference; });
  u.most_upright = spread([](const DrawOutcome& o) { return o.shares.most_upright; });
  u.whole = spread([](const DrawOutcome& o) { return o.shares.whole; });
  const std::size_t factors = observed ? kFactorCount : kPhysicalFactorCount;
  for (std::size_t i = 0; i < kFactorCount; ++i) {
    u.parts[i] = spread([i](const DrawOutcome& o) { return o.shares.parts[i]; });
  }
  for (const DrawOutcome& o : outcomes) {
    const auto largest = std::max_element(
        o.shares.parts.begin(), o.shares.parts.begin() + static_cast<std::ptrdiff_t>(factors));
    u.probability_largest[static_cast<std::size_t>(largest - o.shares.parts.begin())] +=
        o.weight / total;
    if (o.stretched) ++u.stretched;
  }
  for (std::size_t l = 0; l < body::kSegmentCount; ++l) {
    for (const DrawOutcome& o : outcomes) {
      u.length_shift[l] += o.weight * o.length_deviate[l] / total;
    }
  }
  for (std::size_t l = 0; l < posture::kLimitCount; ++l) {
    double square = 0.0;
    for (const DrawOutcome& o : outcomes) {
      u.limit_shift[l] += o.weight * o.limit_deviate[l] / total;
    }
    for (std::size_t i = 0; i < factors; ++i) {
      double covariance = 0.0;
      for (const DrawOutcome& o : outcomes) {
        covariance += o.weight * (o.limit_deviate[l] - u.limit_shift[l]) *
                      (o.shares.parts[i] - u.parts[i].mean) / total;
      }
      square += covariance * covariance;
    }
    u.spread_by_limit[l] = std::sqrt(square);
  }
  if (samples == Samples::Kept) {
    u.samples.reserve(n);
    for (const DrawOutcome& o : outcomes) {
      u.samples.push_back({o.index, o.weight, o.shares.parts, o.limit_deviate});
    }
  }
  return u;
}

}  // namespace

Comparison mean_comparison(const UncertainInput& input) {
  return {input.body, input.today, input.best, input.limits.limits,
          reference_mobility(input.limits.limits, input.body.lengths)};
}

UncertainInput fitted_input(const UncertainInput& input, const Uncertainty& uncertainty) {
  UncertainInput fitted = input;
  if (!input.observed || uncertainty.contradicted) return fitted;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    double& edge = fitted.limits.limits.edges[i].edge;
    if (!std::isfinite(edge)) continue;
    edge = moved_edge(static_cast<Limit>(i), edge,
                      uncertainty.limit_shift[i] * input.limits.standard_error[i]);
  }
  for (std::size_t i = 0; i < body::kSegmentCount; ++i) {
    Estimate& length = fitted.body.lengths.length[i];
    length.value = moved_length(length, uncertainty.length_shift[i]);
  }
  return fitted;
}

Deviates draw_deviates(std::uint64_t seed, std::uint64_t index) {
  Random random(seed, index);
  Deviates out;
  for (double& z : out) z = random.normal();
  return out;
}

Draw comparison_at(const UncertainInput& input, const Deviates& deviates) {
  std::size_t at = 0;
  body::SegmentLengths lengths = input.body.lengths;
  Draw draw;
  for (std::size_t i = 0; i < body::kSegmentCount; ++i) {
    draw.length_deviate[i] = deviates[at++];
    lengths.length[i].value = moved_length(lengths.length[i], draw.length_deviate[i]);
  }
  posture::Limits limits = input.limits.limits;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    const double z = deviates[at++];
    double& edge = limits.edges[i].edge;
    if (!std::isfinite(edge) || limit == Limit::ThighReach) continue;
    draw.limit_deviate[i] = z;
    edge = moved_edge(limit, edge, z * input.limits.standard_error[i]);
  }
  for (const CouplingSpread& spread : coupling_spreads()) {
    double& value = limits.couplings.*spread.member;
    value = std::max(0.0, value + deviates[at++] * spread.standard_deviation);
  }
  const double z = deviates[at];
  if (input.observed) draw.observed = input.observed->value + z * input.observed->standard_error;
  draw.comparison = {posture::make_body_parameters(input.body.sex, input.body.stature,
                                                   input.body.body_mass, lengths),
                     input.today, input.best, limits, reference_mobility(limits, lengths)};
  draw.comparison.body.capacities = input.body.capacities;
  return draw;
}

Draw draw_comparison(const UncertainInput& input, std::uint64_t seed, std::uint64_t index) {
  return comparison_at(input, draw_deviates(seed, index));
}

DrawShares::DrawShares(const Comparison&, const CoalitionTable& exact) : exact_(exact) {
  const Shares shares = compute_shares(exact, std::nullopt);
  const auto value = [&](unsigned s) { return exact.postures[s].lean(); };
  for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) {
    const double first = value(bit(i)) - value(0);
    const double last = value(kEverything) - value(kEverything ^ bit(i));
    correction_[i] = shares.parts[i] - 0.5 * (first + last);
  }
}

lintel::Result<DrawShares::Result> DrawShares::compute(const Draw& draw) const {
  const Comparison& c = draw.comparison;
  const Evaluated none = LINTEL_TRY(evaluate_coalition(c, 0, &exact_.postures[0].warm));
  const Evaluated all =
      LINTEL_TRY(evaluate_coalition(c, kEverything, &exact_.postures[kEverything].warm));
  Marginals m;
  m.none = none.lean();
  m.all = all.lean();
  for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) {
    const auto factor = static_cast<Factor>(i);
    if (!leaves_unchanged(c, none, 0, factor)) {
      m.first[i] = LINTEL_TRY(evaluate_coalition(c, bit(i), &none.warm)).lean() - m.none;
    }
    if (!leaves_unchanged(c, all, kEverything, factor)) {
      m.last[i] = m.all - LINTEL_TRY(evaluate_coalition(c, kEverything ^ bit(i), &all.warm)).lean();
    }
  }
  Result result;
  result.stretched = all.stretched;
  result.trunk_upright = all.trunk_inclination;
  result.shank_upright = all.shank_inclination;
  Shares& shares = result.shares;
  shares.reference = none.trunk_inclination;
  shares.most_upright = shares.reference + m.all - m.none;
  double missing = m.all - m.none;
  double weights = 0.0;
  for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) {
    shares.parts[i] = m.middle(i) + correction_[i];
    missing -= shares.parts[i];
    weights += std::abs(m.first[i] - m.last[i]);
  }
  for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) {
    const double share =
        weights > 0.0 ? std::abs(m.first[i] - m.last[i]) / weights : 1.0 / kPhysicalFactorCount;
    shares.parts[i] += missing * share;
  }
  if (draw.observed) shares.parts[index_of(Factor::Habit)] = *draw.observed - shares.most_upright;
  shares.whole = draw.observed.value_or(shares.most_upright) - shares.reference;
  return result;
}

Result<Uncertainty> compute_uncertainty(const UncertainInput& input, const CoalitionTable& exact,
                                        const UncertaintyOptions& options, Executor& executor,
                                        const WorkContext& work) {
  if (options.draws < 1 || options.draws > 1000000) {
    Error error{ErrorCode::Invalid, "the number of draws must be 1 to 1000000", {}, "", {}};
    error.place.field = "draws";
    return fail(std::move(error));
  }
  const DrawShares draw_shares(mean_comparison(input), exact);
  const auto total = static_cast<std::size_t>(options.draws);
  std::vector<DrawOutcome> outcomes(total);
  std::vector<std::optional<Error>> errors(total);
  constexpr std::size_t kBlock = 200;  // about 50 ms
  constexpr std::size_t kGrain = 10;
  for (std::size_t begin = 0; begin < total; begin += kBlock) {
    if (work.cancelled()) return fail(cancelled_error());
    work.report("draws", static_cast<double>(begin), static_cast<double>(total));
    const std::size_t end = std::min(begin + kBlock, total);
    const std::size_t grains = (end - begin + kGrain - 1) / kGrain;
    executor.parallel_for(grains, [&](std::size_t grain) {
      const std::size_t first = begin + grain * kGrain;
      for (std::size_t k = first; k < std::min(first + kGrain, end); ++k) {
        if (work.cancelled()) return;
        const Draw draw = draw_comparison(input, options.seed, k);
        auto result = draw_shares.compute(draw);
        if (!result) {
          errors[k] = std::move(result).error();
          continue;
        }
        outcomes[k] = {k,
                       result->shares,
                       draw.limit_deviate,
                       draw.length_deviate,
                       result->stretched,
                       disagreement_of(input, draw, *result),
                       1.0};
      }
    });
  }
  if (work.cancelled()) return fail(cancelled_error());
  // A draw of lengths to which the setup does not fit (a grip too wide for short arms) is left out;
  // when that is the rule and not the exception the setup itself is wrong.
  std::vector<DrawOutcome> kept;
  kept.reserve(total);
  for (std::size_t k = 0; k < total; ++k) {
    if (!errors[k]) kept.push_back(outcomes[k]);
  }
  if (kept.size() * 2 < total) {
    for (auto& error : errors) {
      if (error) return fail(std::move(*error));
    }
  }
  work.report("draws", static_cast<double>(total), static_cast<double>(total));
  return reduce(std::move(kept), input.observed.has_value(), options.samples);
}

}  // namespace lintel::reasoning
