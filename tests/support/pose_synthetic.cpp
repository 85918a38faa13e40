#include "support/pose_synthetic.h"

#include <array>

namespace lintel::test {

int synthetic_value(int x, int y, int channel, int side) {
  const int u = x * 256 / side;
  const int v = y * 256 / side;
  const auto c = static_cast<std::size_t>(channel);
  const auto inside = [&](int cx, int cy, int rx, int ry) {
    return (u - cx) * (u - cx) * ry * ry + (v - cy) * (v - cy) * rx * rx <= rx * rx * ry * ry;
  };
  using Color = std::array<int, 3>;
  if (inside(128, 50, 14, 18)) return Color{210, 160, 130}[c];
  if (inside(128, 105, 28, 40)) return Color{40, 70, 190}[c];
  if (inside(86, 92, 10, 40) || inside(170, 92, 10, 40)) return Color{205, 155, 125}[c];
  if (inside(112, 180, 15, 45) || inside(144, 180, 15, 45)) return Color{30, 30, 45}[c];
  if (inside(106, 228, 18, 8) || inside(150, 228, 18, 8)) return Color{230, 230, 225}[c];
  return 110 + (u * 3 + v * 5 + channel * 31 + (u >> 4) * (v >> 4) * 7) % 64;
}

Image synthetic_picture(int side) {
  Image picture(side, side);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      for (int c = 0; c < 3; ++c) {
        picture.pixel(x, y)[2 - c] = static_cast<std::uint8_t>(synthetic_value(x, y, c, side));
      }
    }
  }
  return picture;
}

std::vector<float> synthetic_input(int side, double factor, double shift) {
  std::vector<float> values;
  values.reserve(static_cast<std::size_t>(side) * static_cast<std::size_t>(side) * 3);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      for (int c = 0; c < 3; ++c) {
        values.push_back(static_cast<float>(synthetic_value(x, y, c, side) * factor + shift));
      }
    }
  }
  return values;
}

}  // namespace lintel::test
