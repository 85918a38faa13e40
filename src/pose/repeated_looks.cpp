#include "pose/repeated_looks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "pose/side_check.h"

namespace lintel::pose {
namespace {

using kinematics::BodyObservation;
using kinematics::LandmarkObservation;

// Smaller and larger, turned to and fro by 6 degrees, shifted: moves that the network was trained
// to bear. Chosen on the rendered clips; with twice as many the errors are the same.
struct Move {
  float size, turn, right, down;
};
constexpr std::array<Move, 4> kMoves = {{{0.94F, -0.1F, 0.015F, 0.010F},
                                         {1.00F, 0.1F, -0.015F, 0.010F},
                                         {1.00F, -0.1F, 0.010F, -0.015F},
                                         {1.08F, 0.1F, -0.010F, -0.015F}}};
constexpr float kHalvingSpread = 0.005F;  // of the region's side

Region moved(const Region& region, const Move& move) {
  Region out = region;
  out.center_px += region.side_px * Eigen::Vector2f(move.right, move.down);
  out.side_px *= move.size;
  out.angle += move.turn;
  return out;
}

Image mirrored(const Image& picture) {
  constexpr int kChannels = 3;
  Image out(picture.width(), picture.height());
  for (int y = 0; y < picture.height(); ++y) {
    for (int x = 0; x < picture.width(); ++x) {
      std::copy_n(picture.pixel(picture.width() - 1 - x, y), kChannels, out.pixel(x, y));
    }
  }
  return out;
}

Region mirrored(Region region, int width) {
  region.center_px.x() = static_cast<float>(width) - region.center_px.x();
  region.angle = -region.angle;
  return region;
}

// What was seen in the mirror, as it is: places back and left for right.
BodyObservation mirrored(BodyObservation body, int width) {
  for (LandmarkObservation& landmark : body.landmarks) {
    landmark.position_px.x() = static_cast<float>(width) - landmark.position_px.x();
    landmark.regressed_px.x() = static_cast<float>(width) - landmark.regressed_px.x();
  }
  exchange_sides(body);
  return body;
}

float median(std::vector<float> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return 0.5F * (*middle + *std::max_element(values.begin(), middle));
}

// Median of what `of` says of each look.
template <typename Of>
float middle(const std::vector<BodyObservation>& looks, Of of) {
  std::vector<float> values;
  values.reserve(looks.size());
  for (const BodyObservation& look : looks) values.push_back(of(look));
  return median(std::move(values));
}

// Robust standard deviation of one coordinate: 1.4826 medians of the deviation.
float spread(const std::vector<BodyObservation>& looks, std::size_t k, int axis, float center) {
  return 1.4826F * middle(looks, [&](const BodyObservation& look) {
           return std::abs(look.landmarks[k].position_px[axis] - center);
         });
}

LandmarkObservation agreed(const std::vector<BodyObservation>& looks, std::size_t k,
                           float side_px) {
  LandmarkObservation out;
  for (int axis = 0; axis < 2; ++axis) {
    out.position_px[axis] =
        middle(looks, [&](const auto& b) { return b.landmarks[k].position_px[axis]; });
    out.regressed_px[axis] =
        middle(looks, [&](const auto& b) { return b.landmarks[k].regressed_px[axis]; });
  }
  out.depth_px = middle(looks, [&](const auto& b) { return b.landmarks[k].depth_px; });
  out.visibility = middle(looks, [&](const auto& b) { return b.landmarks[k].visibility; });
  out.refined =
      middle(looks, [&](const auto& b) { return b.landmarks[k].refined ? 1.0F : 0.0F; }) > 0.5F;
  const float differ = std::hypot(spread(looks, k, 0, out.position_px.x()),
                                  spread(looks, k, 1, out.position_px.y())) /
                       std::sqrt(2.0F) / std::max(kHalvingSpread * side_px, 1e-3F);
  out.confidence = middle(looks, [&](const auto& b) { return b.landmarks[k].confidence; }) /
                   (1.0F + differ * differ);
  return out;
}

Result<std::vector<LandmarkResult>> look_at_all(const PoseSource& source,
                                                const std::vector<PictureRegion>& jobs) {
  if (source.landmarks_of_all) return source.landmarks_of_all(jobs);
  std::vector<LandmarkResult> seen;
  for (const PictureRegion& job : jobs) {
    seen.push_back(LINTEL_TRY(source.landmarks(*job.picture, job.region)));
  }
  return seen;
}

}  // namespace

Result<LandmarkResult> look_repeatedly(const PoseSource& source, const Image& picture,
                                       const LandmarkResult& first) {
  if (!first.next_region().valid()) return first;
  const LandmarkResult second = LINTEL_TRY(source.landmarks(picture, first.next_region()));
  const Region region = second.next_region();
  if (second.body.presence < kLowestPresence || !region.valid()) return first;
  const Image mirror = mirrored(picture);
  std::vector<PictureRegion> jobs;
  for (const Move& move : kMoves) {
    const Region here = moved(region, move);
    jobs.push_back({&picture, here});
    jobs.push_back({&mirror, mirrored(here, picture.width())});
  }
  std::vector<LandmarkResult> seen = LINTEL_TRY(look_at_all(source, jobs));
  std::vector<BodyObservation> looks;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (seen[i].body.presence < kLowestPresence) continue;
    BodyObservation& body = seen[i].body;
    looks.push_back(jobs[i].picture == &mirror ? mirrored(std::move(body), picture.width())
                                               : std::move(body));
  }
  if (2 * looks.size() < jobs.size()) return first;
  LandmarkResult out = second;
  out.region = region;
  out.body.presence = middle(looks, [](const auto& b) { return b.presence; });
  for (std::size_t k = 0; k < out.body.landmarks.size(); ++k) {
    out.body.landmarks[k] = agreed(looks, k, region.side_px);
  }
  return out;
}

}  // namespace lintel::pose
