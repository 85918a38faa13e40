#include "reasoning/factors.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "body/knee_to_wall.h"
#include "body/tables.h"
#include "reasoning/defaults.h"

namespace lintel::embedded {
extern const std::string_view reasoning_defaults_csv;
}  // namespace lintel::embedded

namespace lintel::reasoning {
namespace {

using posture::Limit;

constexpr std::array kAnkle = {Limit::AnkleDorsiflexion};
constexpr std::array kHip = {Limit::HipFlexion, Limit::HipAbduction, Limit::HipExternalRotation,
                             Limit::LumbarFlexion};
constexpr std::array kThorax = {Limit::ThoracicExtension, Limit::ThoracicFlexion,
                                Limit::LumbarExtension};
constexpr std::array kShoulder = {Limit::ShoulderElevation};
constexpr std::array kLatissimus = {Limit::LatissimusLength};

// Widest grip that Model::create accepts for these arms; a little less.
double widest_grip(const posture::BodyParameters& body) {
  using body::Segment;
  const double arm = body.lengths[Segment::UpperArm].value + body.lengths[Segment::Forearm].value +
                     body.lengths[Segment::Grip].value;
  const double half_hand = body::limit_table().value("grip.hand_half_breadth");
  return body.lengths[Segment::InterShoulder].value + 2.0 * (0.93 * arm - half_hand);
}

// To radians of trunk inclination.
double scale_of(Limit limit) {
  static const double kPerMetre = body::limit_table().value("edge.distance.radians_per_metre");
  return posture::is_length(limit) ? kPerMetre : 1.0;
}

Range clipped(std::string_view key, double now, double low, double high) {
  const body::Number& row = default_table()["allowed." + std::string(key)];
  Range range{std::max(row.low, low), std::min(row.high, high)};
  range.low = std::min(range.low, now);
  range.high = std::max(range.high, now);
  return range;
}

}  // namespace

const body::NumberTable& default_table() {
  static const body::NumberTable kTable = [] {
    auto table =
        body::NumberTable::create(embedded::reasoning_defaults_csv, "data/reasoning/defaults.csv");
    LINTEL_CHECK(table.has_value());
    return std::move(table).value();
  }();
  return kTable;
}

std::string_view factor_name(Factor factor) {
  static constexpr std::array<std::string_view, kFactorCount> kNames = {
      "stance", "toe_out", "heel",     "grip",       "ankle",
      "hip",    "thorax",  "shoulder", "latissimus", "habit"};
  return kNames[index_of(factor)];
}

std::string_view factor_label(Factor factor) {
  static constexpr std::array<std::string_view, kFactorCount> kLabels = {
      "stance width",      "toe-out",
      "heel height",       "grip width",
      "ankle range",       "hip and low-back range",
      "upper-back range",  "shoulder range",
      "latissimus length", "habit"};
  return kLabels[index_of(factor)];
}

std::span<const Limit> limits_of(Factor factor) {
  switch (factor) {
    case Factor::Ankle:
      return kAnkle;
    case Factor::Hip:
      return kHip;
    case Factor::Thorax:
      return kThorax;
    case Factor::Shoulder:
      return kShoulder;
    case Factor::Latissimus:
      return kLatissimus;
    default:
      return {};
  }
}

double& lever_of(body::Setup& setup, Factor lever) {
  switch (lever) {
    case Factor::Stance:
      return setup.stance_width;
    case Factor::ToeOut:
      return setup.toe_out;
    case Factor::Heel:
      return setup.heel_elevation;
    default:
      LINTEL_CHECK(lever == Factor::Grip);
      return setup.grip_width;
  }
}

posture::Limits reference_mobility(const posture::Limits& athlete,
                                   const body::SegmentLengths& lengths) {
  static const double kDistance = default_table().value("reference.knee_to_wall");
  posture::Limits reference = posture::reference_limits(lengths[body::Segment::Foot].value);
  // Out of this shank's reach: the angle of the table stays.
  const auto angle = body::dorsiflexion_from_knee_to_wall({kDistance, 0.0}, lengths);
  if (angle) reference[Limit::AnkleDorsiflexion].edge = angle->value;
  posture::Limits out = athlete;
  for (int i = kLeverFactorCount; i < kPhysicalFactorCount; ++i) {
    for (const Limit limit : limits_of(static_cast<Factor>(i))) {
      out[limit].edge = reference[limit].edge;
    }
  }
  return out;
}

const Range& AllowedSetup::operator[](Factor lever) const {
  switch (lever) {
    case Factor::Stance:
      return stance_width;
    case Factor::ToeOut:
      return toe_out;
    case Factor::Heel:
      return heel_elevation;
    default:
      LINTEL_CHECK(lever == Factor::Grip);
      return grip_width;
  }
}

AllowedSetup default_allowed_setup(const posture::BodyParameters& body, const body::Setup& today) {
  using body::Segment;
  const double half_hand = body::limit_table().value("grip.hand_half_breadth");
  const double narrowest = body.lengths[Segment::InterShoulder].value - 2.0 * half_hand + 0.01;
  const double highest_heel = 0.55 * body::segment_length_table().value("ball_lever.of_foot") *
                              body.lengths[Segment::Foot].value;
  AllowedSetup allowed;
  allowed.stance_width = clipped("stance_width", today.stance_width, 0.0, 2.0);
  allowed.toe_out = clipped("toe_out", today.toe_out, 0.0, 2.0);
  allowed.heel_elevation = clipped("heel_elevation", today.heel_elevation, 0.0, highest_heel);
  allowed.grip_width = clipped("grip_width", today.grip_width, narrowest, widest_grip(body));
  allowed.bar_mass = clipped("bar_mass", today.bar_mass, 0.0, 1000.0);
  const double competition = default_table().value("allowed.competition_stance");
  allowed.competition_stance = {today.stance_width - competition, today.stance_width + competition};
  return allowed;
}

Result<void> validate(const AllowedSetup& allowed) {
  const auto check = [](const Range& range, std::string_view name) -> Result<void> {
    const body::Number& row = body::range_table()[name];
    if (std::isfinite(range.low) && std::isfinite(range.high) && range.low <= range.high &&
        range.low >= row.low - 1e-9 && range.high <= row.high + 1e-9) {
      return {};
    }
    Error error{ErrorCode::Invalid,
                "a range to try must run upwards within " + std::to_string(row.low) + " to " +
                    std::to_string(row.high) + " (metres, radians, kilograms)",
                {},
                "correct the two ends",
                {}};
    error.place.field = "allowed." + std::string(name);
    return fail(std::move(error));
  };
  LINTEL_TRY_VOID(check(allowed.stance_width, "stance_width"));
  LINTEL_TRY_VOID(check(allowed.toe_out, "toe_out"));
  LINTEL_TRY_VOID(check(allowed.heel_elevation, "heel_elevation"));
  LINTEL_TRY_VOID(check(allowed.grip_width, "grip_width"));
  LINTEL_TRY_VOID(check(allowed.bar_mass, "bar_mass"));
  return {};
}

posture::Limits elastic(const posture::Limits& limits) {
  static const double kAngle = default_table().value("elastic.angle");
  static const double kDistance = default_table().value("elastic.distance");
  posture::Limits out = limits;
  for (int i = 0; i < posture::kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    if (limit == Limit::ThighReach) continue;
    out[limit].hard_margin += posture::is_length(limit) ? kDistance : kAngle;
  }
  return out;
}

double strain_of(const std::array<double, posture::kLimitCount>& reserve,
                 const posture::Limits& limits) {
  double sum = 0.0;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    const double width = limits.edges[i].soft_width;
    const double into = width - reserve[i];
    if (width <= 0.0 || !(into > 0.0)) continue;
    // Cube up to the measured end, from there on one for one.
    const double strain =
        into < width ? into * into * into / (3.0 * width * width) : width / 3.0 + (into - width);
    sum += scale_of(static_cast<Limit>(i)) * strain;
  }
  return sum;
}

Result<Evaluated> evaluate_most_upright(const posture::BodyParameters& body,
                                        const body::Setup& setup, const posture::Limits& limits,
                                        const posture::WarmStart* warm) {
  const posture::Model model = LINTEL_TRY(posture::Model::create(body, setup, elastic(limits)));
  const posture::Solution s = posture::solve_most_upright(model, {}, warm);
  Evaluated out;
  out.outcome = s.outcome;
  out.trunk_inclination = s.posture.trunk_inclination;
  out.shank_inclination = s.posture.shank_inclination;
  out.shoulder_elevation = s.posture.shoulder_elevation;
  out.reserve = s.reserve;
  out.strain = strain_of(s.reserve, limits);
  out.warm = s.warm_start;
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    if (limit == Limit::ThighReach) continue;
    if (s.reserve[i] < -limits.edges[i].hard_margin - 1e-7) out.stretched = true;
  }
  if (s.outcome == posture::Outcome::Infeasible) {
    out.stretched = out.extended = true;
    for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
      out.strain += scale_of(static_cast<Limit>(i)) * s.violation[i];
    }
  }
  return out;
}

}  // namespace lintel::reasoning
