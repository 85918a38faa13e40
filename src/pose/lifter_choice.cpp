#include "pose/lifter_choice.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "pose/paint_over.h"

namespace lintel::pose {
namespace {

using kinematics::BodyObservation;
using kinematics::Landmark;

// Of the detector, when it looks again for somebody half hidden; landmarks must confirm.
constexpr float kLowestSecondLook = 0.15F;
constexpr std::size_t kMostPeople = 8;  // of one picture that are looked at closely

Eigen::Vector2f middle(const BodyObservation& body, Landmark left, Landmark right) {
  return (body[left].position_px + body[right].position_px) / 2;
}

bool already_there(const std::vector<LandmarkResult>& people, const Region& region) {
  return std::any_of(people.begin(), people.end(), [&](const LandmarkResult& other) {
    return (other.region.center_px - region.center_px).norm() < 0.15F * region.side_px;
  });
}

// People of one picture with their landmarks; those that the network does not confirm are dropped.
// A person in full view can keep the detector from seeing another one half hidden by a disc: those
// found are painted over and it looks again until nobody new turns up.
Result<std::vector<LandmarkResult>> people_in(PoseEstimator& estimator, const Image& picture) {
  std::vector<LandmarkResult> people;
  Image rest = picture;
  for (std::size_t round = 0; round < kMostPeople && people.size() < kMostPeople; ++round) {
    const std::size_t before = people.size();
    const float lowest = round == 0 ? 0.5F : kLowestSecondLook;
    for (const Person& person : LINTEL_TRY(estimator.detect(rest, lowest))) {
      if (!person.region().valid() || already_there(people, person.region())) continue;
      LandmarkResult pose = LINTEL_TRY(estimator.landmarks(picture, person.region()));
      if (pose.body.presence < kLowestPresence) continue;
      paint_over(rest, person.region(), {});
      people.push_back(std::move(pose));
      if (people.size() == kMostPeople) break;
    }
    if (people.size() == before) break;
  }
  return people;
}

// A person already seen in an earlier sample, near enough to be the same.
LifterCandidate* same_person(std::vector<LifterCandidate>& people, std::size_t sample,
                             const Region& region) {
  LifterCandidate* nearest = nullptr;
  float smallest = 0.5F * region.side_px;
  for (LifterCandidate& candidate : people) {
    if (candidate.regions[sample]) continue;
    const auto last = std::find_if(candidate.regions.rbegin(), candidate.regions.rend(),
                                   [](const auto& r) { return r.has_value(); });
    const float distance = ((*last)->center_px - region.center_px).norm();
    if (distance < smallest) {
      smallest = distance;
      nearest = &candidate;
    }
  }
  return nearest;
}

void sort_left_to_right(std::vector<LifterCandidate>& people) {
  for (LifterCandidate& candidate : people) {
    float sum = 0;
    float count = 0;
    for (const auto& region : candidate.regions) {
      if (!region) continue;
      sum += region->center_px.x();
      count += 1;
    }
    candidate.mean_x_px = sum / count;
  }
  std::stable_sort(
      people.begin(), people.end(),
      [](const LifterCandidate& a, const LifterCandidate& b) { return a.mean_x_px < b.mean_x_px; });
}

}  // namespace

LifterScore score_lifter(const LandmarkResult& pose, float largest_side_px, int picture_width,
                         const std::optional<Eigen::Vector2f>& bar_px) {
  const Eigen::Vector2f hips = middle(pose.body, Landmark::LeftHip, Landmark::RightHip);
  const Eigen::Vector2f shoulders =
      middle(pose.body, Landmark::LeftShoulder, Landmark::RightShoulder);
  const Eigen::Vector2f wrists = middle(pose.body, Landmark::LeftWrist, Landmark::RightWrist);
  const float trunk = std::max((shoulders - hips).norm(), 0.1F * pose.region.side_px);
  LifterScore score;
  if (bar_px) {
    // The disc sits at the bar's end: beside the hands in a front view, over them in a side view.
    const Eigen::Vector2f d = (*bar_px - wrists) / trunk;
    const float by_hands = 1 - std::hypot(0.4F * d.x(), d.y());
    // From the side the disc hides the hands and the network puts them on the head: then the disc
    // must stand over or before the shoulders, within the arms' reach (1.2 trunks and some margin).
    const Eigen::Vector2f r = (*bar_px - shoulders) / trunk;
    const float by_reach = r.norm() < 1.7F ? 1 - std::abs(r.x()) / 0.7F : 0.0F;
    score.holding = std::clamp(std::max(by_hands, by_reach), 0.0F, 1.0F);
  } else {
    score.holding = std::clamp((shoulders.y() - wrists.y()) / trunk, 0.0F, 1.0F);
  }
  score.size = std::clamp(pose.region.side_px / std::max(largest_side_px, 1.0F), 0.0F, 1.0F);
  constexpr std::array kJoints = {
      Landmark::LeftShoulder, Landmark::RightShoulder, Landmark::LeftHip,   Landmark::RightHip,
      Landmark::LeftKnee,     Landmark::RightKnee,     Landmark::LeftAnkle, Landmark::RightAnkle};
  for (const Landmark joint : kJoints) {
    score.seen += pose.body[joint].confidence / static_cast<float>(kJoints.size());
  }
  const float half = 0.5F * static_cast<float>(std::max(picture_width, 1));
  score.centrality = std::clamp(1 - std::abs(pose.region.center_px.x() - half) / half, 0.0F, 1.0F);
  return score;
}

Result<LifterChoice> choose_lifter(PoseEstimator& estimator, std::span<const LifterSample> samples,
                                   std::optional<int> person) {
  LifterChoice choice;
  for (std::size_t s = 0; s < samples.size(); ++s) {
    if (samples[s].picture == nullptr) continue;
    const Image& picture = *samples[s].picture;
    const std::vector<LandmarkResult> people = LINTEL_TRY(people_in(estimator, picture));
    choice.most_at_once = std::max(choice.most_at_once, static_cast<int>(people.size()));
    float largest = 0;
    for (const LandmarkResult& pose : people) largest = std::max(largest, pose.region.side_px);
    for (const LandmarkResult& pose : people) {
      LifterCandidate* candidate = same_person(choice.people, s, pose.region);
      if (candidate == nullptr) {
        LifterCandidate seen;
        seen.regions.resize(samples.size());
        choice.people.push_back(std::move(seen));
        candidate = &choice.people.back();
      }
      candidate->regions[s] = pose.region;
      candidate->score += score_lifter(pose, largest, picture.width(), samples[s].bar_px).total() /
                          static_cast<float>(samples.size());
    }
  }
  sort_left_to_right(choice.people);
  if (person) {
    if (*person < 1 || static_cast<std::size_t>(*person) > choice.people.size()) {
      return fail(ErrorCode::Invalid,
                  "person " + std::to_string(*person) + " was asked for, but " +
                      std::to_string(choice.people.size()) + " were seen",
                  "count the people from left to right, starting with 1");
    }
    choice.chosen = static_cast<std::size_t>(*person - 1);
    return choice;
  }
  for (std::size_t i = 1; i < choice.people.size(); ++i) {
    if (choice.people[i].score > choice.people[choice.chosen].score) choice.chosen = i;
  }
  return choice;
}

}  // namespace lintel::pose
