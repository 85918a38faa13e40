// C3D: marker trajectories of a motion-capture system in. Points only; analog channels are skipped.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::formats {

// Byte 4 of the parameter section: how numbers are stored.
enum class C3dProcessor : std::uint8_t {
  Intel = 84,  // little endian, IEEE 754
  Dec = 85,    // little endian integers, VAX F floating point
  Mips = 86,   // big endian, IEEE 754
};

struct C3dLimits {
  std::size_t bytes = std::size_t{256} << 20;
  int points = 1000;
  std::size_t samples = 8'000'000;  // points times frames; each takes 16 bytes of memory
};

struct C3dSample {
  std::array<float, 3> position = {0, 0, 0};  // [m], in the laboratory's own axes
  float residual = -1;                        // [m]; negative = the point was not seen
  bool seen() const { return residual >= 0; }
};

struct C3dMotion {
  C3dProcessor processor = C3dProcessor::Intel;
  bool stored_as_integers = false;
  double frame_rate = 0;  // [frames/s]
  std::size_t frame_count = 0;
  std::vector<std::string> labels;  // one a point, without blanks around it; may be empty
  std::string x_screen, y_screen;   // "+X", "+Z": axes to the right and up; empty = not said
  int analog_per_frame = 0;         // numbers skipped in each frame
  std::vector<C3dSample> samples;   // frame by frame, labels.size() each

  const C3dSample& at(std::size_t frame, std::size_t point) const {
    return samples[frame * labels.size() + point];
  }
};

// Reads integer and floating-point files of all three processor types, as the C3D user guide
// (c3d.org, 2021) describes them: frame count by POINT:FRAMES, POINT:LONG_FRAMES or the TRIAL
// group, labels beyond 255 from POINT:LABELS2 and so on, lengths by POINT:UNITS (mm, cm, m, in).
// Errors, with file and byte offset (place.field "byte 1234"): Invalid for what breaks the format
// (header and parameters that contradict each other, records that leave their section, data that
// ends early), Unsupported (other units, other processor), Limit. Never throws.
Result<C3dMotion> read_c3d(std::span<const std::uint8_t> bytes, std::string_view file_name,
                           const C3dLimits& limits = {});

}  // namespace lintel::formats
