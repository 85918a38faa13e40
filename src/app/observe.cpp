#include "app/observe.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

#include "app/body_scale.h"
#include "bar/disc_geometry.h"
#include "bar/disc_tracker.h"
#include "jobs/bounded_queue.h"
#include "jobs/thread_pool.h"
#include "kinematics/landmarks.h"
#include "media/clip_reader.h"
#include "pose/body_tracker.h"
#include "pose/pose_estimator.h"
#include "pose/side_check.h"

namespace lintel::app {
namespace {

// Decoded pictures that may wait for the networks; also how far the choice of the athlete looks.
constexpr std::size_t kQueuedFrames = 12;
// Pictures that are looked at together. A constant, not the number of cores: it is part of the
// result.
constexpr std::size_t kBundle = 4;
constexpr std::size_t kSampleStep = 5;  // frames between the pictures that decide who lifts

pose::Variant to_variant(NetworkVariant variant) {
  switch (variant) {
    case NetworkVariant::Lite:
      return pose::Variant::Lite;
    case NetworkVariant::Full:
      return pose::Variant::Full;
    case NetworkVariant::Heavy:
      return pose::Variant::Heavy;
  }
  return pose::Variant::Full;
}

// Decodes ahead on a thread of its own.
class FrameSource {
 public:
  FrameSource(media::ClipReader reader, const std::stop_token& stop)
      : reader_(std::move(reader)), queue_(kQueuedFrames) {
    thread_ = std::jthread([this, stop] { decode(stop); });
  }
  ~FrameSource() { queue_.close(); }
  FrameSource(const FrameSource&) = delete;
  FrameSource& operator=(const FrameSource&) = delete;

  // The next frame, or nothing at the end or after an error (see error()).
  std::optional<media::DecodedFrame> next() { return queue_.pop(); }

  // A frame that is done with: its memory is decoded into again. From any thread.
  void give_back(media::DecodedFrame frame) {
    const std::lock_guard lock(spare_mutex_);
    spare_.push_back(std::move(frame));
  }

  // After next() gave nothing.
  const std::optional<Error>& error() {
    if (thread_.joinable()) thread_.join();
    return error_;
  }
  const media::ClipReader& reader() const { return reader_; }

 private:
  void decode(const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      media::DecodedFrame frame = spare();
      const Result<bool> decoded = reader_.next_into(frame);
      if (!decoded) {
        error_ = decoded.error();
        break;
      }
      if (!*decoded || !queue_.push(std::move(frame))) break;
    }
    queue_.close();
  }

  media::DecodedFrame spare() {
    const std::lock_guard lock(spare_mutex_);
    if (spare_.empty()) return {};
    media::DecodedFrame frame = std::move(spare_.back());
    spare_.pop_back();
    return frame;
  }

  media::ClipReader reader_;
  jobs::BoundedQueue<media::DecodedFrame> queue_;
  std::mutex spare_mutex_;
  std::vector<media::DecodedFrame> spare_;
  std::optional<Error> error_;
  std::jthread thread_;
};

// 0..1, of every eighth pixel of every eighth row: Rec. 709 weights on the encoded values.
double mean_brightness(const Image& image) {
  double sum = 0;
  std::int64_t count = 0;
  for (int y = 0; y < image.height(); y += 8) {
    for (int x = 0; x < image.width(); x += 8) {
      const std::uint8_t* p = image.pixel(x, y);
      sum += 0.0722 * p[0] + 0.7152 * p[1] + 0.2126 * p[2];
      ++count;
    }
  }
  return count > 0 ? sum / (255.0 * static_cast<double>(count)) : 0.0;
}

// Holds the frames that were looked at to choose the athlete, then passes the rest through.
class BufferedFrames {
 public:
  explicit BufferedFrames(FrameSource& source) : source_(source) {}

  const std::vector<media::DecodedFrame>& look_ahead(std::size_t count) {
    while (ahead_.size() < count) {
      std::optional<media::DecodedFrame> frame = source_.next();
      if (!frame) break;
      ahead_.push_back(std::move(*frame));
    }
    return ahead_;
  }
  std::optional<media::DecodedFrame> next() {
    if (taken_ < ahead_.size()) return std::move(ahead_[taken_++]);
    if (taken_ > 0) {
      ahead_ = {};
      taken_ = 0;
    }
    return source_.next();
  }

