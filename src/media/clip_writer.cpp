#include "media/clip_writer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "media/ffmpeg_handles.h"
#include "media/log_tail.h"
#include "media/orientation.h"
#include "media/pending_file.h"

namespace lintel::media {
namespace {

constexpr AVRational kTick = {1, 90000};

struct CodecChoice {
  std::array<const char*, 2> encoders;  // the first one that this FFmpeg has
  int default_quality;
  int lowest_quality;
  int highest_quality;
};

CodecChoice choice_of(ClipCodec codec) {
  switch (codec) {
    case ClipCodec::H264:
      return {{"libx264", nullptr}, 20, 0, 51};
    case ClipCodec::Hevc:
      return {{"libx265", nullptr}, 22, 0, 51};
    case ClipCodec::Vp9:
      return {{"libvpx-vp9", nullptr}, 24, 0, 63};
    // libaom first: SVT-AV1 writes to the terminal whatever it is told.
    case ClipCodec::Av1:
      return {{"libaom-av1", "libsvtav1"}, 24, 0, 63};
    case ClipCodec::Mjpeg:
      return {{"mjpeg", nullptr}, 3, 2, 31};
  }
  return {{nullptr, nullptr}, 0, 0, 0};
}

// FFmpeg's name of the container for a suffix; empty if Lintel does not write it.
std::string muxer_of(const std::filesystem::path& path) {
  std::string suffix = path.extension().string();
  std::transform(suffix.begin(), suffix.end(), suffix.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (suffix == ".mp4") return "mp4";
  if (suffix == ".mov") return "mov";
  if (suffix == ".mkv") return "matroska";
  if (suffix == ".webm") return "webm";
  return "";
}

Result<void> check_options(const ClipWriterOptions& o, const std::string& muxer) {
  const auto invalid = [](std::string message, std::string mend) {
    return fail(ErrorCode::Invalid, std::move(message), std::move(mend));
  };
  if (muxer.empty()) {
    return fail(ErrorCode::Unsupported, "clips are not written with this suffix",
                "name the clip .mp4, .mov, .mkv or .webm");
  }
  if (o.width_px < 16 || o.height_px < 16 || o.width_px > 8192 || o.height_px > 8192 ||
      o.width_px % 2 != 0 || o.height_px % 2 != 0) {
    return invalid("a clip cannot be " + std::to_string(o.width_px) + " x " +
                       std::to_string(o.height_px) + " px",
                   "choose even sides between 16 and 8192 px");
  }
  if (!(o.nominal_rate_hz >= 0.1 && o.nominal_rate_hz <= 1000.0)) {
    return invalid("the nominal rate is out of range", "choose 0.1 to 1000 frames a second");
  }
  if (o.bit_depth != 8 && (o.bit_depth != 10 || o.codec == ClipCodec::Mjpeg)) {
    return fail(ErrorCode::Unsupported, "this codec is not written with this bit depth",
                "choose 8 bit, or 10 bit with H.264, HEVC, VP9 or AV1");
  }
  if (o.rotation_deg % 90 != 0 || o.rotation_deg < 0 || o.rotation_deg > 270) {
    return invalid("the rotation is not a quarter turn", "choose 0, 90, 180 or 270 degrees");
  }
  if ((o.rotation_deg != 0 || o.mirrored) && muxer != "mp4" && muxer != "mov") {
    return fail(ErrorCode::Unsupported, "this container cannot carry a rotation",
                "write an mp4 or mov file, or turn the pictures themselves");
  }
  if (muxer == "webm" && o.codec != ClipCodec::Vp9 && o.codec != ClipCodec::Av1) {
    return fail(ErrorCode::Unsupported, "a webm file holds VP9 or AV1 only",
                "choose one of these codecs, or write mp4 or mkv");
  }
  if (o.picture_width_px < 0 || o.picture_height_px < 0 || o.picture_width_px > 8192 ||
      o.picture_height_px > 8192 || (o.picture_width_px == 0) != (o.picture_height_px == 0)) {
    return invalid("the pictures cannot have this size", "choose sides between 1 and 8192 px");
  }
  if (o.key_interval && (*o.key_interval < 1 || *o.key_interval > 1000)) {
    return invalid("the interval of key frames is out of range", "choose 1 to 1000 frames");
  }
  const CodecChoice choice = choice_of(o.codec);
  if (o.quality && (*o.quality < choice.lowest_quality || *o.quality > choice.highest_quality)) {
    return invalid("the quality is out of range",
                   "choose " + std::to_string(choice.lowest_quality) + " to " +
                       std::to_string(choice.highest_quality));
  }
  return {};
}

AVPixelFormat pixel_format_of(const ClipWriterOptions& o) {
  if (o.codec == ClipCodec::Mjpeg) return AV_PIX_FMT_YUVJ420P;
  return o.bit_depth == 10 ? AV_PIX_FMT_YUV420P10LE : AV_PIX_FMT_YUV420P;
}

void choose_speed(const ClipWriterOptions& o, const std::string& encoder, Dictionary& settings) {
  const std::string quality =
      std::to_string(o.quality.value_or(choice_of(o.codec).default_quality));
  if (encoder != "mjpeg") settings.set("crf", quality);
  if (encoder == "libx264") {
    settings.set("preset", o.fast ? "ultrafast" : "medium");
  } else if (encoder == "libx265") {
    settings.set("preset", o.fast ? "ultrafast" : "fast");
    settings.set("x265-params", "log-level=none:info=0:pools=" + std::to_string(o.encoder_threads) +
                                    ":frame-threads=1");
  } else if (encoder == "libvpx-vp9") {
    settings.set("b", "0");  // quality alone decides
    settings.set("deadline", o.fast ? "realtime" : "good");
    settings.set("cpu-used", o.fast ? "8" : "4");
  } else if (encoder == "libaom-av1") {
    settings.set("usage", o.fast ? "realtime" : "good");
    settings.set("cpu-used", o.fast ? "8" : "6");
  } else if (encoder == "libsvtav1") {
    settings.set("preset", o.fast ? "12" : "8");
  }
}

}  // namespace

class ClipWriter::Impl {
 public:
  Impl(PendingFile file, const ClipWriterOptions& options)
      : file_(std::move(file)), options_(options) {}
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;
  ~Impl() { close(); }

