// The synthetic picture on which the pose networks are compared with reference numbers.
#pragma once

#include <cstdint>
#include <vector>

#include "base/image.h"

namespace lintel::test {

// A rough figure on a patterned ground, 0..255. x, y in 0..side-1, channel 0 red, 1 green, 2 blue.
// In integers only; tests/reference/pose/make_golden.cjs has the same formula.
int synthetic_value(int x, int y, int channel, int side);

// The same as a picture.
Image synthetic_picture(int side);

// side * side * 3 floats in the order row, column, red-green-blue: value * factor + shift.
std::vector<float> synthetic_input(int side, double factor, double shift);

}  // namespace lintel::test
