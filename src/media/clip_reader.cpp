#include "media/clip_reader.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "media/byte_source.h"
#include "media/container.h"
#include "media/ffmpeg_handles.h"
#include "media/frame_converter.h"
#include "media/frame_times.h"
#include "media/log_tail.h"
#include "media/orientation.h"

extern "C" {
#include <libavutil/pixdesc.h>
}

namespace lintel::media {
namespace {

constexpr double kSeekWorthwhile_s = 2.0;
constexpr int kMaxDrainFailures = 1000;
constexpr const char* kCopyAgain = "copy the whole clip from the phone or camera again";

double ratio(AVRational value) {
  return value.num > 0 && value.den > 0 ? static_cast<double>(value.num) / value.den : 0.0;
}

// Stored size stretched to square pixels. The longer reading wins, so that no detail is lost.
std::pair<double, double> square_pixel_size(int width, int height, AVRational aspect) {
  const double a = ratio(aspect);
  if (a < 0.1 || a > 10.0 || a == 1.0) return {width, height};  // absent or nonsense
  if (a > 1.0) return {width * a, height};
  return {width, height / a};
}

int to_px(double length) {
  return std::max(1, static_cast<int>(std::lround(length)));
}

}  // namespace

class ClipReader::Impl {
 public:
  static Result<std::unique_ptr<Impl>> create(Result<std::unique_ptr<ByteSource>> source,
                                              const ClipReaderOptions& options);
  Result<bool> next_into(DecodedFrame& out);

  ClipInfo info;
  ClipTally tally;
  bool variable_rate() const { return times_ && times_->variable_rate(); }

 private:
  Result<void> start();
  Result<void> open_still(StillKind kind);
  Result<void> open_clip();
  Result<void> decode_first_frame();
  Result<void> describe_first_frame();
  void describe_container();
  void jump_to_first_time();
  bool seek(std::int64_t pts);
  Result<bool> decode();
  Result<bool> feed();
  Result<bool> read_packet();
  Result<void> check_same_shape() const;
  Error nothing_decoded() const;
  Error too_large(int width_px, int height_px) const;
  Error in_this_file(Error error);

