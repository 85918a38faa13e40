#include "media/orientation.h"

#include <algorithm>
#include <array>
#include <cstring>

namespace lintel::media {
namespace {

// x' = xx x + xy y, y' = yx x + yy y, stored to upright, y down.
struct Turn {
  int xx, xy, yx, yy;
};

Turn turn_of(Orientation orientation) {
  static constexpr std::array<Turn, 4> kClockwise = {Turn{1, 0, 0, 1}, Turn{0, -1, 1, 0},
                                                     Turn{-1, 0, 0, -1}, Turn{0, 1, -1, 0}};
  Turn turn = kClockwise[static_cast<std::size_t>(orientation.quarter_turns & 3)];
  if (orientation.mirrored) {  // mirror first: x -> -x
    turn.xx = -turn.xx;
    turn.yx = -turn.yx;
  }
  return turn;
}

}  // namespace

Orientation orientation_from_matrix(const std::int32_t matrix[9]) {
  Orientation best;
  double best_match = 0.0;
  for (const bool mirrored : {false, true}) {
    for (int turns = 0; turns < 4; ++turns) {
      const Orientation candidate{turns, mirrored};
      const Turn t = turn_of(candidate);
      const double match =
          static_cast<double>(t.xx) * matrix[0] + static_cast<double>(t.xy) * matrix[3] +
          static_cast<double>(t.yx) * matrix[1] + static_cast<double>(t.yy) * matrix[4];
      if (match > best_match) {
        best_match = match;
        best = candidate;
      }
    }
  }
  return best;
}

void orientation_to_matrix(Orientation orientation, std::int32_t matrix[9]) {
  constexpr std::int32_t kOne = 1 << 16;
  const Turn t = turn_of(orientation);
  const std::array<std::int32_t, 9> values = {t.xx * kOne, t.yx * kOne, 0, t.xy * kOne, t.yy * kOne,
                                              0,           0,           0, 1 << 30};
  std::copy(values.begin(), values.end(), matrix);
}

Orientation orientation_from_exif(int value) {
  switch (value) {
    case 2:
      return {0, true};
    case 3:
      return {2, false};
    case 4:
      return {2, true};
    case 5:
      return {3, true};
    case 6:
      return {1, false};
    case 7:
      return {1, true};
    case 8:
      return {3, false};
    default:
      return {};
  }
}

void copy_upright(const std::uint8_t* pixels, std::ptrdiff_t stride, int width, int height,
                  Orientation orientation, Image& out) {
  const int out_width = orientation.swaps_sides() ? height : width;
  const int out_height = orientation.swaps_sides() ? width : height;
  if (out.width() != out_width || out.height() != out_height) out = Image(out_width, out_height);
  if (orientation == Orientation{}) {
    for (int y = 0; y < height; ++y) std::memcpy(out.row(y), pixels + y * stride, out.stride());
    return;
  }
  // The inverse of a turn is its transpose: x = xx X + yx Y, y = xy X + yy Y (+ offsets).
  const Turn t = turn_of(orientation);
  const std::ptrdiff_t first_x = (t.xx < 0 || t.yx < 0) ? width - 1 : 0;
  const std::ptrdiff_t first_y = (t.xy < 0 || t.yy < 0) ? height - 1 : 0;
  const std::ptrdiff_t step_x = t.xx * 3 + t.xy * stride;
  const std::ptrdiff_t step_y = t.yx * 3 + t.yy * stride;
  const std::uint8_t* origin = pixels + first_x * 3 + first_y * stride;
  constexpr int kTile = 32;  // both sides of a tile stay in the first-level cache
  for (int y0 = 0; y0 < out_height; y0 += kTile) {
    for (int x0 = 0; x0 < out_width; x0 += kTile) {
      const int y1 = std::min(y0 + kTile, out_height);
      const int x1 = std::min(x0 + kTile, out_width);
      for (int y = y0; y < y1; ++y) {
        const std::uint8_t* from = origin + x0 * step_x + y * step_y;
        std::uint8_t* to = out.pixel(x0, y);
        for (int x = x0; x < x1; ++x, from += step_x, to += 3) {
          to[0] = from[0];
          to[1] = from[1];
          to[2] = from[2];
        }
      }
    }
  }
}

}  // namespace lintel::media
