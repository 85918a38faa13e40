// An invented lifter: how long the segments are, how heavy, how dressed.
#pragma once

#include <cstdint>
#include <string>

namespace lintel::demo {

enum class Sex : std::uint8_t { Female, Male };

// Joint-centre to joint-centre lengths [m].
struct Lengths {
  double stature = 1.75;
  double shank = 0;
  double thigh = 0;
  double trunk = 0;           // mid-hip to mid-shoulder, arms hanging
  double shoulder_raise = 0;  // how far the shoulder joints rise along the trunk, arms overhead
  double upper_arm = 0;
  double forearm = 0;
  double grip = 0;           // wrist centre to bar centre
  double head_neck = 0;      // mid-shoulder to vertex
  double foot = 0;           // heel to toe tip, bare
  double heel_to_ankle = 0;  // along the sole
  double ankle_height = 0;   // floor to ankle centre, with the shoe's sole
  double inter_hip = 0;
  double inter_shoulder = 0;
};

// Population means [1]: Drillis & Contini 1966, in Winter, fig. 4.1; the joint breadths are from
// the whole breadths there less soft tissue (own estimate, no source).
Lengths mean_lengths(double stature);

// The means with every length scaled by its own normal factor (standard deviation `spread`,
// clipped at two of them), then the upright stack scaled back to the stature.
Lengths varied_lengths(double stature, double spread, std::uint64_t seed);

// Segment masses as fractions of body mass and centres of mass as fractions of the segment from
// the proximal end: de Leva 1996, table 4.
struct SegmentMass {
  double mass = 0;
  double center = 0;
};
struct MassTable {
  SegmentMass head;   // centre as fraction of mid-shoulder to vertex (own conversion)
  SegmentMass trunk;  // from mid-shoulder
  SegmentMass upper_arm, forearm, hand, thigh, shank, foot;
};
const MassTable& mass_table(Sex sex);

struct Color {
  float r = 0, g = 0, b = 0;  // linear light, 0..1
};
Color srgb(int r, int g, int b);

enum class HairStyle : std::uint8_t { Short, Bun, Cropped };

struct Look {
  Color skin, shirt, shorts, shoe, sole, hair, sock, lips;
  HairStyle hair_style = HairStyle::Short;
};

// Named outfits of the Skarnholm lifting club: "harbor", "buoy", "kelp", "dusk", "slate", "sand".
Look look_by_name(const std::string& name);

struct Lifter {
  std::string name;
  Sex sex = Sex::Male;
  double mass = 78;  // [kg]
  Lengths lengths;
  Look look;
};

}  // namespace lintel::demo
