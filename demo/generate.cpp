#include "demo/generate.h"

#include <algorithm>
#include <condition_variable>
#include <fstream>
#include <map>
#include <mutex>
#include <optional>
#include <sstream>
#include <thread>

#include "demo/truth.h"
#include "media/clip_writer.h"

namespace lintel::demo {

namespace {

namespace fs = std::filesystem;

tl::unexpected<Error> io_error(const std::string& message, const fs::path& path,
                               const std::string& mend) {
  Error error{ErrorCode::Io, message, {}, mend, {}};
  error.with_file(path.string());
  return fail(std::move(error));
}

std::string read_text(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

Result<void> write_text(const fs::path& path, const std::string& text) {
  const fs::path partial = path.string() + ".part";
  {
    std::ofstream out(partial, std::ios::binary);
    out << text;
    out.close();
    if (!out) {
      return io_error("cannot write", partial, "check the disk");
    }
  }
  std::error_code error;
  fs::rename(partial, path, error);
  if (error) {
    return io_error("cannot rename: " + error.message(), path, "");
  }
  return {};
}

// Frames drawn by several threads and handed out in order, never far ahead of the taker.
class FrameSource {
 public:
  FrameSource(const ClipSpec& clip, const std::vector<FrameTruth>& frames, int threads)
      : clip_(clip),
        frames_(frames),
        room_(render_room(clip.room, make_camera(clip.camera))),
        ahead_(static_cast<std::size_t>(threads) * 4) {
    for (int i = 0; i < threads; ++i) {
      workers_.emplace_back([this](const std::stop_token& stop) { run(stop); });
    }
  }
  FrameSource(const FrameSource&) = delete;
  FrameSource& operator=(const FrameSource&) = delete;
  ~FrameSource() {
    for (std::jthread& worker : workers_) worker.request_stop();
    changed_.notify_all();
  }

  // Waits at most 50 ms; empty when the frame is not ready yet.
  std::optional<Result<Image>> take(std::size_t index) {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, std::chrono::milliseconds(50),
                      [&] { return done_.find(index) != done_.end(); });
    const auto found = done_.find(index);
    if (found == done_.end()) return std::nullopt;
    Result<Image> image = std::move(found->second);
    done_.erase(found);
    taken_ = index + 1;
    changed_.notify_all();
    return image;
  }

 private:
  void run(const std::stop_token& stop) {
    while (true) {
      std::size_t index = 0;
      {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, stop,
                      [&] { return next_ >= frames_.size() || next_ < taken_ + ahead_; });
        if (stop.stop_requested() || next_ >= frames_.size()) return;
        index = next_++;
      }
      Result<Image> image = draw_frame(clip_, frames_[index].skeleton, index, room_);
      const std::scoped_lock lock(mutex_);
      done_.emplace(index, std::move(image));
      changed_.notify_all();
    }
  }

  const ClipSpec& clip_;
  const std::vector<FrameTruth>& frames_;
  const std::vector<Color> room_;
  const std::size_t ahead_;
  std::mutex mutex_;
  std::condition_variable_any changed_;
  std::map<std::size_t, Result<Image>> done_;
  std::size_t next_ = 0, taken_ = 0;
  std::vector<std::jthread> workers_;  // last: they use all of the above
};

}  // namespace

Result<Image> draw_frame(const ClipSpec& clip, const Skeleton& skeleton, std::size_t index,
                         const std::vector<Color>& room) {
  Scene scene;
  add_figure(clip.lifter, skeleton, {}, scene.field, scene.shades);
  if (clip.bystander) {
    Setup standing = clip.setup;
    standing.arms = ArmPose::Hanging;
    standing.bar_mass = 0;
    standing.stance_width = 0.24;
    MotionSpec still;
    still.movement = Movement::Stand;
    const double time = static_cast<double>(index) / clip.rate_hz;
    const Skeleton other =
        LINTEL_TRY(Motion(still, clip.seed + 100).skeleton(clip.bystander->lifter, standing, time));
    add_figure(clip.bystander->lifter, other, clip.bystander->place, scene.field, scene.shades);
  }
  scene.field.finish();
  scene.cylinders = bar_solids(clip.bar, skeleton, scene.shades);
  return render_frame(scene, make_camera(clip.camera), room, clip.light,
                      clip.seed * 100003 + index);
}

Result<Generated> generate_clip(const ClipSpec& clip, const fs::path& folder, int threads,
                                const WorkContext& work) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) {
    return io_error("cannot make the folder: " + error.message(), folder, "choose another one");
  }
  const std::vector<FrameTruth> frames = LINTEL_TRY(clip_truth(clip));
  const std::string truth = truth_json(clip, frames);
  const fs::path truth_path = folder / (clip.name + ".truth.json");
  const fs::path athlete_path = folder / (clip.name + ".athlete.json");
  const fs::path clip_path = folder / (clip.name + ".mp4");
  if (fs::exists(clip_path, error) && read_text(truth_path) == truth) {
    LINTEL_TRY_VOID(write_text(athlete_path, athlete_json(clip)));
    return Generated::AlreadyThere;
  }
  media::ClipWriterOptions options;
  options.width_px = clip.camera.width_px;
  options.height_px = clip.camera.height_px;
  options.nominal_rate_hz = clip.rate_hz;
  options.quality = clip.quality;
  options.fast = true;
  auto writer = LINTEL_TRY(media::ClipWriter::create(clip_path, options));
  FrameSource source(clip, frames, std::max(1, threads));
  for (std::size_t i = 0; i < frames.size();) {
    if (work.cancelled()) return fail(cancelled_error());
    auto image = source.take(i);
    if (!image) continue;
    if (!*image) return fail(image->error());
    LINTEL_TRY_VOID(writer.add(**image, frames[i].time));
    ++i;
    work.report(clip.name, static_cast<double>(i), static_cast<double>(frames.size()));
  }
  fs::remove(truth_path, error);  // until all three belong together
  LINTEL_TRY_VOID(writer.finish());
  LINTEL_TRY_VOID(write_text(athlete_path, athlete_json(clip)));
  LINTEL_TRY_VOID(write_text(truth_path, truth));
  return Generated::Rendered;
}

}  // namespace lintel::demo
