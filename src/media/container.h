// Recognises and opens the container around a clip, within what Lintel allows. Internal.
#pragma once

#include <atomic>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "base/result.h"
#include "media/byte_source.h"
#include "media/clip_reader.h"
#include "media/ffmpeg_handles.h"
#include "media/log_tail.h"
#include "media/orientation.h"

namespace lintel::media {

Error stopped_error();

// What goes with one decoder: its log, and the largest picture that it may allocate.
class DecodeWatch : public LogTail {
 public:
  int max_width_px = 0;
  int max_height_px = 0;
  std::int64_t max_pixels = 0;
  std::atomic<int> refused_width_px = 0;  // of the last picture refused; 0 = none
  std::atomic<int> refused_height_px = 0;

  bool allows(int width_px, int height_px) const;
  // AVCodecContext::get_buffer2; called from decoder threads.
  static int allocate(AVCodecContext* context, AVFrame* frame, int flags);
};

enum class StillKind : std::uint8_t { None, Jpeg, Png };

// By the first bytes of the file.
StillKind sniff_still(const ByteSource& source);

// False if the photo's file breaks off before its picture ends (decoders fill the rest with gray).
bool still_is_whole(StillKind kind, std::span<const std::uint8_t> bytes);

// A clip whose streams are known: exactly one of them, `video`, is to be read.
struct OpenContainer {
  InputHandle format;
  AVStream* video = nullptr;
  std::string name;  // "mp4", "mov", "matroska", "webm", "avi"
  bool has_audio = false;
  bool encrypted = false;
};

// Only these formats: mov/mp4, Matroska/WebM, AVI. Errors as ClipReader::open().
Result<OpenContainer> open_container(ByteSource& source, const ClipReaderOptions& options);

// The decoder for a codec, opened; Unsupported if Lintel does not read it.
// `parameters` may be null (photos).
Result<CodecHandle> open_decoder(AVCodecID codec, const AVCodecParameters* parameters,
                                 AVRational time_base, const ClipReaderOptions& options,
                                 DecodeWatch& watch);

std::optional<Orientation> orientation_of_stream(const AVStream& stream);
std::optional<Orientation> orientation_of_frame(const AVFrame& frame);

}  // namespace lintel::media
