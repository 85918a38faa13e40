// Any bytes as a C3D file: samples that hang together, or one error with its place.
#include <cmath>

#include "formats/c3d.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const lintel::formats::C3dLimits limits{std::size_t{1} << 20, 300, 100'000};
  const auto motion = lintel::formats::read_c3d({data, size}, "fuzz.c3d", limits);
  if (!motion) {
    require(!motion.error().message.empty() && motion.error().place.file == "fuzz.c3d");
    return 0;
  }
  require(motion->frame_count > 0 && !motion->labels.empty());
  require(motion->samples.size() == motion->frame_count * motion->labels.size());
  require(motion->samples.size() <= limits.samples);
  require(motion->frame_rate > 0);
  for (const auto& sample : motion->samples) {
    for (const float coordinate : sample.position) require(std::isfinite(coordinate));
  }
  return 0;
}
