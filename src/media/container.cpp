#include "media/container.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <cstring>
#include <string_view>
#include <thread>
#include <vector>

extern "C" {
#include <libavutil/mem.h>
}

namespace lintel::media {
namespace {

constexpr const char* kFormats = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi";
constexpr const char* kDecoders = "h264,hevc,vp8,vp9,libdav1d,libaom-av1,mjpeg,png,mpeg4,prores";
constexpr const char* kReencode = "re-encode the clip as H.264 in an mp4 file";
constexpr std::size_t kProbeBytes = 256 * 1024;
constexpr int kMaxStreams = 64;
constexpr std::size_t kMaxAllocationBytes = std::size_t{1} << 30;

// Nothing in a container may name another file or an address.
int refuse_other_files(AVFormatContext*, AVIOContext**, const char*, int, AVDictionary**) {
  return AVERROR(EPERM);
}

// Which of FFmpeg's formats the bytes look like; null if none with confidence.
const AVInputFormat* probe(const ByteSource& source) {
  std::vector<std::uint8_t> head(static_cast<std::size_t>(std::min<std::int64_t>(
                                     source.size(), static_cast<std::int64_t>(kProbeBytes))) +
                                 AVPROBE_PADDING_SIZE);
  const std::int64_t got = source.read_at(0, {head.data(), head.size() - AVPROBE_PADDING_SIZE});
  if (got <= 0) return nullptr;
  AVProbeData data = {};
  data.filename = "";
  data.buf = head.data();
  data.buf_size = static_cast<int>(got);
  int score = 0;
  const AVInputFormat* format = av_probe_input_format3(&data, 1, &score);
  return score > AVPROBE_SCORE_RETRY ? format : nullptr;
}

// Photos that share the mp4 container (ISO/IEC 23008-12); FFmpeg 5.1 does not put them together.
bool is_heif(const ByteSource& source) {
  std::array<std::uint8_t, 12> head = {};
  source.read_at(0, head);
  const std::string_view text(reinterpret_cast<const char*>(head.data()), head.size());
  if (text.substr(4, 4) != "ftyp") return false;
  for (const char* brand : {"heic", "heix", "heim", "heis", "mif1", "avif"}) {
    if (text.substr(8, 4) == brand) return true;
  }
  return false;
}

bool is_allowed(const AVInputFormat& format) {
  return std::strcmp(format.name, "mov,mp4,m4a,3gp,3g2,mj2") == 0 ||
         std::strcmp(format.name, "matroska,webm") == 0 || std::strcmp(format.name, "avi") == 0;
}

std::string container_name(const AVFormatContext& format, const ByteSource& source) {
  const std::string name = format.iformat->name;
  if (name == "avi") return name;
  if (name == "matroska,webm") {
    std::array<std::uint8_t, 64> head = {};
    source.read_at(0, head);
    const std::string_view text(reinterpret_cast<const char*>(head.data()), head.size());
    return text.find("webm") != std::string_view::npos ? "webm" : "matroska";
  }
  const AVDictionaryEntry* brand = av_dict_get(format.metadata, "major_brand", nullptr, 0);
  return brand == nullptr || std::strncmp(brand->value, "qt", 2) == 0 ? "mov" : "mp4";
}

Error open_failure(int code, const AVInputFormat& format) {
  if (code == AVERROR_EXIT) return stopped_error();
  if (code == AVERROR(ENOMEM)) {
    return Error{ErrorCode::Limit,
                 "the index of the clip needs too much memory",
                 {},
                 "cut the clip shorter, or re-encode it",
                 {}};
  }
  if (code == AVERROR(EIO)) {
    return Error{ErrorCode::Io,
                 "the clip could not be read",
                 {},
                 "copy it to a local disk and try again",
                 {}};
  }
  Error error{ErrorCode::Invalid, "", {}, "", {}};
  if (std::strncmp(format.name, "mov", 3) == 0) {
    error.message = "the clip's table of contents is missing or damaged (mp4/mov, moov box)";
    error.mend =
        "copy the whole clip from the phone again; a recording or transfer that was "
        "interrupted ends like this";
  } else {
    error.message = "the head of the clip is damaged: " + ffmpeg_error_text(code);
    error.mend = "copy the whole clip again, or re-encode it as H.264 in an mp4 file";
  }
  return error;
}

bool has_encryption_data(const AVStream& stream) {
  return av_stream_get_side_data(&stream, AV_PKT_DATA_ENCRYPTION_INIT_INFO, nullptr) != nullptr;
}

// Largest picture wins; cover pictures of audio files do not count.
AVStream* choose_video(AVFormatContext& format) {
  AVStream* best = nullptr;
  std::int64_t best_pixels = -1;
  for (unsigned i = 0; i < format.nb_streams; ++i) {
    AVStream* stream = format.streams[i];
    if (stream->codecpar->codec_type != AVMEDIA_TYPE_VIDEO) continue;
    if ((stream->disposition & AV_DISPOSITION_ATTACHED_PIC) != 0) continue;
    const std::int64_t pixels = static_cast<std::int64_t>(std::max(stream->codecpar->width, 0)) *
                                std::max(stream->codecpar->height, 0);
    if (pixels > best_pixels) {
      best = stream;
      best_pixels = pixels;
    }
  }
  return best;
}

// Fills in what the headers leave out (rates). Its own short-lived decoders get our limits too;
// failing here is no error: reading the frames will tell.
void find_stream_details(AVFormatContext& format, const ClipReaderOptions& options) {
  std::vector<AVDictionary*> per_stream(format.nb_streams, nullptr);
  for (AVDictionary*& entries : per_stream) {
    av_dict_set(&entries, "threads", "1", 0);
    av_dict_set_int(&entries, "max_pixels", options.limits.max_pixels, 0);
  }
  const std::size_t count = per_stream.size();
  avformat_find_stream_info(&format, per_stream.empty() ? nullptr : per_stream.data());
  for (std::size_t i = 0; i < count; ++i) av_dict_free(&per_stream[i]);
}

Error no_video_error(const AVFormatContext& format, bool has_audio) {
  if (has_audio) {
    return Error{ErrorCode::Unsupported,
                 "the file holds sound but no pictures",
                 {},
                 "choose the video file of this recording",
                 {}};
  }
  if (format.nb_streams > 0) {
    return Error{ErrorCode::Unsupported,
                 "the file holds no video",
                 {},
                 "choose the video file of this recording",
                 {}};
  }
  return Error{ErrorCode::Invalid,
               "the clip holds no streams at all",
               {},
               "copy the whole clip from the phone or camera again",
               {}};
}

}  // namespace

Error stopped_error() {
  return Error{ErrorCode::Cancelled, "stopped on request", {}, "start again when ready", {}};
}

int DecodeWatch::allocate(AVCodecContext* context, AVFrame* frame, int flags) {
  auto& watch = *static_cast<DecodeWatch*>(static_cast<LogTail*>(context->opaque));
  if (!watch.allows(frame->width, frame->height)) {
    watch.refused_width_px = frame->width;
    watch.refused_height_px = frame->height;
    return AVERROR(EINVAL);
  }
  return avcodec_default_get_buffer2(context, frame, flags);
}

bool DecodeWatch::allows(int width_px, int height_px) const {
  return width_px <= max_width_px && height_px <= max_height_px &&
         static_cast<std::int64_t>(width_px) * height_px <= max_pixels;
}

StillKind sniff_still(const ByteSource& source) {
  std::array<std::uint8_t, 8> head = {};
  source.read_at(0, head);
  constexpr std::array<std::uint8_t, 8> kPng = {0x89, 'P', 'N', 'G', 0x0d, 0x0a, 0x1a, 0x0a};
  if (head == kPng) return StillKind::Png;
  if (head[0] == 0xff && head[1] == 0xd8 && head[2] == 0xff) return StillKind::Jpeg;
  return StillKind::None;
}

bool still_is_whole(StillKind kind, std::span<const std::uint8_t> bytes) {
  const auto last = [bytes](std::string_view marker) {
    const auto at = std::find_end(bytes.begin(), bytes.end(), marker.begin(), marker.end(),
                                  [](std::uint8_t a, char b) { return a == std::uint8_t(b); });
    return at == bytes.end() ? std::ptrdiff_t{-1} : at - bytes.begin();
  };
  if (kind == StillKind::Png) return last("IEND") >= 0;
  // Start of scan, then end of image. A preview in the head has both before the picture's scan.
  return last("\xff\xd9") > last("\xff\xda");
}

Result<OpenContainer> open_container(ByteSource& source, const ClipReaderOptions& options) {
  if (is_heif(source)) {
    return fail(ErrorCode::Unsupported, "photos in the HEIC or AVIF format are not read",
                "share the photo as JPEG, or set the camera to take JPEG photos");
  }
  const AVInputFormat* kind = probe(source);
  if (kind == nullptr) {
    return fail(ErrorCode::Unsupported, "this is not a clip or a photo that Lintel knows",
                "give an mp4, mov, webm, mkv or avi clip, or a JPEG or PNG photo");
  }
  if (!is_allowed(*kind)) {
    return fail(ErrorCode::Unsupported,
                std::string("this kind of file is not read (it looks like: ") +
                    (kind->long_name != nullptr ? kind->long_name : kind->name) + ")",
                "give an mp4, mov, webm, mkv or avi clip, or a JPEG or PNG photo");
  }
  AVFormatContext* raw = avformat_alloc_context();
  AVIOContext* io = source.make_io(options.stop);
  if (raw == nullptr || io == nullptr) {
    avformat_free_context(raw);
    return fail(ErrorCode::Limit, "not enough memory to open the clip", "close other programs");
  }
  // One allocation on behalf of a lying header; the largest honest one, a frame, is far below.
  av_max_alloc(kMaxAllocationBytes);
  raw->pb = io;
  raw->flags |= AVFMT_FLAG_CUSTOM_IO;
  raw->io_open = refuse_other_files;
  raw->max_streams = kMaxStreams;
  Dictionary settings;
  settings.set("format_whitelist", kFormats);
  settings.set("codec_whitelist", kDecoders);
  settings.set("protocol_whitelist", "none");
  const int code = avformat_open_input(&raw, "", kind, settings.out());  // frees raw on failure
  if (code < 0) {
    return fail(options.stop.stop_requested() ? stopped_error() : open_failure(code, *kind));
  }

  OpenContainer result;
  result.format.reset(raw);
  for (unsigned i = 0; i < raw->nb_streams; ++i) {
    if (raw->streams[i]->codecpar->codec_type == AVMEDIA_TYPE_AUDIO) result.has_audio = true;
  }
  result.video = choose_video(*raw);
  if (result.video == nullptr) return fail(no_video_error(*raw, result.has_audio));
  for (unsigned i = 0; i < raw->nb_streams; ++i) {
    if (raw->streams[i] != result.video) raw->streams[i]->discard = AVDISCARD_ALL;
  }
  result.encrypted = has_encryption_data(*result.video);
  result.name = container_name(*raw, source);
  if (!result.encrypted) find_stream_details(*raw, options);
  return result;
}

namespace {

int automatic_threads() {
  return static_cast<int>(std::clamp(std::thread::hardware_concurrency(), 1U, 4U));
}

const AVCodec* allowed_decoder(AVCodecID codec) {
  switch (codec) {
    case AV_CODEC_ID_H264:
      return avcodec_find_decoder_by_name("h264");
    case AV_CODEC_ID_HEVC:
      return avcodec_find_decoder_by_name("hevc");
    case AV_CODEC_ID_VP8:
      return avcodec_find_decoder_by_name("vp8");
    case AV_CODEC_ID_VP9:
      return avcodec_find_decoder_by_name("vp9");
    case AV_CODEC_ID_MJPEG:
      return avcodec_find_decoder_by_name("mjpeg");
    case AV_CODEC_ID_PNG:
      return avcodec_find_decoder_by_name("png");
    case AV_CODEC_ID_MPEG4:
      return avcodec_find_decoder_by_name("mpeg4");
    case AV_CODEC_ID_PRORES:
      return avcodec_find_decoder_by_name("prores");
    case AV_CODEC_ID_AV1: {
      const AVCodec* fast = avcodec_find_decoder_by_name("libdav1d");
      return fast != nullptr ? fast : avcodec_find_decoder_by_name("libaom-av1");
    }
    default:
      return nullptr;
  }
}

}  // namespace

Result<CodecHandle> open_decoder(AVCodecID codec, const AVCodecParameters* parameters,
                                 AVRational time_base, const ClipReaderOptions& options,
                                 DecodeWatch& watch) {
  const AVCodec* decoder = allowed_decoder(codec);
  if (decoder == nullptr) {
    const std::string name =
        codec == AV_CODEC_ID_NONE ? "unknown" : std::string(avcodec_get_name(codec));
    return fail(ErrorCode::Unsupported, "the clip's codec is not read here (" + name + ")",
                kReencode);
  }
  CodecHandle context(avcodec_alloc_context3(decoder));
  if (!context ||
      (parameters != nullptr && avcodec_parameters_to_context(context.get(), parameters) < 0)) {
    return fail(ErrorCode::Limit, "not enough memory to decode the clip", "close other programs");
  }
  const bool is_still = parameters == nullptr;
  const std::int64_t pixels =
      is_still ? options.limits.max_still_pixels : options.limits.max_pixels;
  context->opaque = static_cast<LogTail*>(&watch);
  context->get_buffer2 = DecodeWatch::allocate;
  // FFmpeg 5.1 decodes frames in parallel only where the callback is declared thread-safe; from
  // version 6 on that is taken for granted and the member is gone.
#if LIBAVCODEC_VERSION_MAJOR < 60
  _Pragma("GCC diagnostic push") _Pragma("GCC diagnostic ignored \"-Wdeprecated-declarations\"")
      context->thread_safe_callbacks = 1;
  _Pragma("GCC diagnostic pop")
#endif
      context->pkt_timebase = time_base;
  context->thread_count = is_still                      ? 1
                          : options.decoder_threads > 0 ? std::min(options.decoder_threads, 16)
                                                        : automatic_threads();
  // The reader checks sizes itself, with a better message, before a picture is allocated
  // (get_buffer2). This is the second line, and the only one in dav1d, which allocates by itself.
  context->max_pixels = codec == AV_CODEC_ID_AV1 ? pixels : 4 * pixels;
  const int code = avcodec_open2(context.get(), decoder, nullptr);
  if (code < 0) {
    return fail(ErrorCode::Invalid,
                std::string("the ") + avcodec_get_name(codec) +
                    " decoder does not accept this clip: " + ffmpeg_error_text(code),
                kReencode);
  }
  return context;
}

std::optional<Orientation> orientation_of_stream(const AVStream& stream) {
  std::size_t size = 0;
  const std::uint8_t* data = av_stream_get_side_data(&stream, AV_PKT_DATA_DISPLAYMATRIX, &size);
  if (data == nullptr || size < 9 * sizeof(std::int32_t)) return std::nullopt;
  std::int32_t matrix[9];
  std::memcpy(matrix, data, sizeof matrix);
  return orientation_from_matrix(matrix);
}

std::optional<Orientation> orientation_of_frame(const AVFrame& frame) {
  const AVFrameSideData* data = av_frame_get_side_data(&frame, AV_FRAME_DATA_DISPLAYMATRIX);
  if (data != nullptr && data->size >= 9 * sizeof(std::int32_t)) {
    std::int32_t matrix[9];
    std::memcpy(matrix, data->data, sizeof matrix);
    return orientation_from_matrix(matrix);
  }
  const AVDictionaryEntry* exif = av_dict_get(frame.metadata, "Orientation", nullptr, 0);
  if (exif != nullptr) return orientation_from_exif(std::atoi(exif->value));
  return std::nullopt;
}

}  // namespace lintel::media
