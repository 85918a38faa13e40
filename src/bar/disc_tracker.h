// Follows the near disc of the bar from frame to frame.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "bar/disc_search.h"
#include "base/image.h"
#include "kinematics/observation.h"

namespace lintel::bar {

// What the body says about where the disc may be and how large [px]. Everything may be absent.
struct DiscHint {
  std::optional<Eigen::Vector2d> shoulder_px;
  std::optional<Eigen::Vector2d> hip_px;
  std::array<std::optional<Eigen::Vector2d>, 2> wrist_px;
  double expected_radius_px = 0;  // in the near disc's plane; 0 = unknown
  double radius_spread = 0.12;    // relative standard deviation of the expected radius
};

struct TrackerOptions {
  double disc_radius = 0.225;  // [m] scales gravity and speeds to pixels; 450 mm disc (IWF TCRR)
  double coast_time = 0.25;    // [s] without a disc before the track is given up
  int search_interval_frames = 3;  // between searches while there is no track
  double min_search_quality = 0.38;
  double min_track_support = 0.3;
};

enum class TrackState : std::uint8_t { Searching, Following, Coasting };

// Where the search looks: 2.2 radii to each side of shoulder and wrists, from 5 radii over the
// shoulder down to 0.4 radii under the hip, so that a bar overhead, on the back, on the front of
// the shoulders or hanging in the hands is covered. The whole picture when nothing is known.
Window search_window(const DiscHint& hint, double radius_px, int width, int height);

// The candidate that is the near disc, as index; none if none is likely. Weighs support, size
// against the expected radius, and distance from the wrists; of two that overlap or lie near one
// another the larger, because the far disc looks smaller and cannot cover the near one.
std::optional<std::size_t> choose_near_disc(std::span<const DiscCandidate> candidates,
                                            const DiscHint& hint);

// The far disc that belongs to `near`, as index: 0.6 to 0.97 of its size, within 2.5 radii. Its
// offset gives the turn of the camera with its sign (disc_geometry.h).
std::optional<std::size_t> choose_far_disc(std::span<const DiscCandidate> candidates,
                                           const DiscCandidate& near);

// Deterministic. Not thread-safe; one per clip. About 1.5 ms a frame of 720x1280 while
// following, 15 ms in a frame that searches, on one core.
class DiscTracker {
 public:
  explicit DiscTracker(const TrackerOptions& options = {});

  // The near disc in this frame, or none. Frames in order; time_s by time stamp, need not be even.
  // A frame without an observation is a frame where the disc was not seen: nothing is extrapolated.
  std::optional<kinematics::DiscObservation> track(const Image& image, double time_s,
                                                   const DiscHint& hint);
  TrackState state() const { return state_; }
  void reset();

 private:
  std::optional<kinematics::DiscObservation> search(const Image& image, double time_s,
                                                    const DiscHint& hint);
  std::optional<Rim> follow(const Image& image, double time_s);
  bool plausible(const Rim& rim, const Eigen::Vector2d& predicted, double gate_px) const;
  void accept(const Rim& rim, double time_s);
  bool hands_elsewhere(const DiscHint& hint) const;

  TrackerOptions options_;
  TrackState state_ = TrackState::Searching;
  int frames_to_search_ = 0;
  double known_radius_px_ = 0;  // of a track that was lost: a later search starts from it
  int failed_searches_ = 0;
  int updates_ = 0;
  int frames_apart_ = 0;  // in a row with the hands far from the disc
  double last_time_ = 0;
  Ellipse last_;
  Eigen::Vector2d velocity_px_ = {0, 0};  // per second
  Ellipse shape_;                         // running mean; its center is not used
  double shape_updates_ = 0;
};

}  // namespace lintel::bar
