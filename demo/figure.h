// Turns a skeleton into the primitives of a clothed figure, and a bar into solids.
#pragma once

#include <vector>

#include "demo/field.h"
#include "demo/posture.h"

namespace lintel::demo {

// A capped cylinder, met by rays in closed form.
struct Cylinder {
  Vec a, b;  // ends of the axis
  float radius = 0;
  Material side, face;
  bool disc = false;  // face painted as a weight disc: rim, ring, hub
  Color hub;
};

// A place on the floor made darker by what is above it.
struct FloorShade {
  float x = 0, z = 0;
  float radius_x = 0.1F, radius_z = 0.1F;
  float strength = 0.5F;
};

enum class BarKind : std::uint8_t { Barbell, Pipe, None };

struct BarSpec {
  BarKind kind = BarKind::Barbell;
  double length = 2.20;
  double sleeve_length = 0.415;
  double disc_diameter = 0.450;
  double disc_thickness = 0.065;
  Color disc_color = srgb(178, 34, 38);
  Color hub_color = srgb(190, 192, 196);
  double between_sleeves = 1.310;  // IWF rules
};
double disc_outer_face_z(const BarSpec& bar);  // of the disc's outer face from mid-bar [m]

// Where a second person stands: turned about the vertical, then moved.
struct Placement {
  double x = 0, z = 0, turn = 0;
};

void add_figure(const Lifter& lifter, const Skeleton& skeleton, const Placement& place,
                Field& field, std::vector<FloorShade>& shades);
std::vector<Cylinder> bar_solids(const BarSpec& bar, const Skeleton& skeleton,
                                 std::vector<FloorShade>& shades);

}  // namespace lintel::demo
