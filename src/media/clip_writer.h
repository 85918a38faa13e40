// Encodes pictures with given times to a clip.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>

#include "base/image.h"
#include "base/result.h"

namespace lintel::media {

enum class ClipCodec : std::uint8_t { H264, Hevc, Vp9, Av1, Mjpeg };

struct ClipWriterOptions {
  int width_px = 0;   // of the clip; even, at least 16
  int height_px = 0;  // of the clip; even, at least 16
  // Of the pictures that are given, where they are to be resized; 0 = as the clip.
  int picture_width_px = 0;
  int picture_height_px = 0;
  ClipCodec codec = ClipCodec::H264;
  double nominal_rate_hz = 30.0;  // steers the encoder and the length of the last frame
  // Constant quality in the codec's own scale, smaller is better: 0..51 (H.264, HEVC), 0..63 (VP9,
  // AV1), 2..31 (MJPEG). Empty = a good default (20, 22, 24, 24, 3).
  std::optional<int> quality;
  int bit_depth = 8;  // 8 or 10 (not MJPEG)
  // Written as metadata, as phones do, the pixels stay: a player mirrors the picture left to right
  // (if mirrored) and turns it clockwise by rotation_deg. mp4 and mov only.
  int rotation_deg = 0;  // 0, 90, 180, 270
  bool mirrored = false;
  // At most so many frames from one that stands alone to the next, none of them waiting for a later
  // one: a player is quickly at any of them. Empty = the encoder's own choice.
  std::optional<int> key_interval;
  int encoder_threads = 1;  // one: the same bytes on every machine
  bool fast = false;        // larger file, less time
};

// The container follows the suffix: .mp4, .mov, .mkv, .webm (VP9 and AV1 only). The clip is
// written under a temporary name beside the target and renamed by finish(); a writer that is
// destroyed before leaves nothing behind. Colours are BT.709, limited range, 4:2:0 (MJPEG: BT.601,
// full range). Not thread-safe.
class ClipWriter {
 public:
  static Result<ClipWriter> create(const std::filesystem::path& path,
                                   const ClipWriterOptions& options);
  ClipWriter(ClipWriter&&) noexcept;
  ClipWriter& operator=(ClipWriter&&) noexcept;
  ~ClipWriter();

  // time_s [s] strictly increasing by 0.1 ms or more (mkv, webm: 1 ms); the first frame becomes
  // time zero. Errors: Invalid (size, time, after finish()), Io.
  Result<void> add(const Image& image, double time_s);
  // Error Invalid without a frame. After an error the target is as it was before.
  Result<void> finish();

 private:
  class Impl;
  explicit ClipWriter(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace lintel::media
