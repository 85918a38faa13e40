// Any bytes as a clip or a photo: frames or a helpful error, never a crash.
#include <cmath>
#include <span>

#include "fuzz_input.h"
#include "media/clip_reader.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using lintel::media::ClipReader;
  lintel::media::ClipReaderOptions options;
  options.max_long_side_px = 64;
  options.decoder_threads = 1;
  // The last byte decides whether the reader jumps into the clip, so that this is tried too.
  options.first_time_s = size > 0 && data[size - 1] % 4 == 1 ? 2.5 : 0.0;
  options.limits.max_width_px = 1024;
  options.limits.max_height_px = 1024;
  options.limits.max_pixels = 256 * 256;
  options.limits.max_still_pixels = 256 * 256;
  options.limits.max_frames = 40;

  auto reader = ClipReader::open_memory(std::span(data, size), "fuzz", options);
  if (!reader) {
    require(!reader.error().mend.empty() && !reader.error().message.empty());
    return 0;
  }
  const auto& info = reader->info();
  require(info.width_px > 0 && info.width_px <= 64 && info.height_px > 0 && info.height_px <= 64);
  require(std::isfinite(info.duration_s) && std::isfinite(info.nominal_rate_hz));
  lintel::media::DecodedFrame frame;
  double last_s = -1.0;
  for (;;) {
    const auto more = reader->next_into(frame);
    if (!more) {
      require(!more.error().mend.empty());
      break;
    }
    if (!*more) break;
    require(frame.image.width() == info.width_px && frame.image.height() == info.height_px);
    require(std::isfinite(frame.time_s) && frame.time_s > last_s);
    last_s = frame.time_s;
  }
  return 0;
}
