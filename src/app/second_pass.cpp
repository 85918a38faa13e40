#include "app/second_pass.h"

#include <algorithm>

#include "app/screen_copy.h"
#include "media/clip_reader.h"
#include "media/clip_writer.h"
#include "media/still.h"
#include "report/overlay.h"

namespace lintel::app {
namespace {

constexpr std::size_t kMostRepetitionsDrawn = 12;

std::size_t index_of_bottom(const kinematics::Measurement& measurement,
                            const std::vector<KeyFrame>& key_frames) {
  for (const kinematics::Repetition& repetition : measurement.repetitions) {
    if (repetition.outcome == kinematics::RepetitionOutcome::Completed) {
      return repetition.bottom_frame;
    }
  }
  if (!measurement.repetitions.empty()) return measurement.repetitions.front().bottom_frame;
  return key_frames.empty() ? 0 : key_frames.front().index;
}

// Even sizes, as the video codec wants them: the last row or column is left out.
Image cropped_to_even(const Image& image) {
  const int width = image.width() & ~1;
  const int height = image.height() & ~1;
  if (width == image.width() && height == image.height()) return image;
  Image out(width, height);
  for (int y = 0; y < height; ++y) {
    std::copy_n(image.row(y), out.stride(), out.row(y));
  }
  return out;
}

}  // namespace

std::vector<KeyFrame> choose_key_frames(const kinematics::Measurement& measurement) {
  std::vector<KeyFrame> out;
  const std::size_t count = std::min(measurement.repetitions.size(), kMostRepetitionsDrawn);
  for (std::size_t r = 0; r < count; ++r) {
    const kinematics::Repetition& repetition = measurement.repetitions[r];
    const std::string stem = "rep" + std::to_string(r + 1);
    out.push_back({repetition.start_frame, stem + "-start.png"});
    out.push_back({repetition.bottom_frame, stem + "-bottom.png"});
    out.push_back({repetition.end_frame, stem + "-end.png"});
  }
  if (out.empty() && !measurement.time.empty()) {
    out.push_back({measurement.time.size() / 2, "posture.png"});
  }
  return out;
}

Result<SecondPass> draw_over_clip(const AssessRequest& request,
                                  const kinematics::Measurement& measurement,
                                  const kinematics::ClipObservation& clip,
                                  const std::filesystem::path& folder, const WorkContext& work) {
  SecondPass pass;
  const std::vector<KeyFrame> key_frames = choose_key_frames(measurement);
  pass.bottom_index = index_of_bottom(measurement, key_frames);

  media::ClipReaderOptions reader_options;
  reader_options.first_time_s = request.observe.first_time;
  if (request.observe.last_time > 0) reader_options.last_time_s = request.observe.last_time;
  reader_options.stop = work.stop;
  media::ClipReader reader =
      LINTEL_TRY(media::ClipReader::open(request.observe.clip, reader_options));
  report::OverlayPainter painter =
      LINTEL_TRY(report::OverlayPainter::create(reader.info().width_px, reader.info().height_px));

  const bool is_film = measurement.time.size() > 1;
  std::optional<media::ClipWriter> writer, copy;
  if (request.overlay_video && is_film) {
    writer = LINTEL_TRY(media::ClipWriter::create(folder / "overlay.mp4",
                                                  film_options(reader.info(), clip.nominal_rate)));
  }
  if (request.screen_copy && is_film) {
    copy = LINTEL_TRY(open_screen_copy(reader.info(), clip.nominal_rate, folder));
  }
  if (request.key_frames) {
    std::error_code code;
    std::filesystem::create_directories(folder / "key-frames", code);
    if (code) return fail(ErrorCode::Io, "the folder for key frames cannot be made");
  }

  for (std::size_t i = 0; i < measurement.time.size(); ++i) {
    if (work.cancelled()) return fail(cancelled_error());
    std::optional<media::DecodedFrame> frame = LINTEL_TRY(reader.next());
    if (!frame) break;
    if (i == pass.bottom_index) pass.bottom_picture = frame->image;
    if (copy) LINTEL_TRY_VOID(copy->add(frame->image, frame->time_s));
    const bool is_key = request.key_frames && std::ranges::any_of(key_frames, [&](const auto& k) {
                          return k.index == i;
                        });
    if (!writer && !is_key) continue;
    const report::OverlayFrame overlay =
        report::overlay_frame(measurement, i, i < clip.frames.size() ? &clip.frames[i] : nullptr,
                              report::CautionStrip::Brief);
    LINTEL_TRY_VOID(painter.draw(frame->image, overlay));
    if (writer) LINTEL_TRY_VOID(writer->add(cropped_to_even(frame->image), frame->time_s));
    for (const KeyFrame& key : key_frames) {
      if (!is_key || key.index != i) continue;
      LINTEL_TRY_VOID(media::write_png(folder / "key-frames" / key.file_name, frame->image));
    }
    work.report("draw", static_cast<double>(i + 1), static_cast<double>(measurement.time.size()));
  }
  if (writer) LINTEL_TRY_VOID(writer->finish());
  if (copy) LINTEL_TRY_VOID(copy->finish());
  return pass;
}

}  // namespace lintel::app
