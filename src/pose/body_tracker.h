// Follows one athlete through a clip, frame by frame.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "base/executor.h"
#include "kinematics/observation.h"
#include "pose/lifter_choice.h"
#include "pose/pose_estimator.h"

namespace lintel::pose {

struct TrackerOptions {
  std::optional<int> person = {};    // 1-based from the left; default: who holds the bar
  int recount_interval_frames = 30;  // the detector counts people this often; 0 = only at need
  float jump_limit = 0.25F;          // centre's move from frame to frame / region's side
  float size_limit = 1.35F;          // region's growth or shrinking from frame to frame
};

// How far a guessed region may lie off: in sides (centre) and as a share (size); turned [rad].
inline constexpr float kGuessTolerance = 0.04F;
inline constexpr float kGuessTurnTolerance = 0.08F;

// Whether two regions, gap_frames >= 1 apart, are too far apart to be the same person's.
bool is_jump(const Region& from, const Region& to, const TrackerOptions& options, int gap_frames);

struct PictureRegion {
  const Image* picture = nullptr;
  Region region;
};

// What the tracker needs from the networks; lets tests put in a scripted world.
struct PoseSource {
  std::function<Result<std::vector<Person>>(const Image&)> detect;
  std::function<Result<LandmarkResult>(const Image&, const Region&)> landmarks;
  // Several at once, in their order; empty: track_all() looks at one picture after the other.
  std::function<Result<std::vector<LandmarkResult>>(std::span<const PictureRegion>)>
      landmarks_of_all = {};
};
PoseSource pose_source(PoseEstimator& estimator);  // which must outlive it
// Pictures that are looked at together share the lanes (one network each, all of one kind; at least
// one) and the executor's threads. Both must outlive it.
PoseSource pose_source(std::vector<PoseEstimator>& lanes, Executor& executor);

// Detector on the first frame, where the body flag falls under 0.5, and where the region jumps;
// else each frame's auxiliary landmarks make the next region. A frame without the athlete gives
// nothing: a gap is never filled. Where other people are is kept in mind: somebody who is nearer to
// one of their places than to the athlete's last one is not taken for the athlete. Not thread-safe.
class BodyTracker {
 public:
  BodyTracker(PoseSource source, TrackerOptions options);

  // Optional first pass over a few pictures of the clip (in order, the first being frame 0), to
  // find the athlete among several people. Without it the first frame decides alone.
  Result<LifterChoice> choose(PoseEstimator& estimator, std::span<const LifterSample> samples);

  // The next frame. bar_px is used only while the athlete is not yet chosen. Errors: those of the
  // networks.
  Result<std::optional<kinematics::BodyObservation>> track(
      const Image& picture, const std::optional<Eigen::Vector2f>& bar_px = {});

  // The next frames, in order. Where the networks can look at several pictures at once each is
  // looked at where the athlete is expected to be by then; one whose region turns out off by more
  // than the tolerances above from what its forerunner says is looked at again. The answer depends
  // on how the frames are bundled, not on the number of threads.
  Result<std::vector<std::optional<kinematics::BodyObservation>>> track_all(
      std::span<const Image* const> pictures);

  // The picture that was tracked last, once more and closely (repeated_looks.h): for photos.
  // Nothing when the athlete was not found in it. Errors: those of the networks.
  Result<std::optional<kinematics::BodyObservation>> look_closely(const Image& picture);

  int most_people_seen() const { return most_people_; }  // in any one frame
  std::int64_t detector_runs() const { return detector_runs_; }
  std::int64_t frames_lost() const { return frames_lost_; }
  const std::optional<Region>& last_region() const { return last_region_; }
  const std::optional<LandmarkResult>& last_result() const { return last_result_; }

 private:
  Result<std::optional<LandmarkResult>> follow(const Image& picture);
  Result<std::optional<LandmarkResult>> find(const Image& picture,
                                             const std::optional<Eigen::Vector2f>& bar_px);
  Result<std::optional<LandmarkResult>> find_first(const Image& picture,
                                                   const std::vector<Person>& persons,
                                                   const std::optional<Eigen::Vector2f>& bar_px);
  Result<LandmarkResult> landmarks_of_athlete(const Image& picture, const Region& region);
  Image athlete_alone(const Image& picture, const Region& region) const;  // the others painted over
  Result<std::optional<LandmarkResult>> look_there_again(const Image& picture);
  Result<std::optional<LandmarkResult>> find_again(const Image& picture,
                                                   const std::vector<Person>& persons);
  Result<std::vector<Person>> detect(const Image& picture);
  Result<std::vector<LandmarkResult>> guess(std::span<const Image* const> pictures);
  bool has_rival_inside(const Region& region) const;
  Region expected_region() const;                        // last_region_ moved on by the last steps
  float distance_to_rivals(const Region& region) const;  // infinite without rivals
  // Each person is the athlete, a known other or a new other, one to one, nearest pairs first.
  std::optional<std::size_t> assign_athlete(const std::vector<Person>& persons);
  void remember_rivals(const std::vector<Person>& persons, const Region& athlete);

  PoseSource source_;
  TrackerOptions options_;
  std::optional<Region> next_region_;  // to look at in the next frame; nothing = search
  std::optional<Region> last_region_;  // where the athlete was last
  std::optional<LandmarkResult> last_result_;
  std::optional<LandmarkResult> guess_;  // of the picture that is tracked now
  Eigen::Vector2f step_px_ = {0, 0};     // of the centre from frame to frame, smoothed
  float turn_step_ = 0;                  // [rad] of the region, likewise
  std::vector<Region> rivals_;           // the other people, where they were last detected
  int frames_since_seen_ = 0;
  int frames_since_count_ = 0;
  int most_people_ = 0;
  std::int64_t detector_runs_ = 0;
  std::int64_t frames_lost_ = 0;
};

}  // namespace lintel::pose
