// Who of several people in the picture is the athlete.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "pose/pose_estimator.h"

namespace lintel::pose {

// A picture of the clip to look at, with the bar's (disc's) centre in it when known [px].
struct LifterSample {
  const Image* picture = nullptr;
  std::optional<Eigen::Vector2f> bar_px = {};
};

// How likely one person in one picture is the athlete; each part 0..1.
struct LifterScore {
  float holding = 0;     // hands at the bar, or, without a known bar, hands above the shoulders
  float size = 0;        // against the largest person in the picture
  float centrality = 0;  // 1 in the middle of the picture's width, 0 at its edges
  float seen = 0;        // mean confidence of shoulders, hips, knees, ankles: low when cut off
  float total() const { return seen * (2 * holding + size + 0.5F * centrality); }
};

struct LifterCandidate {
  // Where the person is in each sample; nothing where it was not found.
  std::vector<std::optional<Region>> regions;
  float mean_x_px = 0;
  float score = 0;  // sum of LifterScore::total() over the samples / number of samples
};

struct LifterChoice {
  std::vector<LifterCandidate> people;  // from left to right in the picture
  std::size_t chosen = 0;               // index into people; no meaning when people is empty
  int most_at_once = 0;                 // people in one picture
};

// From one person's landmarks. The weights in total() are working values of ours without a source.
LifterScore score_lifter(const LandmarkResult& pose, float largest_side_px, int picture_width,
                         const std::optional<Eigen::Vector2f>& bar_px);

// Looks at the samples in order and chooses; person (1-based, from the left) overrules. No people
// is a result, not an error. Errors: Invalid when person is not among those seen.
Result<LifterChoice> choose_lifter(PoseEstimator& estimator, std::span<const LifterSample> samples,
                                   std::optional<int> person = {});

}  // namespace lintel::pose