  ClipReaderOptions options_;
  // Order matters: a decoder logs to watch_, a container reads from source_ until it is closed.
  DecodeWatch watch_;
  std::unique_ptr<ByteSource> source_;
  OpenContainer container_;
  std::vector<std::uint8_t> still_bytes_;
  CodecHandle decoder_;
  PacketHandle packet_;
  FrameHandle frame_;
  FrameConverter converter_;
  std::optional<FrameTimes> times_;
  Orientation orientation_;
  int stored_out_width_ = 0;  // of the converted picture before it is turned upright
  int stored_out_height_ = 0;
  double shape_ = 0.0;          // width / height of the first frame, before it is turned upright
  bool frame_waiting_ = false;  // open() decoded it already
  bool draining_ = false;
  bool still_sent_ = false;
  bool finished_ = false;
  std::int64_t packets_ = 0;
  int drain_failures_ = 0;
};

Result<std::unique_ptr<ClipReader::Impl>> ClipReader::Impl::create(
    Result<std::unique_ptr<ByteSource>> source, const ClipReaderOptions& options) {
  auto impl = std::make_unique<Impl>();
  impl->source_ = LINTEL_TRY(std::move(source));
  impl->options_ = options;
  const LogScope scope(impl->watch_);
  Result<void> started = impl->start();
  if (!started) return fail(impl->in_this_file(std::move(started).error()));
  return impl;
}

Error ClipReader::Impl::in_this_file(Error error) {
  error.with_file(source_->name());
  if (error.code != ErrorCode::Cancelled) watch_.append_to(error);
  return error;
}

Result<void> ClipReader::Impl::start() {
  if (options_.max_long_side_px < 0 || std::isnan(options_.first_time_s) ||
      std::isnan(options_.last_time_s) || options_.last_time_s < options_.first_time_s) {
    return fail(ErrorCode::Invalid, "the size or the times asked for make no sense",
                "give a side of at least 1 px and a last time after the first");
  }
  const StillKind kind = sniff_still(*source_);
  const ClipLimits& limits = options_.limits;
  watch_.max_width_px = limits.max_width_px;
  watch_.max_height_px = limits.max_height_px;
  watch_.max_pixels = kind == StillKind::None ? limits.max_pixels : limits.max_still_pixels;
  packet_.reset(av_packet_alloc());
  frame_.reset(av_frame_alloc());
  if (!packet_ || !frame_) {
    return fail(ErrorCode::Limit, "not enough memory to open the clip", "close other programs");
  }
  if (kind != StillKind::None) {
    LINTEL_TRY_VOID(open_still(kind));
  } else {
    LINTEL_TRY_VOID(open_clip());
  }
  LINTEL_TRY_VOID(decode_first_frame());
  LINTEL_TRY_VOID(describe_first_frame());
  jump_to_first_time();
  return {};
}

Result<void> ClipReader::Impl::open_still(StillKind kind) {
  info.is_still = true;
  info.container = kind == StillKind::Png ? "png" : "jpeg";
  still_bytes_ = LINTEL_TRY(source_->read_all(options_.limits.max_still_bytes));
  tally.ended_early = !still_is_whole(kind, still_bytes_);
  still_bytes_.resize(still_bytes_.size() + AV_INPUT_BUFFER_PADDING_SIZE, 0);
  const AVCodecID codec = kind == StillKind::Png ? AV_CODEC_ID_PNG : AV_CODEC_ID_MJPEG;
  decoder_ = LINTEL_TRY(open_decoder(codec, nullptr, AVRational{1, 1}, options_, watch_));
  times_.emplace(1.0, 1.0);
  return {};
}

Result<void> ClipReader::Impl::open_clip() {
  container_ = LINTEL_TRY(open_container(*source_, options_));
  const AVStream& stream = *container_.video;
  if (container_.encrypted) {
    return fail(ErrorCode::Denied, "the clip is encrypted",
                "export it without copy protection from where it was recorded");
  }
  const AVCodecParameters& parameters = *stream.codecpar;
  if (!watch_.allows(parameters.width, parameters.height)) {
    return fail(too_large(parameters.width, parameters.height));
  }
  decoder_ = LINTEL_TRY(
      open_decoder(parameters.codec_id, &parameters, stream.time_base, options_, watch_));
  describe_container();
  times_.emplace(av_q2d(stream.time_base),
                 info.nominal_rate_hz > 0.0 ? 1.0 / info.nominal_rate_hz : 0.0);
  return {};
}

void ClipReader::Impl::describe_container() {
  const AVStream& stream = *container_.video;
  info.container = container_.name;
  info.has_audio = container_.has_audio;
  info.time_base_numerator = stream.time_base.num;
  info.time_base_denominator = stream.time_base.den;
  for (const AVRational rate : {stream.avg_frame_rate, stream.r_frame_rate}) {
    const double hz = ratio(rate);
    if (info.nominal_rate_hz == 0.0 && hz >= 0.1 && hz <= 2000.0) info.nominal_rate_hz = hz;
  }
  double duration = 0.0;
  if (stream.duration != AV_NOPTS_VALUE && stream.duration > 0) {
    duration = static_cast<double>(stream.duration) * av_q2d(stream.time_base);
  } else if (container_.format->duration != AV_NOPTS_VALUE && container_.format->duration > 0) {
    duration = static_cast<double>(container_.format->duration) / AV_TIME_BASE;
  }
  constexpr double kWeek_s = 7 * 24 * 3600.0;
  if (std::isfinite(duration) && duration < kWeek_s) info.duration_s = duration;
  info.frame_count_estimate = stream.nb_frames > 0
                                  ? stream.nb_frames
                                  : std::llround(info.duration_s * info.nominal_rate_hz);
}

Result<void> ClipReader::Impl::decode_first_frame() {
  if (!LINTEL_TRY(decode())) return fail(nothing_decoded());
  frame_waiting_ = true;
  return {};
}

Result<void> ClipReader::Impl::describe_first_frame() {
  const AVFrame& frame = *frame_;
  std::optional<Orientation> orientation = orientation_of_frame(frame);
  if (!orientation && container_.video != nullptr) {
    orientation = orientation_of_stream(*container_.video);
  }
  orientation_ = orientation.value_or(Orientation{});
  const AVRational aspect =
      container_.video == nullptr
          ? frame.sample_aspect_ratio
          : av_guess_sample_aspect_ratio(container_.format.get(), container_.video, frame_.get());
  const auto [width, height] = square_pixel_size(frame.width, frame.height, aspect);
  if (to_px(width) > options_.limits.max_width_px ||
      to_px(height) > options_.limits.max_height_px) {
    return fail(too_large(to_px(width), to_px(height)));
  }
  const double longer = std::max(width, height);
  const double factor = options_.max_long_side_px > 0 && longer > options_.max_long_side_px
                            ? options_.max_long_side_px / longer
                            : 1.0;
  stored_out_width_ = to_px(width * factor);
  stored_out_height_ = to_px(height * factor);
  shape_ = static_cast<double>(frame.width) / frame.height;

  const bool swap = orientation_.swaps_sides();
  info.source_width_px = to_px(swap ? height : width);
  info.source_height_px = to_px(swap ? width : height);
  info.width_px = swap ? stored_out_height_ : stored_out_width_;
  info.height_px = swap ? stored_out_width_ : stored_out_height_;
  info.scale = factor;
  info.rotation_deg = orientation_.quarter_turns * 90;
  info.mirrored = orientation_.mirrored;
  info.codec = avcodec_get_name(decoder_->codec_id);
  const AVPixFmtDescriptor* description =
      av_pix_fmt_desc_get(static_cast<AVPixelFormat>(frame.format));
  if (description != nullptr) info.bit_depth = description->comp[0].depth;
  info.full_range = is_full_range(frame);
  info.high_dynamic_range =
      frame.color_trc == AVCOL_TRC_SMPTE2084 || frame.color_trc == AVCOL_TRC_ARIB_STD_B67;
  if (info.is_still) info.frame_count_estimate = 1;
  return {};
}

// Skips to the key frame before first_time_s where that saves time. Where it does not work out,
// frames are decoded from the start and dropped instead, with the same outcome.
void ClipReader::Impl::jump_to_first_time() {
  if (info.is_still || options_.first_time_s < kSeekWorthwhile_s || container_.name == "avi" ||
      frame_->best_effort_timestamp == AV_NOPTS_VALUE) {
    return;
  }
  const double tick = av_q2d(container_.video->time_base);
  const std::int64_t origin = frame_->best_effort_timestamp;
  const double target = static_cast<double>(origin) + options_.first_time_s / tick;
  if (!(target < 4e18)) return;
  if (!seek(static_cast<std::int64_t>(target))) return;  // the first frame still waits
  const ClipTally before = tally;
  const Result<bool> decoded = decode();
  if (decoded && *decoded && frame_->best_effort_timestamp != AV_NOPTS_VALUE &&
      static_cast<double>(frame_->best_effort_timestamp - origin) * tick <= options_.first_time_s) {
    times_->add(origin);
    times_->forget_last();
    return;
  }
  tally = before;
  frame_waiting_ = false;
  seek(origin);
}

bool ClipReader::Impl::seek(std::int64_t pts) {
  if (av_seek_frame(container_.format.get(), container_.video->index, pts, AVSEEK_FLAG_BACKWARD) <
      0) {
    return false;
  }
  avcodec_flush_buffers(decoder_.get());
  draining_ = false;
  return true;
}

// One packet of the video stream into packet_: false at the end of the file.
Result<bool> ClipReader::Impl::read_packet() {
  if (info.is_still) {
    if (std::exchange(still_sent_, true)) return false;
    packet_->data = still_bytes_.data();
    packet_->size = static_cast<int>(still_bytes_.size()) - AV_INPUT_BUFFER_PADDING_SIZE;
    packet_->flags |= AV_PKT_FLAG_KEY;
    return true;
  }
  for (;;) {
    if (options_.stop.stop_requested()) return fail(stopped_error());
    if (++packets_ > options_.limits.max_frames) {
      return fail(
          ErrorCode::Limit,
          "the clip holds more than " + std::to_string(options_.limits.max_frames) + " frames",
          "cut the clip to the part with the lift");
    }
    av_packet_unref(packet_.get());
    const int code = av_read_frame(container_.format.get(), packet_.get());
    if (code == AVERROR_EXIT) return fail(stopped_error());
    if (code == AVERROR(EIO)) {
      return fail(ErrorCode::Io, "the clip could not be read to its end",
                  "copy it to a local disk and try again");
    }
    if (code < 0) {
      if (code != AVERROR_EOF) tally.ended_early = true;
      return false;
    }
    if (packet_->stream_index != container_.video->index) continue;
    if (av_packet_get_side_data(packet_.get(), AV_PKT_DATA_ENCRYPTION_INFO, nullptr) != nullptr) {
      return fail(ErrorCode::Denied, "the clip is encrypted",
                  "export it without copy protection from where it was recorded");
    }
    // The demuxer marks a packet that the file cuts short.
    if ((packet_->flags & AV_PKT_FLAG_CORRUPT) != 0) {
      tally.ended_early = true;
      ++tally.corrupt_skipped;
      continue;
    }
    return true;
  }
}

// Gives the decoder its next packet; false when all of it is given.
Result<bool> ClipReader::Impl::feed() {
  if (draining_) return false;
  if (!LINTEL_TRY(read_packet())) {
    draining_ = true;
    avcodec_send_packet(decoder_.get(), nullptr);
    return true;
  }
  const int code = avcodec_send_packet(decoder_.get(), packet_.get());
  if (info.is_still) {
    packet_->data = nullptr;  // ours, not the packet's
    packet_->size = 0;
  }
  av_packet_unref(packet_.get());
  if (code == AVERROR(ENOMEM)) {
    return fail(ErrorCode::Limit, "not enough memory to decode the clip",
                "re-encode the clip in a smaller size, or close other programs");
  }
  if (code < 0) ++tally.corrupt_skipped;
  return true;
}

// The next clean frame into frame_: false at the end.
Result<bool> ClipReader::Impl::decode() {
  for (;;) {
    av_frame_unref(frame_.get());
    const int code = avcodec_receive_frame(decoder_.get(), frame_.get());
    if (watch_.refused_width_px != 0) {
      return fail(too_large(watch_.refused_width_px, watch_.refused_height_px));
    }
    if (code == AVERROR_EOF) return false;
    if (code == 0) {
      if ((frame_->flags & AV_FRAME_FLAG_CORRUPT) != 0 || frame_->decode_error_flags != 0) {
        ++tally.corrupt_skipped;
        continue;
      }
      return true;
    }
    if (code == AVERROR(ENOMEM)) {
      return fail(ErrorCode::Limit, "not enough memory to decode the clip",
                  "re-encode the clip in a smaller size, or close other programs");
    }
    if (code != AVERROR(EAGAIN)) ++tally.corrupt_skipped;
    // A decoder that neither gives frames nor ends while it is drained has ended for us.
    if (!LINTEL_TRY(feed()) && ++drain_failures_ > kMaxDrainFailures) return false;
  }
}

Result<void> ClipReader::Impl::check_same_shape() const {
  const double shape = static_cast<double>(frame_->width) / frame_->height;
  if (std::abs(shape / shape_ - 1.0) < 0.02) return {};
  return fail(ErrorCode::Unsupported, "the picture changes its shape in the middle of the clip",
              "cut the clip where the picture changes and give the parts one by one");
}

Result<bool> ClipReader::Impl::next_into(DecodedFrame& out) {
  const LogScope scope(watch_);
  while (!finished_) {
    if (options_.stop.stop_requested()) return fail(in_this_file(stopped_error()));
    if (!std::exchange(frame_waiting_, false)) {
      Result<bool> decoded = decode();
      if (!decoded) return fail(in_this_file(std::move(decoded).error()));
      if (!*decoded) break;
    }
    const std::optional<std::int64_t> pts =
        frame_->best_effort_timestamp == AV_NOPTS_VALUE
            ? std::nullopt
            : std::optional<std::int64_t>(frame_->best_effort_timestamp);
    const FrameTime time = times_->add(pts);
    tally.times_repaired = info.is_still ? 0 : times_->repaired_count();
    tally.shortest_interval_s = times_->shortest_interval_s();
    tally.longest_interval_s = times_->longest_interval_s();
    tally.mean_rate_hz = times_->mean_interval_s() > 0.0 ? 1.0 / times_->mean_interval_s() : 0.0;
    if (time.time_s < options_.first_time_s) continue;
    if (time.time_s > options_.last_time_s) {
      finished_ = true;
      return false;
    }
    Result<void> converted = check_same_shape();
    if (converted) {
      converted = converter_.convert(*frame_, stored_out_width_, stored_out_height_, orientation_,
                                     out.image);
    }
    if (!converted) {
      Error error = std::move(converted).error();
      error.place.frame = tally.frames_delivered;
      return fail(in_this_file(std::move(error)));
    }
    out.index = tally.frames_delivered++;
    out.time_s = time.time_s;
    out.pts = pts;
    out.time_repaired = time.repaired && !info.is_still;
    return true;
  }
  finished_ = true;
  return false;
}

Error ClipReader::Impl::nothing_decoded() const {
  if (info.is_still) {
    return Error{ErrorCode::Invalid,
                 "the photo is damaged or cut off",
                 {},
                 "copy the photo from the phone or camera again",
                 {}};
  }
  if (packets_ <= 1)
    return Error{ErrorCode::Invalid, "the clip holds no frames", {}, kCopyAgain, {}};
  return Error{ErrorCode::Invalid,
               "no frame of the clip can be decoded",
               {},
               "copy the whole clip again; if it plays elsewhere, re-encode it as H.264",
               {}};
}

Error ClipReader::Impl::too_large(int width_px, int height_px) const {
  return Error{ErrorCode::Limit,
               "the picture is " + std::to_string(width_px) + " x " + std::to_string(height_px) +
                   " px; at most " + std::to_string(options_.limits.max_width_px) + " x " +
                   std::to_string(options_.limits.max_height_px) + " and " +
                   std::to_string(watch_.max_pixels) + " px in all are read",
               {},
               "save it in a smaller size: 1920 x 1080 is plenty",
               {}};
}

ClipReader::ClipReader(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
ClipReader::ClipReader(ClipReader&&) noexcept = default;
ClipReader& ClipReader::operator=(ClipReader&&) noexcept = default;
ClipReader::~ClipReader() = default;

Result<ClipReader> ClipReader::open(const std::filesystem::path& path,
                                    const ClipReaderOptions& options) {
  return ClipReader(LINTEL_TRY(Impl::create(ByteSource::open_file(path), options)));
}

Result<ClipReader> ClipReader::open_memory(std::span<const std::uint8_t> bytes, std::string name,
                                           const ClipReaderOptions& options) {
  return ClipReader(
      LINTEL_TRY(Impl::create(ByteSource::from_memory(bytes, std::move(name)), options)));
}

const ClipInfo& ClipReader::info() const {
  return impl_->info;
}
const ClipTally& ClipReader::tally() const {
  return impl_->tally;
}
bool ClipReader::variable_rate() const {
  return impl_->variable_rate();
}

Result<bool> ClipReader::next_into(DecodedFrame& frame) {
  return impl_->next_into(frame);
}

Result<std::optional<DecodedFrame>> ClipReader::next() {
  DecodedFrame frame;
  if (!LINTEL_TRY(impl_->next_into(frame))) return std::nullopt;
  return std::optional<DecodedFrame>(std::move(frame));
}

}  // namespace lintel::media
