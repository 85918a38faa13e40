#include "reasoning/what_if_errors.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>

namespace lintel::reasoning {
namespace {

constexpr std::size_t kFirstLimit = body::kSegmentCount;
constexpr std::size_t kFirstCoupling = kFirstLimit + posture::kLimitCount;
constexpr std::size_t kSeen = kFirstCoupling + kCouplingCount;
constexpr double kLeastPart = 0.25;  // of the error

struct Sample {
  const Deviates* deviates;
  double today, change;
};

template <typename Of>
double mean_of(const std::vector<Sample>& samples, const Of& of) {
  double sum = 0.0;
  for (const Sample& s : samples) sum += of(s);
  return sum / static_cast<double>(samples.size());
}

template <typename Of>
double deviation_of(const std::vector<Sample>& samples, const Of& of) {
  if (2 * samples.size() < WhatIfDraws::kDraws) return std::numeric_limits<double>::quiet_NaN();
  const double mean = mean_of(samples, of);
  double squares = 0.0;
  for (const Sample& s : samples) squares += (of(s) - mean) * (of(s) - mean);
  return std::sqrt(squares / static_cast<double>(samples.size() - 1));
}

// Of the columns [from, to): root of the summed squares of their covariance with the change.
double part_of(const std::vector<Sample>& samples, std::size_t from, std::size_t to) {
  const double mean = mean_of(samples, [](const Sample& s) { return s.change; });
  double squares = 0.0;
  for (std::size_t k = from; k < to; ++k) {
    double covariance = 0.0;
    for (const Sample& s : samples) covariance += (*s.deviates)[k] * (s.change - mean);
    covariance /= static_cast<double>(samples.size() - 1);
    squares += covariance * covariance;
  }
  return std::sqrt(squares);
}

std::vector<ErrorPart> parts_of(const std::vector<Sample>& samples, double whole) {
  std::vector<ErrorPart> parts;
  const auto add = [&](ErrorSource source, posture::Limit limit, std::size_t from, std::size_t to) {
    const double error = part_of(samples, from, to);
    if (error >= kLeastPart * whole) parts.push_back({source, limit, error});
  };
  if (!(whole > 0.0)) return parts;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    const auto limit = static_cast<posture::Limit>(i);
    add(ErrorSource::Range, limit, kFirstLimit + i, kFirstLimit + i + 1);
  }
  add(ErrorSource::Lengths, {}, 0, kFirstLimit);
  add(ErrorSource::Couplings, {}, kFirstCoupling, kSeen);
  std::stable_sort(parts.begin(), parts.end(),
                   [](const ErrorPart& a, const ErrorPart& b) { return a.error > b.error; });
  return parts;
}

// Where the search of a draw begins after a change: it moves much as the mean does, which halves
// the iterations.
posture::WarmStart moved_start(const posture::WarmStart& start, const posture::WarmStart& from,
                               const posture::WarmStart& to) {
  posture::WarmStart out = start;
  for (std::size_t i = 0; i < out.coordinates.size(); ++i) {
    out.coordinates[i] += to.coordinates[i] - from.coordinates[i];
  }
  out.multipliers = to.multipliers;
  return out;
}

}  // namespace

ActiveDeviates active_deviates(const UncertainInput& input) {
  ActiveDeviates active{};
  for (std::size_t i = 0; i < body::kSegmentCount; ++i) {
    active[i] = input.body.lengths.length[i].standard_error > 0.0;
  }
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    active[kFirstLimit + i] = static_cast<posture::Limit>(i) != posture::Limit::ThighReach &&
                              std::isfinite(input.limits.limits.edges[i].edge) &&
                              input.limits.standard_error[i] > 0.0;
  }
  for (std::size_t i = 0; i < kCouplingCount; ++i) active[kFirstCoupling + i] = true;
  return active;
}

