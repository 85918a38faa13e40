// From any pixel format of a decoder to an upright, shrunk BGR picture. Internal.
#pragma once

#include "base/image.h"
#include "base/result.h"
#include "media/ffmpeg_handles.h"
#include "media/orientation.h"

namespace lintel::media {

// Keeps its scaler and its buffer from frame to frame. Honours colour matrix and range of the
// frame; a frame that states none is BT.709 from 720 rows on, BT.601 below (common practice of
// players, no source). Transfer curves are not converted.
class FrameConverter {
 public:
  FrameConverter() = default;
  FrameConverter(const FrameConverter&) = delete;
  FrameConverter& operator=(const FrameConverter&) = delete;
  ~FrameConverter();

  // width, height [px]: of the result before it is turned upright.
  // Errors: Unsupported (pixel format), Limit (memory).
  Result<void> convert(const AVFrame& frame, int width, int height, Orientation orientation,
                       Image& out);

 private:
  struct Key {
    int source_width, source_height, format, width, height, matrix;
    bool full_range;
    bool operator==(const Key&) const = default;
  };
  Result<void> prepare(const Key& key);

  ScalerHandle scaler_;
  Key key_ = {};
  unsigned char* buffer_[4] = {};
  int stride_[4] = {};
};

// True if the frame's samples use 0..255 (in 8 bit), false for 16..235.
bool is_full_range(const AVFrame& frame);

}  // namespace lintel::media
