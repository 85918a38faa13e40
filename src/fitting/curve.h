// Uniform cubic B-splines over time.
#pragma once

#include <array>
#include <cstddef>

namespace lintel::fitting {

// Control points sit at origin + (i - 1) * spacing: the first and last lie outside the span. The
// curve at t is the weighted sum of four neighbours (de Boor 1978, uniform cubic case).
struct KnotGrid {
  double origin = 0;  // [s] start of the span
  double spacing = 0.1;
  int control_points = 4;

  static KnotGrid covering(double start, double end, double spacing);

  struct Weights {
    int first = 0;                  // index of the first of four control points
    std::array<double, 4> value{};  // sum to 1
    std::array<double, 4> rate{};   // [1/s]
  };
  // Times outside of the span are moved to its ends.
  Weights weights(double time) const;
  double control_time(int i) const { return origin + (i - 1) * spacing; }
};

}  // namespace lintel::fitting