std::vector<Deviates> matched_deviates(std::uint64_t seed, std::size_t draws,
                                       const ActiveDeviates& active) {
  std::vector<std::size_t> columns;
  for (std::size_t k = 0; k < kDeviateCount; ++k) {
    if (active[k]) columns.push_back(k);
  }
  const std::size_t rows = std::max(draws, columns.size() + 2);
  std::vector<Deviates> out(rows);
  if (columns.empty()) return out;
  const auto width = static_cast<Eigen::Index>(columns.size());
  Eigen::MatrixXd raw(static_cast<Eigen::Index>(rows), width);
  for (std::size_t row = 0; row < rows; ++row) {
    const Deviates one = draw_deviates(seed, row);
    for (Eigen::Index k = 0; k < width; ++k) {
      raw(static_cast<Eigen::Index>(row), k) = one[columns[static_cast<std::size_t>(k)]];
    }
  }
  const Eigen::RowVectorXd mean = raw.colwise().mean();
  raw.rowwise() -= mean;
  const Eigen::MatrixXd covariance = raw.transpose() * raw / static_cast<double>(rows - 1);
  const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
  const Eigen::MatrixXd matched = factor.matrixL().solve(raw.transpose());
  for (std::size_t row = 0; row < rows; ++row) {
    for (Eigen::Index k = 0; k < width; ++k) {
      out[row][columns[static_cast<std::size_t>(k)]] = matched(k, static_cast<Eigen::Index>(row));
    }
  }
  return out;
}

bool is_distinguishable(double change, double error) {
  constexpr double kTwoSided95 = 1.959964;
  return std::abs(change) > kTwoSided95 * error;
}

Result<WhatIfDraws> WhatIfDraws::create(const UncertainInput& input, std::uint64_t seed,
                                        TodayIs today) {
  return create(input, seed, today, active_deviates(input));
}

Result<WhatIfDraws> WhatIfDraws::create(const UncertainInput& input, std::uint64_t seed,
                                        TodayIs today, const ActiveDeviates& active) {
  WhatIfDraws out;
  out.today_ = today;
  out.setup_ = input.today;
  if (input.observed) out.seen_error_ = input.observed->standard_error;
  const Evaluated mean =
      LINTEL_TRY(evaluate_most_upright(input.body, input.today, input.limits.limits));
  out.mean_ = {{}, input.body, input.limits.limits, mean};
  for (const Deviates& deviates : matched_deviates(seed, kDraws, active)) {
    const Comparison c = comparison_at(input, deviates).comparison;
    auto now = evaluate_most_upright(c.body, c.today, c.limits_today, &mean.warm);
    if (!now) continue;
    out.draws_.push_back({deviates, c.body, c.limits_today, *std::move(now)});
  }
  return out;
}

WhatIfErrors WhatIfDraws::errors_of(const std::vector<Change>& changes) const {
  std::vector<Sample> samples;
  samples.reserve(draws_.size());
  const auto mean = evaluate_changed(mean_.body, setup_, mean_.limits, changes, &mean_.today.warm);
  for (const One& draw : draws_) {
    double change = 0.0;
    if (!changes.empty()) {
      const posture::WarmStart warm =
          mean ? moved_start(draw.today.warm, mean_.today.warm, mean->warm) : draw.today.warm;
      const auto after = evaluate_changed(draw.body, setup_, draw.limits, changes, &warm);
      if (!after) continue;
      change = after->lean() - draw.today.lean();
    }
    const double today =
        today_ == TodayIs::Posture ? draw.today.trunk_inclination : draw.today.lean();
    samples.push_back({&draw.deviates, today, change});
  }
  WhatIfErrors errors;
  errors.change = deviation_of(samples, [](const Sample& s) { return s.change; });
  errors.parts = parts_of(samples, errors.change);
  if (seen_error_) {
    errors.today = *seen_error_;
    errors.after = std::hypot(*seen_error_, errors.change);
  } else {
    errors.today = deviation_of(samples, [](const Sample& s) { return s.today; });
    errors.after = deviation_of(samples, [](const Sample& s) { return s.today + s.change; });
  }
  return errors;
}

}  // namespace lintel::reasoning
