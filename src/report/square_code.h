// A QR code (ISO/IEC 18004) on the canvas.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "report/canvas.h"

namespace lintel::report {

// Dark modules of a square code, row by row; the quiet zone is not in it.
struct SquareCode {
  int size = 0;  // modules on a side
  std::vector<bool> dark;
  bool at(int x, int y) const { return dark[static_cast<std::size_t>(y * size + x)]; }
};

// Bytes of UTF-8 as one byte segment, with the best error correction that the smallest size holds
// (L, about 7 % of the code may be lost, or better). Nothing when the text is too long for the
// largest code that prints well (version 25).
std::optional<SquareCode> encode_square_code(std::string_view text);
// Bytes that encode_square_code takes.
inline constexpr std::size_t kSquareCodeBytes = 1200;

// Fills `box`, quiet zone of four modules included, black on white.
void draw_square_code(Canvas& canvas, const Box& box, const SquareCode& code);

}  // namespace lintel::report
