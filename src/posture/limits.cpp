#include "posture/limits.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <string>

#include "body/knee_to_wall.h"
#include "body/tables.h"

namespace lintel::posture {
namespace {

using body::MobilityTest;

constexpr std::array<std::string_view, kLimitCount> kNames = {
    "ankle_dorsiflexion",    "knee_flexion",       "hip_flexion",       "hip_abduction",
    "hip_external_rotation", "lumbar_flexion",     "lumbar_extension",  "thoracic_extension",
    "thoracic_flexion",      "shoulder_elevation", "latissimus_length", "arm_tilt_forward",
    "arm_tilt_backward",     "knee_outward",       "knee_inward",       "balance_forward",
    "balance_backward",      "knee_forward",       "thigh_reach",       "hip_internal_rotation"};

// Stem of the table key of each limit that comes from the table; balance, knee and reach differ.
std::string_view table_stem(Limit limit) {
  switch (limit) {
    case Limit::LatissimusLength:
      return "latissimus_elevation";
    case Limit::ArmTiltForward:
      return "arm_tilt.forward";
    case Limit::ArmTiltBackward:
      return "arm_tilt.backward";
    case Limit::KneeOutward:
      return "knee_line.outward";
    case Limit::KneeInward:
      return "knee_line.inward";
    default:
      return limit_name(limit);
  }
}

bool has_reference_and_average(Limit limit) {
  return limit <= Limit::LatissimusLength || limit == Limit::HipInternalRotation;
}

const body::Number& table_number(Limit limit, std::string_view kind) {
  std::string key(table_stem(limit));
  if (has_reference_and_average(limit)) key += "." + std::string(kind);
  return body::limit_table()[key];
}

Limits build_limits(double foot_length, std::string_view kind) {
  const body::NumberTable& table = body::limit_table();
  Limits limits;
  for (int i = 0; i < kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    Edge& edge = limits[limit];
    switch (limit) {
      case Limit::BalanceForward:
      case Limit::BalanceBackward:
        edge = {table.value("balance.half_width_of_foot") * foot_length,
                table.value("edge.balance.soft_width"), table.value("edge.balance.hard_margin")};
        break;
      case Limit::KneeForward:
        edge = {std::numeric_limits<double>::infinity(), table.value("edge.distance.soft_width"),
                table.value("edge.distance.hard_margin")};
        break;
      case Limit::ThighReach:
        edge = {0.0, 0.0, 0.0};
        break;
      default:
        edge = {table_number(limit, kind).value, table.value("edge.angle.soft_width"),
                table.value("edge.angle.hard_margin")};
    }
  }
  limits.couplings = {table.value("hip_flexion.per_abduction"),
                      table.value("hip_flexion.per_external_rotation"),
                      table.value("hip_flexion.gain_saturation"),
                      table.value("shoulder_elevation.per_grip_abduction"),
                      table.value("latissimus_elevation.per_grip_abduction"),
                      table.value("latissimus_elevation.per_lumbar_flexion")};
  return limits;
}

// A test result as an edge, with the test's own error where none was given.
Estimate with_error(const Estimate& result, std::string_view error_key) {
  const double error =
      result.standard_error > 0.0 ? result.standard_error : body::limit_table().value(error_key);
  return {result.value, error};
}

struct Found {
  Estimate edge;
  LimitSource source;
};

struct SideLimits {
  std::array<std::optional<Found>, kLimitCount> found;
  std::optional<Found>& operator[](Limit l) { return found[static_cast<std::size_t>(l)]; }
};

Result<SideLimits> read_side(const body::Athlete& athlete, const body::SegmentLengths& lengths,
                             std::size_t side) {
  SideLimits out;
  const auto test = [&](MobilityTest t) -> const std::optional<Estimate>& {
    return athlete.tests[t][side];
  };
  const auto direct = [&](MobilityTest t, Limit limit, std::string_view error_key) {
    if (test(t)) out[limit] = Found{with_error(*test(t), error_key), LimitSource::Measured};
  };
  direct(MobilityTest::KneeFlexion, Limit::KneeFlexion, "knee_flexion.test_error");
  direct(MobilityTest::HipFlexion, Limit::HipFlexion, "hip_flexion.test_error");
  direct(MobilityTest::HipAbduction, Limit::HipAbduction, "hip_abduction.test_error");
  direct(MobilityTest::HipExternalRotation, Limit::HipExternalRotation,
         "hip_external_rotation.test_error");
  direct(MobilityTest::HipInternalRotation, Limit::HipInternalRotation,
         "hip_internal_rotation.test_error");
  direct(MobilityTest::LumbarFlexion, Limit::LumbarFlexion, "lumbar_flexion.test_error");
  direct(MobilityTest::ThoracicExtension, Limit::ThoracicExtension,
         "thoracic_extension.test_error");
  direct(MobilityTest::ShoulderFlexion, Limit::ShoulderElevation, "shoulder_elevation.test_error");
  direct(MobilityTest::AnkleDorsiflexion, Limit::AnkleDorsiflexion,
         "ankle_dorsiflexion.test_error");
  if (!out[Limit::AnkleDorsiflexion] && test(MobilityTest::KneeToWall)) {
    const Estimate distance =
        with_error(*test(MobilityTest::KneeToWall), "knee_to_wall.test_error");
    auto angle = body::dorsiflexion_from_knee_to_wall(distance, lengths);
    if (!angle) {
      angle.error().place.field =
          side == 0 ? "tests.knee_to_wall.left" : "tests.knee_to_wall.right";
      return fail(std::move(angle).error());
    }
    out[Limit::AnkleDorsiflexion] = Found{*angle, LimitSource::Derived};
  }
  if (!out[Limit::ThoracicExtension] && test(MobilityTest::ThoracicRotation)) {
    const Estimate rotation =
        with_error(*test(MobilityTest::ThoracicRotation), "thoracic_rotation.test_error");
    const body::Number& ratio = body::limit_table()["thoracic_extension.per_rotation"];
    out[Limit::ThoracicExtension] =
        Found{{ratio.value * rotation.value, std::hypot(ratio.value * rotation.standard_error,
                                                        ratio.standard_deviation * rotation.value)},
              LimitSource::Derived};
  }
  const auto wall = [&](MobilityTest t, Limit limit, std::string_view error_key) {
    if (out[limit] || !test(t)) return;
    const Estimate angle = with_error(*test(t), error_key);
    out[limit] =
        Found{{std::numbers::pi - angle.value, angle.standard_error}, LimitSource::Derived};
  };
  wall(MobilityTest::ArmToWallTurnedIn, Limit::ShoulderElevation, "shoulder_elevation.test_error");
  wall(MobilityTest::ArmToWallTurnedOut, Limit::LatissimusLength,
       "latissimus_elevation.test_error");
  return out;
}

}  // namespace

std::string_view limit_name(Limit limit) {
  return kNames[static_cast<std::size_t>(limit)];
}

bool is_length(Limit limit) {
  return limit == Limit::BalanceForward || limit == Limit::BalanceBackward ||
         limit == Limit::KneeForward;
}

Capacities default_capacities(body::Sex sex, double body_mass) {
  const body::NumberTable& table = body::limit_table();
  const double m =
      body_mass * (sex == body::Sex::Female ? table.value("capacity.female_share") : 1.0);
  return {m * table.value("capacity.ankle.per_mass"), m * table.value("capacity.knee.per_mass"),
          m * table.value("capacity.hip.per_mass"), m * table.value("capacity.low_back.per_mass"),
          m * table.value("capacity.shoulder.per_mass")};
}

Limits reference_limits(double foot_length) {
  return build_limits(foot_length, "reference");
}
Limits average_limits(double foot_length) {
  return build_limits(foot_length, "average");
}

Result<AthleteLimits> limits_from_tests(const body::Athlete& athlete,
                                        const body::SegmentLengths& lengths) {
  LINTEL_TRY_VOID(body::validate(athlete));
  AthleteLimits out;
  const double foot = lengths[body::Segment::Foot].value;
  out.limits = average_limits(foot);
  out.side = {out.limits, out.limits};
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    out.source[i] = LimitSource::Default;
    if (limit == Limit::BalanceForward || limit == Limit::BalanceBackward) {
      out.standard_error[i] =
          body::limit_table()["balance.half_width_of_foot"].standard_deviation * foot;
    } else if (limit == Limit::KneeForward || limit == Limit::ThighReach) {
      out.standard_error[i] = 0.0;
    } else {
      out.standard_error[i] = table_number(limit, "average").standard_deviation;
    }
  }
  std::array<SideLimits, 2> sides = {LINTEL_TRY(read_side(athlete, lengths, 0)),
                                     LINTEL_TRY(read_side(athlete, lengths, 1))};
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    const auto& left = sides[0].found[i];
    const auto& right = sides[1].found[i];
    if (!left && !right) continue;
    // One side tested: it speaks for both.
    const Found l = left ? *left : *right;
    const Found r = right ? *right : *left;
    out.side[0].edges[i].edge = l.edge.value;
    out.side[1].edges[i].edge = r.edge.value;
    const Found& worse = l.edge.value <= r.edge.value ? l : r;
    out.limits.edges[i].edge = worse.edge.value;
    out.standard_error[i] = worse.edge.standard_error;
    out.source[i] = worse.source;
  }
  return out;
}

}  // namespace lintel::posture
