// Reads a clip or a photo one frame at a time: upright, square pixels, with true times.
#pragma once

#include <cstdint>
#include <filesystem>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <stop_token>
#include <string>

#include "base/image.h"
#include "base/result.h"

namespace lintel::media {

// What a file may ask of this machine. Beyond it: ErrorCode::Limit.
struct ClipLimits {
  int max_width_px = 8192;                             // as stored
  int max_height_px = 8192;                            // as stored
  std::int64_t max_pixels = 8192LL * 4352;             // of one frame of a clip
  std::int64_t max_still_pixels = 8192LL * 8192;       // of a photo
  std::int64_t max_still_bytes = 256LL * 1024 * 1024;  // of a photo's file
  std::int64_t max_frames = 1'000'000;                 // packets read from a clip
};

struct ClipReaderOptions {
  // Frames are shrunk to this while their colours are converted; never enlarged. 0 = as filmed.
  int max_long_side_px = 1280;
  // 0 = one a core, at most four. The frames are the same for any number.
  int decoder_threads = 0;
  // Only frames with first_time_s <= time_s <= last_time_s are delivered.
  double first_time_s = 0.0;
  double last_time_s = std::numeric_limits<double>::infinity();
  ClipLimits limits = {};
  std::stop_token stop = {};  // looked at before each packet and each read
};

// Known after open().
struct ClipInfo {
  int source_width_px = 0;   // upright, square pixels, before shrinking
  int source_height_px = 0;  // upright, square pixels, before shrinking
  int width_px = 0;          // of the frames delivered
  int height_px = 0;         // of the frames delivered
  double scale = 1.0;        // delivered px / source px, along the long side
  // The stored picture was mirrored left to right (if mirrored), then turned clockwise by
  // rotation_deg (0, 90, 180, 270). Frames are delivered upright already.
  int rotation_deg = 0;
  bool mirrored = false;
  std::string codec;      // FFmpeg's name: "h264", "hevc", "vp9", "av1", "mjpeg", "png", ...
  std::string container;  // "mp4", "mov", "matroska", "webm", "avi", "jpeg", "png"
  int bit_depth = 8;      // of the stored samples; frames are delivered with 8
  bool full_range = false;
  bool high_dynamic_range = false;        // PQ or HLG: delivered without tone mapping, looks pale
  double nominal_rate_hz = 0.0;           // what the container states; 0 = not known, or a photo
  double duration_s = 0.0;                // what the container states; 0 = not known, or a photo
  std::int64_t frame_count_estimate = 0;  // 0 = not known
  std::int64_t time_base_numerator = 0;   // [s] = pts * numerator / denominator
  std::int64_t time_base_denominator = 1;
  bool has_audio = false;
  bool is_still = false;
};

// What turned up so far while reading; final once next() has returned nothing.
struct ClipTally {
  std::int64_t frames_delivered = 0;
  std::int64_t corrupt_skipped = 0;  // packets or frames that could not be decoded cleanly
  std::int64_t times_repaired = 0;   // missing, repeated, backward or wildly forward time stamps
  double shortest_interval_s = 0.0;  // between neighbouring frames; 0 before the second
  double longest_interval_s = 0.0;
  double mean_rate_hz = 0.0;  // 0 before the second frame
  bool ended_early = false;   // the file stops in the middle; the rest of a photo is gray
};

struct DecodedFrame {
  Image image;
  std::int64_t index = 0;  // 0-based, among the frames delivered
  // [s] since the first frame of the clip (also when first_time_s skips some); strictly increasing.
  double time_s = 0.0;
  std::optional<std::int64_t> pts;  // as stored, in time_base; empty where the file has none
  bool time_repaired = false;
};

// Errors of open() and next(): NotFound (no such file), Denied (not readable, encrypted), Invalid
// (empty, cut off, damaged, no frame), Unsupported (other format or codec, audio only, picture
// changes shape), Limit, Cancelled, Io. Each says what to do. Damaged frames are skipped and
// counted, they are no error as long as one frame decodes.
// Memory does not grow with the length of the clip, apart from the container's own index.
// One thread at a time may use a reader; different readers are independent.
class ClipReader {
 public:
  static Result<ClipReader> open(const std::filesystem::path& path,
                                 const ClipReaderOptions& options = {});
  // The same from bytes that outlive the reader; `name` stands for the file in errors.
  static Result<ClipReader> open_memory(std::span<const std::uint8_t> bytes, std::string name,
                                        const ClipReaderOptions& options = {});

  ClipReader(ClipReader&&) noexcept;
  ClipReader& operator=(ClipReader&&) noexcept;
  ~ClipReader();

  const ClipInfo& info() const;
  const ClipTally& tally() const;
  // True once the intervals between frames differ by more than a quarter of their mean.
  bool variable_rate() const;

  // The next frame, or nothing at the end.
  Result<std::optional<DecodedFrame>> next();
  // The same into a frame that is used again, so that no picture is allocated: false at the end.
  Result<bool> next_into(DecodedFrame& frame);

 private:
  class Impl;
  explicit ClipReader(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace lintel::media
