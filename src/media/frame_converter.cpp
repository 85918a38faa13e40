#include "media/frame_converter.h"

extern "C" {
#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>
}

namespace lintel::media {
namespace {

// The "J" formats are the old way to say full range; swscale wants the plain one and the flag.
AVPixelFormat plain_format(int format) {
  switch (format) {
    case AV_PIX_FMT_YUVJ420P:
      return AV_PIX_FMT_YUV420P;
    case AV_PIX_FMT_YUVJ422P:
      return AV_PIX_FMT_YUV422P;
    case AV_PIX_FMT_YUVJ444P:
      return AV_PIX_FMT_YUV444P;
    case AV_PIX_FMT_YUVJ440P:
      return AV_PIX_FMT_YUV440P;
    case AV_PIX_FMT_YUVJ411P:
      return AV_PIX_FMT_YUV411P;
    default:
      return static_cast<AVPixelFormat>(format);
  }
}

int matrix_of(const AVFrame& frame) {
  switch (frame.colorspace) {
    case AVCOL_SPC_BT709:
      return SWS_CS_ITU709;
    case AVCOL_SPC_FCC:
      return SWS_CS_FCC;
    case AVCOL_SPC_SMPTE240M:
      return SWS_CS_SMPTE240M;
    case AVCOL_SPC_BT2020_NCL:
    case AVCOL_SPC_BT2020_CL:
      return SWS_CS_BT2020;
    case AVCOL_SPC_BT470BG:
    case AVCOL_SPC_SMPTE170M:
      return SWS_CS_ITU601;
    default:
      return frame.height >= 720 ? SWS_CS_ITU709 : SWS_CS_ITU601;
  }
}

}  // namespace

bool is_full_range(const AVFrame& frame) {
  if (plain_format(frame.format) != frame.format) return true;
  if (frame.color_range != AVCOL_RANGE_UNSPECIFIED) return frame.color_range == AVCOL_RANGE_JPEG;
  const AVPixFmtDescriptor* description =
      av_pix_fmt_desc_get(static_cast<AVPixelFormat>(frame.format));
  return description != nullptr && (description->flags & AV_PIX_FMT_FLAG_RGB) != 0;
}

FrameConverter::~FrameConverter() {
  av_freep(&buffer_[0]);
}

Result<void> FrameConverter::prepare(const Key& key) {
  if (scaler_ && key == key_) return {};
  const auto format = static_cast<AVPixelFormat>(key.format);
  if (sws_isSupportedInput(format) == 0) {
    const char* name = av_get_pix_fmt_name(format);
    return fail(ErrorCode::Unsupported,
                std::string("the picture format ") + (name != nullptr ? name : "of this clip") +
                    " cannot be converted",
                "re-encode the clip as H.264 with 8-bit 4:2:0 colour");
  }
  const bool shrinks = key.width < key.source_width || key.height < key.source_height;
  // Averaging over areas keeps thin limbs and the bar when shrinking; exact rounding for
  // reproducible pixels.
  const int flags = (shrinks ? SWS_AREA : SWS_BICUBIC) | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INT;
  scaler_.reset(sws_getContext(key.source_width, key.source_height, format, key.width, key.height,
                               AV_PIX_FMT_BGR24, flags, nullptr, nullptr, nullptr));
  if (!scaler_) {
    return fail(ErrorCode::Unsupported, "the picture cannot be converted at this size",
                "re-encode the clip as H.264 in an ordinary size such as 1280x720");
  }
  constexpr int kUnity = 1 << 16;
  const int* coefficients = sws_getCoefficients(key.matrix);
  // Fails for RGB sources, which have no matrix: nothing to do then.
  sws_setColorspaceDetails(scaler_.get(), coefficients, key.full_range ? 1 : 0,
                           sws_getCoefficients(SWS_CS_DEFAULT), 1, 0, kUnity, kUnity);
  if (buffer_[0] == nullptr || key.width != key_.width || key.height != key_.height) {
    av_freep(&buffer_[0]);
    // Aligned and padded rows: swscale may write whole vectors beyond the last pixel.
    if (av_image_alloc(buffer_, stride_, key.width, key.height, AV_PIX_FMT_BGR24, 64) < 0) {
      return fail(ErrorCode::Limit, "not enough memory for one frame",
                  "ask for smaller frames, or close other programs");
    }
  }
  key_ = key;
  return {};
}

Result<void> FrameConverter::convert(const AVFrame& frame, int width, int height,
                                     Orientation orientation, Image& out) {
  const Key key{frame.width, frame.height,     plain_format(frame.format), width,
                height,      matrix_of(frame), is_full_range(frame)};
  LINTEL_TRY_VOID(prepare(key));
  if (sws_scale(scaler_.get(), frame.data, frame.linesize, 0, frame.height, buffer_, stride_) !=
      height) {
    return fail(ErrorCode::Internal, "converting the colours of a frame failed",
                "re-encode the clip as H.264 with 8-bit 4:2:0 colour");
  }
  copy_upright(buffer_[0], stride_[0], width, height, orientation, out);
  return {};
}

}  // namespace lintel::media