 private:
  FrameSource& source_;
  std::vector<media::DecodedFrame> ahead_;
  std::size_t taken_ = 0;
};

Result<pose::LifterChoice> choose_athlete(BufferedFrames& frames, pose::PoseEstimator& estimator,
                                          pose::BodyTracker& tracker,
                                          const ObserveRequest& request) {
  const std::vector<media::DecodedFrame>& ahead = frames.look_ahead(2 * kSampleStep + 1);
  if (ahead.empty()) return pose::LifterChoice{};
  std::vector<pose::LifterSample> samples;
  for (std::size_t i = 0; i < ahead.size(); i += kSampleStep) {
    samples.push_back({&ahead[i].image, {}});
  }
  pose::LifterChoice alone = LINTEL_TRY(tracker.choose(estimator, samples));
  if (alone.people.size() < 2 || !request.look_for_disc) return alone;
  // Several people: who holds the bar decides. The disc of a clip that shows a whole person is 6
  // to 25 % of the longer side.
  const double long_side = std::max(ahead.front().image.width(), ahead.front().image.height());
  bar::DiscSearch search;
  search.min_radius_px = 0.03 * long_side;
  search.max_radius_px = 0.125 * long_side;
  for (pose::LifterSample& sample : samples) {
    const std::vector<bar::DiscCandidate> discs = bar::find_discs(*sample.picture, search);
    if (!discs.empty()) sample.bar_px = discs.front().observation().center_px;
  }
  return tracker.choose(estimator, samples);
}

// One network for each picture of a bundle that is looked at at the same time; what threads are
// left help within a picture.
Result<std::vector<pose::PoseEstimator>> make_lanes(const std::filesystem::path& models,
                                                    pose::Variant variant, int threads,
                                                    std::size_t count) {
  const int threads_each = std::max(1, threads / static_cast<int>(count));
  std::vector<pose::PoseEstimator> lanes;
  lanes.push_back(LINTEL_TRY(pose::PoseEstimator::create(models, variant, threads_each)));
  while (lanes.size() < count) lanes.push_back(LINTEL_TRY(lanes.front().duplicate()));
  return lanes;
}

void fill_film(const media::ClipReader& reader, FilmFacts& film) {
  const media::ClipInfo& info = reader.info();
  const media::ClipTally& tally = reader.tally();
  film.source_width_px = info.source_width_px;
  film.source_height_px = info.source_height_px;
  film.scale = info.scale;
  film.codec = info.codec;
  film.container = info.container;
  film.bit_depth = info.bit_depth;
  film.quarter_turns = info.rotation_deg / 90;
  film.is_still = info.is_still || tally.frames_delivered == 1;
  film.variable_rate = reader.variable_rate();
  film.frames = tally.frames_delivered;
  film.corrupt_frames = tally.corrupt_skipped;
  film.repaired_times = tally.times_repaired;
  film.ended_early = tally.ended_early;
  film.mean_rate = tally.mean_rate_hz;
}

// Between the outer faces of the discs at both ends [m]: 1310 mm between the sleeves (IWF TCRR) and
// a stack of one or two discs at each end.
constexpr double kDiscSpacing = 1.44;
constexpr double kDiscSpacingError = 0.06;
// Bar against the line across the athlete (common practice, no source).
constexpr double kBarTwist = 1.0 * kRadiansPerDegree;
constexpr std::int64_t kPairInterval = 20;  // frames between looks for the far disc
constexpr std::size_t kEnoughPairs = 6;     // then no further looks: the camera does not move

// The turn of the bar from both its ends, in a few frames of the clip.
class DiscPair {
 public:
  explicit DiscPair(double disc_diameter) : radius_(0.5 * disc_diameter) {}

  void look(const Image& image, const kinematics::DiscObservation& near) {
    if (turns_.size() >= kEnoughPairs) return;
    const double r = static_cast<double>(near.semi_major_px);
    const Eigen::Vector2d center = near.center_px.cast<double>();
    bar::DiscSearch search;
    search.window = bar::Window{center.array() - 2.6 * r, center.array() + 2.6 * r};
    search.min_radius_px = 0.6 * r;
    search.max_radius_px = 1.05 * r;
    const std::vector<bar::DiscCandidate> found = bar::find_discs(image, search);
    const auto nearest = std::ranges::min_element(found, {}, [&](const auto& candidate) {
      return (candidate.rim.ellipse.center_px - center).norm();
    });
    if (nearest == found.end()) return;
    const std::optional<std::size_t> far = bar::choose_far_disc(found, *nearest);
    if (!far) return;
    const auto turn = bar::yaw_from_disc_pair(near, found[*far].observation(), 0.5 * image.width(),
                                              radius_, kDiscSpacing);
    if (turn) turns_.push_back(turn->value);
  }

