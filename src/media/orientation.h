// The eight ways in which a camera may have stored an upright picture. Internal.
#pragma once

#include <cstddef>
#include <cstdint>

#include "base/image.h"

namespace lintel::media {

// Upright = stored picture, mirrored left to right if `mirrored`, then turned clockwise by
// quarter_turns * 90 degrees.
struct Orientation {
  int quarter_turns = 0;  // 0..3
  bool mirrored = false;
  bool swaps_sides() const { return quarter_turns % 2 != 0; }
  bool operator==(const Orientation&) const = default;
};

// From a display matrix as containers store it: nine numbers, 16.16 fixed point, row by row,
// x' = m[0] x + m[3] y, y' = m[1] x + m[4] y, y down (ISO/IEC 14496-12, track header). Matrices in
// between (skewed, scaled, turned by odd angles) give the nearest of the eight; zeros give upright.
Orientation orientation_from_matrix(const std::int32_t matrix[9]);
void orientation_to_matrix(Orientation orientation, std::int32_t matrix[9]);

// From the EXIF tag Orientation, 1..8 (EXIF 2.3, tag 0x0112); anything else is upright.
Orientation orientation_from_exif(int value);

// Copies a BGR picture of width x height [px], rows `stride` bytes apart, to `out`, turned
// upright. `out` keeps its memory if it has the right size already.
void copy_upright(const std::uint8_t* pixels, std::ptrdiff_t stride, int width, int height,
                  Orientation orientation, Image& out);

}  // namespace lintel::media
