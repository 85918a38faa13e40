#include "kinematics/foreshortening.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "kinematics/message.h"
#include "kinematics/sagittal_angles.h"

namespace lintel::kinematics {
namespace {

constexpr double kStandingPercentile = 0.9;
constexpr double kLeastLengthError = 0.02;  // relative: landmarks slide on the skin (judgement)

Estimate length_from(std::vector<double> seen) {
  if (seen.empty()) return {0.0, 0.0};
  std::sort(seen.begin(), seen.end());
  const double n = static_cast<double>(seen.size());
  const double length = seen[static_cast<std::size_t>(kStandingPercentile * (n - 1.0))];
  double mean = 0, squares = 0;
  for (const double x : seen) mean += x / n;
  for (const double x : seen) squares += (x - mean) * (x - mean) / n;
  return {length, std::hypot(std::sqrt(squares), kLeastLengthError * length)};
}

struct Ratio {
  Estimate ratio;
  Estimate out_of_plane;
};

Ratio ratio_of(double seen, const Estimate& length, double point_error) {
  const double raw = seen / length.value;
  const double error = std::hypot(std::numbers::sqrt2 * point_error / length.value,
                                  raw * length.standard_error / length.value);
  Ratio out;
  out.ratio = {std::min(1.0, raw), error};
  const double angle = std::acos(out.ratio.value);
  // d(angle) = d(ratio) / sin(angle); near the plane the error of the ratio alone makes
  // sqrt(2 error).
  out.out_of_plane = {angle, error / std::max(std::sin(angle), std::sqrt(2.0 * error))};
  return out;
}

// Length across the plane [unit of the leg]; none while it is within the error of the ratio.
double across(const Estimate& ratio, double length) {
  if (1.0 - ratio.value <= 2.0 * ratio.standard_error) return 0.0;
  return length * std::sqrt(std::max(0.0, 1.0 - ratio.value * ratio.value));
}

double flexion_in_space(const SideLeg& leg, double thigh, double shank, const Estimate& thigh_ratio,
                        const Estimate& shank_ratio) {
  // Knee outside of hip and ankle: hip and ankle both lie inwards of the knee.
  const double across_product =
      across({std::min(1.0, (leg.p_hip - leg.p_knee).norm() / thigh), thigh_ratio.standard_error},
             thigh) *
      across({std::min(1.0, (leg.p_ankle - leg.p_knee).norm() / shank), shank_ratio.standard_error},
             shank);
  const double dot = (leg.p_hip - leg.p_knee).dot(leg.p_ankle - leg.p_knee) + across_product;
  return std::numbers::pi - std::acos(std::clamp(dot / (thigh * shank), -1.0, 1.0));
}

// The leg as it would look if knee and ankle were as far from the camera as the hip. Fixed point:
// the way out of the plane depends on the seen lengths, and they on it.
SideLeg without_perspective(const SideLeg& seen, const LegLengths& lengths, double point_error,
                            const LegPerspective& perspective) {
  constexpr int kRounds = 6;  // each gains a factor of distance / thigh, ten or more
  SideLeg leg = seen;
  for (int round = 0; round < kRounds; ++round) {
    const double knee_out =
        across(ratio_of((leg.p_hip - leg.p_knee).norm(), lengths.thigh, point_error).ratio,
               lengths.thigh.value);
    const double ankle_in =
        across(ratio_of((leg.p_knee - leg.p_ankle).norm(), lengths.shank, point_error).ratio,
               lengths.shank.value);
    const auto moved = [&](const Eigen::Vector2d& p, double nearer) {
      return Eigen::Vector2d(perspective.p_middle +
                             (p - perspective.p_middle) * (1.0 - nearer / perspective.distance));
    };
    leg.p_knee = moved(seen.p_knee, knee_out);
    leg.p_ankle = moved(seen.p_ankle, knee_out - ankle_in);
  }
  return leg;
}

// First-order error of the knee flexion by central differences over six coordinates and two
// lengths.
double flexion_error(const SideLeg& leg, const LegLengths& lengths, const Ratio& thigh,
                     const Ratio& shank, double point_error) {
  double variance = 0;
  const auto add = [&](const auto& change, double error) {
    if (!(error > 0)) return;
    SideLeg plus = leg, minus = leg;
    LegLengths plus_lengths = lengths, minus_lengths = lengths;
    change(plus, plus_lengths, error);
    change(minus, minus_lengths, -error);
    const double up = flexion_in_space(plus, plus_lengths.thigh.value, plus_lengths.shank.value,
                                       thigh.ratio, shank.ratio);
    const double down = flexion_in_space(minus, minus_lengths.thigh.value,
                                         minus_lengths.shank.value, thigh.ratio, shank.ratio);
    variance += 0.25 * (up - down) * (up - down);
  };
  for (int k = 0; k < 2; ++k) {
    add([k](SideLeg& l, LegLengths&, double e) { l.p_hip[k] += e; }, point_error);
    add([k](SideLeg& l, LegLengths&, double e) { l.p_knee[k] += e; }, point_error);
    add([k](SideLeg& l, LegLengths&, double e) { l.p_ankle[k] += e; }, point_error);
  }
  add([](SideLeg&, LegLengths& l, double e) { l.thigh.value += e; }, lengths.thigh.standard_error);
  add([](SideLeg&, LegLengths& l, double e) { l.shank.value += e; }, lengths.shank.standard_error);
  // The shank's way out of the plane is not known as long as it is within its error.
  const double hidden =
      across(shank.ratio, 1.0) == 0.0
          ? std::sin(thigh.out_of_plane.value) * std::sin(shank.out_of_plane.standard_error)
          : 0.0;
  return std::hypot(std::sqrt(variance), hidden);
}

}  // namespace

LegLengths leg_lengths_from_standing(std::span<const SideLeg> standing) {
  std::vector<double> thighs, shanks;
  for (const SideLeg& leg : standing) {
    const double thigh = (leg.p_hip - leg.p_knee).norm();
    const double shank = (leg.p_knee - leg.p_ankle).norm();
    if (std::isfinite(thigh)) thighs.push_back(thigh);
    if (std::isfinite(shank)) shanks.push_back(shank);
  }
  return {length_from(std::move(thighs)), length_from(std::move(shanks))};
}

LegLengths leg_lengths_from_body(const Estimate& thigh, const Estimate& shank,
                                 const Estimate& pixels_per_metre) {
  const auto scaled = [&](const Estimate& length) {
    return Estimate{length.value * pixels_per_metre.value,
                    std::hypot(length.standard_error * pixels_per_metre.value,
                               length.value * pixels_per_metre.standard_error)};
  };
  return {scaled(thigh), scaled(shank)};
}

Foreshortening assess_foreshortening(const SideLeg& seen, const LegLengths& lengths,
                                     double point_standard_error,
                                     const std::optional<LegPerspective>& perspective) {
  Foreshortening out;
  if (!(lengths.thigh.value > 0) || !(lengths.shank.value > 0) ||
      !(seen.p_hip - seen.p_knee).allFinite() || !(seen.p_ankle - seen.p_knee).allFinite()) {
    return out;
  }
  const bool has_distance = perspective && perspective->distance > lengths.thigh.value;
  const SideLeg bottom =
      has_distance ? without_perspective(seen, lengths, point_standard_error, *perspective) : seen;
  const Ratio thigh =
      ratio_of((bottom.p_hip - bottom.p_knee).norm(), lengths.thigh, point_standard_error);
  const Ratio shank =
      ratio_of((bottom.p_knee - bottom.p_ankle).norm(), lengths.shank, point_standard_error);
  out.thigh_ratio = thigh.ratio;
  out.shank_ratio = shank.ratio;
  out.thigh_out_of_plane = thigh.out_of_plane;
  out.shank_out_of_plane = shank.out_of_plane;
  out.thigh_sagittal = thigh_inclination<double>(seen.p_knee, seen.p_hip);

  const double rise = (bottom.p_hip - bottom.p_knee).y() / lengths.thigh.value;
  const double rise_error =
      std::hypot(std::numbers::sqrt2 * point_standard_error / lengths.thigh.value,
                 rise * lengths.thigh.standard_error / lengths.thigh.value);
  const double in_space = std::acos(std::clamp(rise, -1.0, 1.0));
  out.thigh_in_space = {in_space,
                        rise_error / std::max(std::sin(in_space), std::sqrt(2.0 * rise_error))};

  out.knee_flexion_sagittal = flexion_at(seen.p_hip, seen.p_knee, seen.p_ankle);
  out.knee_flexion_in_space = {
      flexion_in_space(bottom, lengths.thigh.value, lengths.shank.value, thigh.ratio, shank.ratio),
      flexion_error(bottom, lengths, thigh, shank, point_standard_error)};

  const bool is_significant = 1.0 - thigh.ratio.value > 2.0 * thigh.ratio.standard_error;
  const bool is_wrong = std::abs(out.thigh_sagittal - in_space) > kForeshorteningErrorWarned;
  out.warned = is_significant && (is_wrong || thigh.ratio.value < kForeshorteningRatioWarned);
  return out;
}

std::optional<Warning> foreshortening_warning(const Foreshortening& f) {
  if (!f.warned) return std::nullopt;
  const std::string message =
      "At the bottom the thigh looks " + percent(f.thigh_ratio.value) +
      " of its length: it points about " + degrees_with_error(f.thigh_out_of_plane) +
      " out of the side view. Seen from the side it stands at " + degrees(f.thigh_sagittal) +
      " degrees from vertical, in space at " + degrees_with_error(f.thigh_in_space) +
      "; hip and knee angles of the side view are wrong by as much.";
  return Warning{WarningCode::ThighForeshortened, message,
                 "Film the wide stance from the front as well, and use the angles in space."};
}

}  // namespace lintel::kinematics