  // Median; its error holds the spread of the looks, the spacing's and a twist of the bar.
  std::optional<Estimate> turn() const {
    if (turns_.size() < 2) return std::nullopt;
    std::vector<double> sorted = turns_;
    std::ranges::sort(sorted);
    const double middle = sorted[sorted.size() / 2];
    const double spread = sorted[sorted.size() * 3 / 4] - sorted[sorted.size() / 4];
    const double spacing = std::tan(middle) * kDiscSpacingError / kDiscSpacing;
    return Estimate{middle, std::hypot(0.7 * spread, spacing, kBarTwist)};
  }

 private:
  double radius_;
  std::vector<double> turns_;
};

// A frame whose body is known, on its way to the search for the bar.
struct BodyFrame {
  media::DecodedFrame frame;
  std::optional<kinematics::BodyObservation> body;
};

std::vector<BodyFrame> next_bundle(BufferedFrames& frames) {
  std::vector<BodyFrame> bundle;
  while (bundle.size() < kBundle) {
    std::optional<media::DecodedFrame> frame = frames.next();
    if (!frame) break;
    bundle.push_back({std::move(*frame), std::nullopt});
  }
  return bundle;
}

// What the follower of the bar gathered.
struct FollowedBar {
  std::vector<kinematics::FrameObservation> frames;
  std::int64_t with_body = 0;
  std::int64_t with_disc = 0;
  std::optional<Estimate> turn_from_disc_pair;
  double brightness = 0;  // mean luma, 0..1
  double duration = 0;    // [s]
};

// Follows the disc on a thread of its own, while the networks look at the next frame.
class BarFollower {
 public:
  // done_with gets each frame back; it is called on this follower's thread. Room for the expected
  // frames is taken at once: growing would hold all points twice.
  BarFollower(const ObserveRequest& request, double expected_frames,
              std::function<void(media::DecodedFrame)> done_with)
      : request_(request),
        done_with_(std::move(done_with)),
        discs_(tracker_options(request)),
        pair_(request.disc_diameter),
        scale_(request.stature),
        queue_(kQueuedForBar) {
    constexpr double kMostReserved = 100'000;
    followed_.frames.reserve(
        static_cast<std::size_t>(std::clamp(expected_frames, 0.0, kMostReserved)) + 16);
    thread_ = std::jthread([this] {
      while (std::optional<BodyFrame> item = queue_.pop()) {
        follow(*item);
        done_with_(std::move(item->frame));
      }
    });
  }
  ~BarFollower() { queue_.close(); }
  BarFollower(const BarFollower&) = delete;
  BarFollower& operator=(const BarFollower&) = delete;

  void push(BodyFrame item) { queue_.push(std::move(item)); }

  // Waits for the frames that are still on their way.
  FollowedBar finish() {
    queue_.close();
    thread_.join();
    followed_.turn_from_disc_pair = pair_.turn();
    if (brightness_samples_ > 0) followed_.brightness /= brightness_samples_;
    return std::move(followed_);
  }

 private:
  static constexpr std::size_t kQueuedForBar = 4;

  static bar::TrackerOptions tracker_options(const ObserveRequest& request) {
    bar::TrackerOptions options;
    options.disc_radius = 0.5 * request.disc_diameter;
    return options;
  }

  void follow(BodyFrame& item) {
    const media::DecodedFrame& frame = item.frame;
    kinematics::FrameObservation points;
    points.index = frame.index;
    points.time = frame.time_s;
    points.body = std::move(item.body);
    if (points.body) {
      ++followed_.with_body;
      scale_.update(*points.body);
      if (request_.look_for_disc) {
        points.disc = discs_.track(frame.image, frame.time_s,
                                   disc_hint(*points.body, scale_, request_.disc_diameter));
      }
    }
    if (points.disc) {
      ++followed_.with_disc;
      if (frame.index % kPairInterval == 0) pair_.look(frame.image, *points.disc);
    }
    if (frame.index % 8 == 0) {
      followed_.brightness += mean_brightness(frame.image);
      ++brightness_samples_;
    }
    followed_.duration = frame.time_s;
    followed_.frames.push_back(std::move(points));
  }

