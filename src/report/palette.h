// The house look, stated once: names of things found on a harbour building site, for light paper.
// Series differ by line style and marker as well, so nothing is told by colour alone. The four
// series colours were chosen to differ in lightness too (L* about 38, 57, 47, 44).
#pragma once

#include <array>

namespace lintel::report {

struct Color {
  double red = 0;  // 0..1 each
  double green = 0;
  double blue = 0;
  double alpha = 1;

  constexpr Color with_alpha(double value) const { return {red, green, blue, value}; }
};

constexpr Color rgb(unsigned hex) {
  return {((hex >> 16) & 255U) / 255.0, ((hex >> 8) & 255U) / 255.0, (hex & 255U) / 255.0, 1.0};
}

inline constexpr Color kPaper = rgb(0xFFFFFF);
inline constexpr Color kLimewash = rgb(0xF5F2EA);  // panels
inline constexpr Color kInk = rgb(0x1E2B33);       // text
inline constexpr Color kGranite = rgb(0x55636C);   // secondary text, axes
inline constexpr Color kMortar = rgb(0xD3D6D3);    // rules, grids
inline constexpr Color kHarbour = rgb(0x1D5C82);   // trunk, posts
inline constexpr Color kTimber = rgb(0xBF7A17);    // bar, beam
inline constexpr Color kSlate = rgb(0x2F7566);     // shank
inline constexpr Color kHeather = rgb(0x7A5A8C);   // shoulder
inline constexpr Color kBrick = rgb(0x9C3B2B);     // the plumb line, and only that

inline constexpr double kHairline = 0.6;  // [pt]
inline constexpr double kLine = 1.4;      // [pt]

}  // namespace lintel::report
