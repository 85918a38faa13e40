#include "media/still.h"

#include <cmath>
#include <fstream>
#include <utility>

#include "media/ffmpeg_handles.h"
#include "media/log_tail.h"
#include "media/pending_file.h"

namespace lintel::media {
namespace {

struct StillEncoding {
  const char* encoder;
  AVPixelFormat format;
  int quality_lambda = 0;  // 0 = lossless
};

Error encode_error(const char* what, int code, LogTail& log) {
  Error error{ErrorCode::Internal,
              std::string(what) + ": " + ffmpeg_error_text(code),
              {},
              "try a smaller picture, or close other programs",
              {}};
  log.append_to(error);
  return error;
}

// The picture in the encoder's pixel format. JPEG: BT.601, full range (JFIF 1.02).
Result<FrameHandle> to_frame(const Image& image, AVPixelFormat format, LogTail& log) {
  FrameHandle frame(av_frame_alloc());
  if (!frame) return fail(encode_error("preparing the picture", AVERROR(ENOMEM), log));
  frame->format = format;
  frame->width = image.width();
  frame->height = image.height();
  int code = av_frame_get_buffer(frame.get(), 0);
  if (code < 0) return fail(encode_error("preparing the picture", code, log));
  AVPixelFormat plain = format;
  if (format == AV_PIX_FMT_YUVJ420P) plain = AV_PIX_FMT_YUV420P;
  if (format == AV_PIX_FMT_YUVJ444P) plain = AV_PIX_FMT_YUV444P;
  const ScalerHandle scaler(sws_getContext(
      image.width(), image.height(), AV_PIX_FMT_BGR24, image.width(), image.height(), plain,
      SWS_BICUBIC | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INP, nullptr, nullptr, nullptr));
  if (!scaler) return fail(encode_error("preparing the picture", AVERROR(EINVAL), log));
  if (plain != format) {
    constexpr int kUnity = 1 << 16;
    sws_setColorspaceDetails(scaler.get(), sws_getCoefficients(SWS_CS_DEFAULT), 1,
                             sws_getCoefficients(SWS_CS_ITU601), 1, 0, kUnity, kUnity);
    frame->color_range = AVCOL_RANGE_JPEG;
  }
  const std::uint8_t* rows[] = {image.row(0)};
  const int strides[] = {static_cast<int>(image.stride())};
  code = sws_scale(scaler.get(), rows, strides, 0, image.height(), frame->data, frame->linesize);
  if (code < 0) return fail(encode_error("preparing the picture", code, log));
  return frame;
}

Result<std::vector<std::uint8_t>> encode(const Image& image, const StillEncoding& encoding) {
  if (image.empty() || image.width() > 65500 || image.height() > 65500) {
    return fail(ErrorCode::Invalid, "a picture of this size cannot be saved",
                "give a picture of 1 to 65500 px a side");
  }
  LogTail log;
  const LogScope scope(log);
  const AVCodec* codec = avcodec_find_encoder_by_name(encoding.encoder);
  const CodecHandle context(codec == nullptr ? nullptr : avcodec_alloc_context3(codec));
  const PacketHandle packet(av_packet_alloc());
  if (!context || !packet) {
    return fail(encode_error("this installation of FFmpeg cannot save pictures",
                             AVERROR_ENCODER_NOT_FOUND, log));
  }
  context->width = image.width();
  context->height = image.height();
  context->pix_fmt = encoding.format;
  context->time_base = AVRational{1, 1};
  context->thread_count = 1;
  context->flags |= AV_CODEC_FLAG_BITEXACT;
  if (encoding.quality_lambda > 0) {
    context->flags |= AV_CODEC_FLAG_QSCALE;
    context->global_quality = encoding.quality_lambda;
    context->qmin = 1;
    context->color_range = AVCOL_RANGE_JPEG;
  }
  int code = avcodec_open2(context.get(), codec, nullptr);
  if (code < 0) return fail(encode_error("opening the encoder", code, log));
  const FrameHandle frame = LINTEL_TRY(to_frame(image, encoding.format, log));
  frame->pts = 0;
  frame->quality = encoding.quality_lambda;
  code = avcodec_send_frame(context.get(), frame.get());
  if (code >= 0) code = avcodec_send_frame(context.get(), nullptr);
  if (code >= 0) code = avcodec_receive_packet(context.get(), packet.get());
  if (code < 0) return fail(encode_error("encoding the picture", code, log));
  return std::vector<std::uint8_t>(packet->data, packet->data + packet->size);
}

Result<void> write_bytes(const std::filesystem::path& path,
                         const std::vector<std::uint8_t>& bytes) {
  PendingFile file = LINTEL_TRY(PendingFile::create(path));
  std::ofstream out(file.path(), std::ios::binary | std::ios::trunc);
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
  out.close();
  if (!out) {
    Error error{ErrorCode::Io,
                "the picture could not be written",
                {},
                "check free space on the disk and try again",
                {}};
    error.with_file(path.string());
    return fail(std::move(error));
  }
  return file.commit();
}

Result<void> write(const std::filesystem::path& path, Result<std::vector<std::uint8_t>> bytes) {
  if (!bytes) {
    Error error = std::move(bytes).error();
    error.with_file(path.string());
    return fail(std::move(error));
  }
  return write_bytes(path, *bytes);
}

}  // namespace

Result<std::vector<std::uint8_t>> encode_png(const Image& image) {
  return encode(image, {"png", AV_PIX_FMT_RGB24});
}

Result<std::vector<std::uint8_t>> encode_jpeg(const Image& image, int quality) {
  if (quality < 1 || quality > 100) {
    return fail(ErrorCode::Invalid, "the JPEG quality is out of range", "choose 1 to 100");
  }
  // FFmpeg's scale runs from 1 (best) to 31; full chroma where quality is asked for.
  const double scale = 31.0 - 30.0 * (quality - 1) / 99.0;
  return encode(image, {"mjpeg", quality >= 85 ? AV_PIX_FMT_YUVJ444P : AV_PIX_FMT_YUVJ420P,
                        static_cast<int>(std::lround(scale * FF_QP2LAMBDA))});
}

Result<void> write_png(const std::filesystem::path& path, const Image& image) {
  return write(path, encode_png(image));
}

Result<void> write_jpeg(const std::filesystem::path& path, const Image& image, int quality) {
  return write(path, encode_jpeg(image, quality));
}

Result<Image> read_still(const std::filesystem::path& path, const ClipLimits& limits) {
  ClipReaderOptions options;
  options.max_long_side_px = 0;
  options.limits = limits;
  ClipReader reader = LINTEL_TRY(ClipReader::open(path, options));
  if (!reader.info().is_still) {
    Error error{ErrorCode::Unsupported,
                "this is a clip, not a photo",
                {},
                "choose a JPEG or PNG photo",
                {}};
    error.with_file(path.string());
    return fail(std::move(error));
  }
  DecodedFrame frame;
  LINTEL_TRY(reader.next_into(frame));
  return std::move(frame.image);
}

}  // namespace lintel::media