  const ObserveRequest& request_;
  std::function<void(media::DecodedFrame)> done_with_;
  bar::DiscTracker discs_;
  DiscPair pair_;
  BodyScale scale_;
  FollowedBar followed_;
  int brightness_samples_ = 0;
  jobs::BoundedQueue<BodyFrame> queue_;
  std::jthread thread_;
};

}  // namespace

Result<Observation> observe_clip(const ObserveRequest& request, const WorkContext& work) {
  media::ClipReaderOptions reader_options;
  reader_options.first_time_s = request.first_time;
  if (request.last_time > 0) reader_options.last_time_s = request.last_time;
  reader_options.stop = work.stop;
  const int threads = request.threads > 0
                          ? request.threads
                          : static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  media::ClipReader reader = LINTEL_TRY(media::ClipReader::open(request.clip, reader_options));
  const std::filesystem::path models = LINTEL_TRY(pose::find_models(request.models));
  jobs::ThreadPool pool(std::min<std::size_t>(static_cast<std::size_t>(threads), kBundle));
  std::vector<pose::PoseEstimator> lanes =
      LINTEL_TRY(make_lanes(models, to_variant(request.variant), threads, pool.thread_count()));

  Observation observation;
  observation.clip.width_px = reader.info().width_px;
  observation.clip.height_px = reader.info().height_px;
  const double expected_frames = static_cast<double>(reader.info().frame_count_estimate);

  FrameSource source(std::move(reader), work.stop);
  BufferedFrames frames(source);
  pose::TrackerOptions tracker_options;
  tracker_options.person = request.person;
  pose::BodyTracker tracker(pose::pose_source(lanes, pool), tracker_options);
  const pose::LifterChoice choice = LINTEL_TRY(
      choose_athlete(frames, lanes.front(), tracker, request).map_error([&](Error error) {
        return std::move(error.with_file(request.clip.filename().string()));
      }));

  const bool is_still = source.reader().info().is_still;
  BarFollower follower(request, expected_frames, [&source](media::DecodedFrame frame) {
    source.give_back(std::move(frame));
  });
  double done = 0;
  for (std::vector<BodyFrame> bundle = next_bundle(frames); !bundle.empty();
       bundle = next_bundle(frames)) {
    if (work.cancelled()) return fail(cancelled_error());
    std::vector<const Image*> pictures;
    for (const BodyFrame& item : bundle) pictures.push_back(&item.frame.image);
    auto bodies = LINTEL_TRY(tracker.track_all(pictures));
    // No other frame evens the network's errors out.
    if (is_still) bodies.back() = LINTEL_TRY(tracker.look_closely(*pictures.back()));
    for (std::size_t i = 0; i < bundle.size(); ++i) {
      bundle[i].body = std::move(bodies[i]);
      follower.push(std::move(bundle[i]));
      work.report("find body and bar", ++done, expected_frames);
    }
  }
  if (work.cancelled()) return fail(cancelled_error());
  if (source.error()) return fail(*source.error());

  fill_film(source.reader(), observation.film);
  FollowedBar followed = follower.finish();
  observation.clip.frames = std::move(followed.frames);
  observation.frames_with_body = followed.with_body;
  observation.frames_with_disc = followed.with_disc;
  observation.turn_from_disc_pair = followed.turn_from_disc_pair;
  observation.film.mean_brightness = followed.brightness;
  observation.film.duration = followed.duration;
  observation.clip.nominal_rate = observation.film.is_still ? 0.0 : observation.film.mean_rate;
  observation.people = std::max(tracker.most_people_seen(), choice.most_at_once);
  observation.chosen_person = static_cast<int>(choice.chosen) + 1;
  if (observation.frames_with_body == 0) {
    Error error{ErrorCode::NotFound,
                "nobody was found in this clip",
                {},
                "film one athlete, whole body from feet to bar, from the side, in good light",
                {}};
    error.with_file(request.clip.filename().string());
    return fail(std::move(error));
  }
  pose::mend_swapped_sides(observation.clip, pose::check_sides(observation.clip));
  return observation;
}

}  // namespace lintel::app
