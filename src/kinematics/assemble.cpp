#include "kinematics/assemble.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lintel::kinematics {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

const std::vector<double>& best_curve(const Series& series) {
  if (!series.fitted.empty()) return series.fitted;
  if (!series.filtered.empty()) return series.filtered;
  return series.raw;
}

Estimate value_at(const Series& series, std::size_t frame) {
  const std::vector<double>& curve = best_curve(series);
  Estimate out{kNan, kNan};
  if (frame < curve.size()) out.value = curve[frame];
  if (frame < series.standard_error.size()) out.standard_error = series.standard_error[frame];
  return out;
}

// Covariance of two values of the curves.
double covariance(Channel a, std::size_t frame_a, const Estimate& ea, Channel b,
                  std::size_t frame_b, const Estimate& eb, const CurveErrors& errors) {
  if (errors.covariance) {
    if (const auto known = errors.covariance(a, frame_a, b, frame_b)) return *known;
  }
  if (a != b) return 0.0;  // not known: taken as independent
  if (frame_a == frame_b) return ea.standard_error * eb.standard_error;
  const double common = errors.common_standard_error[static_cast<std::size_t>(a)];
  // The common part can be no larger than either error.
  const double shared = std::min({std::abs(common), ea.standard_error, eb.standard_error});
  return shared * shared;
}

// One term of a linear combination of curve values.
struct Term {
  double factor;
  Channel channel;
  std::size_t frame;
  Estimate value;
};

// Value and standard error: variance = sum over all pairs of factor, factor, covariance.
template <std::size_t N>
Estimate combine(const std::array<Term, N>& terms, const CurveErrors& errors) {
  Estimate out;
  double variance = 0;
  for (const Term& t : terms) {
    out.value += t.factor * t.value.value;
    variance += t.factor * t.factor * t.value.standard_error * t.value.standard_error;
  }
  for (std::size_t i = 0; i < N; ++i) {
    for (std::size_t k = i + 1; k < N; ++k) {
      variance += 2.0 * terms[i].factor * terms[k].factor *
                  covariance(terms[i].channel, terms[i].frame, terms[i].value, terms[k].channel,
                             terms[k].frame, terms[k].value, errors);
    }
  }
  // Rounding, or a covariance that does not fit the errors, must not make it negative.
  out.standard_error = std::isnan(variance) ? kNan : std::sqrt(std::max(0.0, variance));
  return out;
}

}  // namespace

ShoulderSplit split_shoulder_change(const std::array<Series, kChannelCount>& series,
                                    std::size_t start_frame, std::size_t bottom_frame,
                                    const CurveErrors& errors) {
  const auto term = [&](double factor, Channel channel, std::size_t frame) {
    return Term{factor, channel, frame, value_at(series[static_cast<std::size_t>(channel)], frame)};
  };
  using enum Channel;
  ShoulderSplit split;
  split.demanded = combine<2>(
      {term(1.0, TrunkInclination, bottom_frame), term(-1.0, TrunkInclination, start_frame)},
      errors);
  // elevation = pi + trunk - arm, so measured change - demanded = -(change of arm inclination):
  // the trunk's errors drop out, and no scale or arm length enters.
  split.given = combine<2>(
      {term(-1.0, ArmInclination, bottom_frame), term(1.0, ArmInclination, start_frame)}, errors);
  return split;
}

Repetition assemble_repetition(const std::array<Series, kChannelCount>& series,
                               const RepetitionEvents& events, const CurveErrors& errors) {
  Repetition out;
  out.start_frame = events.start_frame;
  out.bottom_frame = events.bottom_frame;
  out.end_frame = events.end_frame;
  out.outcome = events.outcome;
  out.descent_duration = events.descent_duration;
  out.bottom_duration = events.bottom_duration;
  out.ascent_duration = events.ascent_duration;
  out.pauses = events.pauses;
  for (std::size_t c = 0; c < out.channels.size(); ++c) {
    const auto channel = static_cast<Channel>(c);
    ChannelExtreme& extreme = out.channels[c];
    extreme.start = value_at(series[c], events.start_frame);
    extreme.bottom = value_at(series[c], events.bottom_frame);
    extreme.change = combine<2>({Term{1.0, channel, events.bottom_frame, extreme.bottom},
                                 Term{-1.0, channel, events.start_frame, extreme.start}},
                                errors);
  }
  const ShoulderSplit split =
      split_shoulder_change(series, events.start_frame, events.bottom_frame, errors);
  out.shoulder_change_demanded = split.demanded;
  out.shoulder_change_given = split.given;
  out.below_parallel = out.channels[static_cast<std::size_t>(Channel::Depth)].bottom.value > 0;
  return out;
}

Result<std::vector<RepetitionEvents>> find_events(std::span<const double> time,
                                                  const std::array<Series, kChannelCount>& series,
                                                  const RepetitionOptions& options) {
  const auto curve = [&series](Channel c) -> std::span<const double> {
    return best_curve(series[static_cast<std::size_t>(c)]);
  };
  RepetitionCurves curves{time, curve(Channel::HipHeight), curve(Channel::KneeFlexion),
                          curve(Channel::BarY)};
  if (curves.hip_height.empty()) return std::vector<RepetitionEvents>{};
  return find_repetitions(curves, options);
}

Result<std::vector<Repetition>> assemble_repetitions(
    std::span<const double> time, const std::array<Series, kChannelCount>& series,
    const RepetitionOptions& options, const CurveErrors& errors) {
  std::vector<Repetition> out;
  for (const RepetitionEvents& events : LINTEL_TRY(find_events(time, series, options))) {
    out.push_back(assemble_repetition(series, events, errors));
  }
  return out;
}

Consistency compute_consistency(std::span<const Repetition> repetitions) {
  Consistency out;
  for (const Repetition& r : repetitions) {
    if (r.outcome == RepetitionOutcome::Completed) ++out.repetitions;
  }
  for (std::size_t c = 0; c < out.bottom.size(); ++c) {
    double sum = 0, count = 0, squares = 0;
    for (const Repetition& r : repetitions) {
      const double value = r.channels[c].bottom.value;
      if (r.outcome != RepetitionOutcome::Completed || !std::isfinite(value)) continue;
      sum += value;
      count += 1;
    }
    const double mean = count > 0 ? sum / count : kNan;
    for (const Repetition& r : repetitions) {
      const double value = r.channels[c].bottom.value;
      if (r.outcome != RepetitionOutcome::Completed || !std::isfinite(value)) continue;
      squares += (value - mean) * (value - mean);
    }
    out.bottom[c] = {mean, count > 1 ? std::sqrt(squares / (count - 1)) : kNan};
  }
  return out;
}

}  // namespace lintel::kinematics
