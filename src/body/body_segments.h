// Masses, centres of mass and radii of gyration of the body's segments (de Leva 1996).
#pragma once

#include <array>
#include <cstdint>

#include "body/segments.h"

namespace lintel::body {

enum class Part : std::uint8_t {
  Head,
  Thorax,
  Lumbar,
  Pelvis,
  UpperArm,
  Forearm,
  Hand,
  Thigh,
  Shank,
  Foot,
};
inline constexpr int kPartCount = 10;
std::string_view part_name(Part part);
constexpr bool is_paired(Part part) {
  return part >= Part::UpperArm;
}

struct PartParameters {
  double mass_fraction = 0.0;       // of body mass; one side for limbs
  double center_of_mass = 0.0;      // fraction of length from the upper (proximal; foot: heel) end
  double radius_of_gyration = 0.0;  // about the transverse axis, fraction of length
};
PartParameters part_parameters(Sex sex, Part part);

// How the line from mid-hip to mid-shoulder divides into pelvis, lumbar and thorax parts (fractions
// that sum to 1), and where the centres of mass lie along it.
struct TrunkDivision {
  double pelvis_length = 0.0;  // mid-hip to omphalion, fraction of the trunk length
  double lumbar_length = 0.0;  // omphalion to xiphion
  double thorax_length = 0.0;  // xiphion to mid-shoulder
  double pelvis_center = 0.0;  // centre of mass above mid-hip, fraction of the trunk length
  double lumbar_center = 0.0;  // above the omphalion
  double thorax_center = 0.0;  // above the xiphion
  double head_center_below_vertex = 0.0;  // fraction of stature
  double hand_center_from_wrist = 0.0;    // fraction of stature
};
TrunkDivision trunk_division(Sex sex);

}  // namespace lintel::body