  Result<void> start(const std::string& muxer);
  Result<void> add(const Image& image, double time_s);
  Result<void> finish();

 private:
  Result<void> open_encoder(const std::string& muxer);
  Result<void> encode(const AVFrame* frame);
  Result<void> check(int code, const char* what);
  void close();
  int picture_width() const {
    return options_.picture_width_px > 0 ? options_.picture_width_px : options_.width_px;
  }
  int picture_height() const {
    return options_.picture_height_px > 0 ? options_.picture_height_px : options_.height_px;
  }

  LogTail log_;
  PendingFile file_;
  ClipWriterOptions options_;
  AVFormatContext* format_ = nullptr;
  AVStream* stream_ = nullptr;
  CodecHandle encoder_;
  FrameHandle frame_;
  PacketHandle packet_;
  ScalerHandle scaler_;
  std::optional<double> first_time_;
  std::int64_t last_pts_ = -1;
  bool closed_ = false;
};

void ClipWriter::Impl::close() {
  encoder_.reset();
  if (format_ != nullptr) {
    avio_closep(&format_->pb);
    avformat_free_context(format_);
    format_ = nullptr;
  }
}

Result<void> ClipWriter::Impl::check(int code, const char* what) {
  if (code >= 0) return {};
  Error error{ErrorCode::Io,
              std::string(what) + ": " + ffmpeg_error_text(code),
              {},
              "check free space on the disk and try again",
              {}};
  error.with_file(file_.target().string());
  log_.append_to(error);
  return fail(std::move(error));
}

Result<void> ClipWriter::Impl::open_encoder(const std::string& muxer) {
  const CodecChoice choice = choice_of(options_.codec);
  const AVCodec* codec = nullptr;
  for (const char* name : choice.encoders) {
    if (codec == nullptr && name != nullptr) codec = avcodec_find_encoder_by_name(name);
  }
  if (codec == nullptr) {
    return fail(ErrorCode::Unsupported, "this installation of FFmpeg has no encoder for the codec",
                "choose H.264 or MJPEG, or install FFmpeg with the encoder");
  }
  encoder_.reset(avcodec_alloc_context3(codec));
  if (!encoder_) return check(AVERROR(ENOMEM), "opening the encoder");
  const bool is_mjpeg = options_.codec == ClipCodec::Mjpeg;
  encoder_->opaque = &log_;
  encoder_->width = options_.width_px;
  encoder_->height = options_.height_px;
  encoder_->pix_fmt = pixel_format_of(options_);
  encoder_->time_base = kTick;
  encoder_->framerate = av_d2q(options_.nominal_rate_hz, 1001000);
  encoder_->thread_count = std::clamp(options_.encoder_threads, 1, 16);
  encoder_->colorspace = is_mjpeg ? AVCOL_SPC_BT470BG : AVCOL_SPC_BT709;
  encoder_->color_range = is_mjpeg ? AVCOL_RANGE_JPEG : AVCOL_RANGE_MPEG;
  encoder_->color_primaries = AVCOL_PRI_BT709;
  encoder_->color_trc = AVCOL_TRC_BT709;
  encoder_->flags |= AV_CODEC_FLAG_BITEXACT;
  if (options_.key_interval && !is_mjpeg) {
    encoder_->gop_size = *options_.key_interval;
    encoder_->max_b_frames = 0;
  }
  if ((format_->oformat->flags & AVFMT_GLOBALHEADER) != 0) {
    encoder_->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  }
  // Apple's players know HEVC in mp4 by this tag only.
  if (options_.codec == ClipCodec::Hevc && muxer != "matroska") {
    encoder_->codec_tag = MKTAG('h', 'v', 'c', '1');
  }
  if (is_mjpeg) {
    encoder_->flags |= AV_CODEC_FLAG_QSCALE;
    encoder_->global_quality = FF_QP2LAMBDA * options_.quality.value_or(choice.default_quality);
  }
  Dictionary settings;
  choose_speed(options_, codec->name, settings);
  return check(avcodec_open2(encoder_.get(), codec, settings.out()), "opening the encoder");
}

Result<void> ClipWriter::Impl::start(const std::string& muxer) {
  const LogScope scope(log_);
  // "file:" keeps a name with a colon from being read as an address.
  const std::string url = "file:" + file_.path().string();
  LINTEL_TRY_VOID(
      check(avformat_alloc_output_context2(&format_, nullptr, muxer.c_str(), url.c_str()),
            "preparing the container"));
  format_->flags |= AVFMT_FLAG_BITEXACT;
  LINTEL_TRY_VOID(open_encoder(muxer));
  stream_ = avformat_new_stream(format_, nullptr);
  if (stream_ == nullptr) return check(AVERROR(ENOMEM), "preparing the container");
  stream_->time_base = kTick;
  stream_->avg_frame_rate = encoder_->framerate;
  LINTEL_TRY_VOID(check(avcodec_parameters_from_context(stream_->codecpar, encoder_.get()),
                        "preparing the container"));
  if (options_.rotation_deg != 0 || options_.mirrored) {
    auto* matrix = reinterpret_cast<std::int32_t*>(
        av_stream_new_side_data(stream_, AV_PKT_DATA_DISPLAYMATRIX, 9 * sizeof(std::int32_t)));
    if (matrix == nullptr) return check(AVERROR(ENOMEM), "preparing the container");
    orientation_to_matrix({options_.rotation_deg / 90, options_.mirrored}, matrix);
  }
  LINTEL_TRY_VOID(check(avio_open(&format_->pb, url.c_str(), AVIO_FLAG_WRITE), "opening the file"));
  Dictionary settings;
  if (muxer == "mp4" || muxer == "mov") settings.set("movflags", "+faststart");
  LINTEL_TRY_VOID(check(avformat_write_header(format_, settings.out()), "writing the clip's head"));

  frame_.reset(av_frame_alloc());
  packet_.reset(av_packet_alloc());
  if (!frame_ || !packet_) return check(AVERROR(ENOMEM), "preparing the encoder");
  frame_->format = encoder_->pix_fmt;
  frame_->width = encoder_->width;
  frame_->height = encoder_->height;
  frame_->colorspace = encoder_->colorspace;
  frame_->color_range = encoder_->color_range;
  LINTEL_TRY_VOID(check(av_frame_get_buffer(frame_.get(), 0), "preparing the encoder"));
  const bool full_range = encoder_->color_range == AVCOL_RANGE_JPEG;
  const AVPixelFormat format =
      encoder_->pix_fmt == AV_PIX_FMT_YUVJ420P ? AV_PIX_FMT_YUV420P : encoder_->pix_fmt;
  scaler_.reset(sws_getContext(
      picture_width(), picture_height(), AV_PIX_FMT_BGR24, encoder_->width, encoder_->height,
      format, SWS_BICUBIC | SWS_ACCURATE_RND | SWS_FULL_CHR_H_INP, nullptr, nullptr, nullptr));
  if (!scaler_) return check(AVERROR(ENOMEM), "preparing the encoder");
  constexpr int kUnity = 1 << 16;
  sws_setColorspaceDetails(scaler_.get(), sws_getCoefficients(SWS_CS_DEFAULT), 1,
                           sws_getCoefficients(full_range ? SWS_CS_ITU601 : SWS_CS_ITU709),
                           full_range ? 1 : 0, 0, kUnity, kUnity);
  return {};
}

Result<void> ClipWriter::Impl::add(const Image& image, double time_s) {
  const LogScope scope(log_);
  const auto invalid = [this](std::string message, std::string mend) {
    Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
    error.with_file(file_.target().string());
    return fail(std::move(error));
  };
  if (closed_) return invalid("the clip is finished", "start a new clip");
  if (image.width() != picture_width() || image.height() != picture_height()) {
    return invalid("the picture's size differs from the clip's",
                   "give every picture the size stated at the start");
  }
  if (!std::isfinite(time_s) || std::abs(time_s) > 1e7) {
    return invalid("the time of the picture makes no sense", "give seconds");
  }
  if (!first_time_) first_time_ = time_s;
  const std::int64_t pts = std::llround((time_s - *first_time_) * kTick.den);
  if (pts <= last_pts_) {
    return invalid("the time of the picture is not after the one before",
                   "give the pictures in the order of their times");
  }
  LINTEL_TRY_VOID(check(av_frame_make_writable(frame_.get()), "encoding a frame"));
  const std::uint8_t* rows[] = {image.row(0)};
  const int strides[] = {static_cast<int>(image.stride())};
  sws_scale(scaler_.get(), rows, strides, 0, image.height(), frame_->data, frame_->linesize);
  frame_->pts = last_pts_ = pts;
  // The encoder's own choice of picture type, not the one of the frame before.
  frame_->pict_type = AV_PICTURE_TYPE_NONE;
  if (options_.codec == ClipCodec::Mjpeg) frame_->quality = encoder_->global_quality;
  return encode(frame_.get());
}

Result<void> ClipWriter::Impl::encode(const AVFrame* frame) {
  LINTEL_TRY_VOID(check(avcodec_send_frame(encoder_.get(), frame), "encoding a frame"));
  for (;;) {
    const int code = avcodec_receive_packet(encoder_.get(), packet_.get());
    if (code == AVERROR(EAGAIN) || code == AVERROR_EOF) return {};
    LINTEL_TRY_VOID(check(code, "encoding a frame"));
    packet_->stream_index = stream_->index;
    if (packet_->duration == 0) {
      packet_->duration = std::llround(kTick.den / options_.nominal_rate_hz);
    }
    av_packet_rescale_ts(packet_.get(), encoder_->time_base, stream_->time_base);
    LINTEL_TRY_VOID(check(av_interleaved_write_frame(format_, packet_.get()), "writing a frame"));
  }
}

Result<void> ClipWriter::Impl::finish() {
  const LogScope scope(log_);
  if (closed_ || !first_time_) {
    Error error{ErrorCode::Invalid,
                closed_ ? "the clip is finished" : "the clip has no frame",
                {},
                closed_ ? "start a new clip" : "add at least one picture",
                {}};
    error.with_file(file_.target().string());
    return fail(std::move(error));
  }
  closed_ = true;
  LINTEL_TRY_VOID(encode(nullptr));
  LINTEL_TRY_VOID(check(av_write_trailer(format_), "writing the clip's end"));
  LINTEL_TRY_VOID(check(avio_closep(&format_->pb), "closing the file"));
  close();
  return file_.commit();
}

ClipWriter::ClipWriter(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
ClipWriter::ClipWriter(ClipWriter&&) noexcept = default;
ClipWriter& ClipWriter::operator=(ClipWriter&&) noexcept = default;
ClipWriter::~ClipWriter() = default;

Result<ClipWriter> ClipWriter::create(const std::filesystem::path& path,
                                      const ClipWriterOptions& options) {
  const auto in_this_file = [&path](Error error) {
    error.with_file(path.string());
    return fail(std::move(error));
  };
  const std::string muxer = muxer_of(path);
  Result<void> checked = check_options(options, muxer);
  if (!checked) return in_this_file(std::move(checked).error());
  auto impl = std::make_unique<Impl>(LINTEL_TRY(PendingFile::create(path)), options);
  Result<void> started = impl->start(muxer);
  if (!started) return in_this_file(std::move(started).error());
  return ClipWriter(std::move(impl));
}

Result<void> ClipWriter::add(const Image& image, double time_s) {
  return impl_->add(image, time_s);
}

Result<void> ClipWriter::finish() {
  return impl_->finish();
}

}  // namespace lintel::media
