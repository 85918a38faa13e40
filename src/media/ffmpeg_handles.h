// Owners for FFmpeg's objects. Internal to media/.
#pragma once

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/dict.h>
#include <libavutil/error.h>
#include <libavutil/frame.h>
#include <libswscale/swscale.h>
}

#include <memory>
#include <string>

namespace lintel::media {

struct InputDeleter {
  void operator()(AVFormatContext* p) const { avformat_close_input(&p); }
};
struct CodecDeleter {
  void operator()(AVCodecContext* p) const { avcodec_free_context(&p); }
};
struct FrameDeleter {
  void operator()(AVFrame* p) const { av_frame_free(&p); }
};
struct PacketDeleter {
  void operator()(AVPacket* p) const { av_packet_free(&p); }
};
struct ScalerDeleter {
  void operator()(SwsContext* p) const { sws_freeContext(p); }
};
using InputHandle = std::unique_ptr<AVFormatContext, InputDeleter>;
using CodecHandle = std::unique_ptr<AVCodecContext, CodecDeleter>;
using FrameHandle = std::unique_ptr<AVFrame, FrameDeleter>;
using PacketHandle = std::unique_ptr<AVPacket, PacketDeleter>;
using ScalerHandle = std::unique_ptr<SwsContext, ScalerDeleter>;

// Options by name, as FFmpeg takes them; what it does not know stays inside and is dropped.
class Dictionary {
 public:
  Dictionary() = default;
  Dictionary(const Dictionary&) = delete;
  Dictionary& operator=(const Dictionary&) = delete;
  ~Dictionary() { av_dict_free(&entries_); }
  void set(const char* key, const std::string& value) {
    av_dict_set(&entries_, key, value.c_str(), 0);
  }
  AVDictionary** out() { return &entries_; }

 private:
  AVDictionary* entries_ = nullptr;
};

inline std::string ffmpeg_error_text(int code) {
  char text[AV_ERROR_MAX_STRING_SIZE] = {};
  av_strerror(code, text, sizeof text);
  return text;
}

}  // namespace lintel::media
