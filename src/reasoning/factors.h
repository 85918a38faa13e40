// The factors that may push the trunk forward, and what "reference" and "today" mean for each.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "body/athlete.h"
#include "posture/posture.h"

namespace lintel::reasoning {

enum class Factor : std::uint8_t {
  Stance,    // lever: stance width
  ToeOut,    // lever
  Heel,      // lever: heel elevation
  Grip,      // lever: grip width
  Ankle,     // dorsiflexion
  Hip,       // hip flexion, abduction, external rotation, and the lumbar flexion that replaces them
  Thorax,    // thoracic extension and flexion, lumbar extension
  Shoulder,  // elevation of the joint itself
  Latissimus,  // elevation with the latissimus as the stop
  Habit,       // what the body does not force: observed less the most upright of today
};
inline constexpr int kFactorCount = 10;
inline constexpr int kPhysicalFactorCount = 9;  // all but habit
inline constexpr int kLeverFactorCount = 4;
std::string_view factor_name(Factor factor);   // "toe_out", ...: stable code
std::string_view factor_label(Factor factor);  // "ankle range": for people
constexpr bool is_lever(Factor factor) {
  return factor <= Factor::Grip;
}
constexpr std::size_t index_of(Factor factor) {
  return static_cast<std::size_t>(factor);
}

// The limits that make up a mobility factor; empty for levers and habit. Knee flexion, balance, arm
// tilt and the line of the knee belong to no factor: they are part of the skeleton on both sides.
std::span<const posture::Limit> limits_of(Factor factor);
double& lever_of(body::Setup& setup, Factor lever);

// The mobility an overhead lifter should have, by factor; everything that is no factor is taken
// from `athlete`. Values, SDs, sources: data/mobility/limits.csv, rows "*.reference"; the ankle's
// is the knee-to-wall distance of data/reasoning/defaults.csv (reference.knee_to_wall) by the
// athlete's own foot and shank, so that who passes the test with a usual distance is not called
// limited.
posture::Limits reference_mobility(const posture::Limits& athlete,
                                   const body::SegmentLengths& lengths);

struct Range {
  double low = 0.0;
  double high = 0.0;
  bool contains(double value) const { return value >= low && value <= high; }
};

// What the athlete is ready to change. SI.
struct AllowedSetup {
  Range stance_width;
  Range toe_out;
  Range heel_elevation;
  Range grip_width;
  Range bar_mass;
  Range competition_stance;  // a stance outside costs: it is not the one competed in

  const Range& operator[](Factor lever) const;
};
// Defaults of data/reasoning/defaults.csv, widened to hold the present setup and narrowed to what
// this foot and these arms reach.
AllowedSetup default_allowed_setup(const posture::BodyParameters& body, const body::Setup& today);
// Errors: Invalid with field "allowed.stance_width" etc. when a range is empty or out of bounds.
Result<void> validate(const AllowedSetup& allowed);

// Limits with the soft edge continued beyond the hard stop (data/reasoning/defaults.csv,
// elastic.*): where tests exclude each other the body is assumed to give where it costs least, and
// the trunk inclination stays a continuous function of every limit and lever. Where no hard stop is
// active the answer is that of the plain model.
posture::Limits elastic(const posture::Limits& limits);

// One posture as the answers use it.
struct Evaluated {
  double trunk_inclination = 0.0;   // [rad]
  double strain = 0.0;              // [rad of trunk inclination], see below
  double shank_inclination = 0.0;   // [rad]
  double shoulder_elevation = 0.0;  // demanded [rad]
  bool stretched = false;           // beyond a hard stop of the plain model: tests say "impossible"
  bool extended = false;            // not even the elastic limits allow it
  posture::Outcome outcome = posture::Outcome::IterationLimit;
  std::array<double, posture::kLimitCount> reserve{};
  posture::WarmStart warm;

  // What the answers compare: the lean at equal strain. A stop that only holds the trunk up by
  // stretching other joints (stiff shoulders over a stiff ankle) makes the inclination smaller and
  // the strain larger: it must not count as a gain.
  double lean() const { return trunk_inclination + strain; }
};
// The most upright posture under elastic limits. strain: how far the joints are into their ends,
// summed over the edges: the model's passive resistance up to the measured end, into^3 / (3
// soft_width^2) with into = how far past its onset (soft_width / 3 at the end), and beyond the end
// degree for degree. If even the elastic limits exclude each other (a stance that the thigh cannot
// span), the posture of least violation, with the sum of the violations added to the strain (4 rad
// per metre, data/mobility/limits.csv): every setup has a value, and a worse setup a larger one.
// Errors: those of Model::create.
Result<Evaluated> evaluate_most_upright(const posture::BodyParameters& body,
                                        const body::Setup& setup, const posture::Limits& limits,
                                        const posture::WarmStart* warm = nullptr);

// Passive resistance of all edges at a posture with these reserves [rad of trunk inclination].
double strain_of(const std::array<double, posture::kLimitCount>& reserve,
                 const posture::Limits& limits);

}  // namespace lintel::reasoning
