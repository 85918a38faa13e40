#include "pose/body_tracker.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "pose/paint_over.h"
#include "pose/repeated_looks.h"

namespace lintel::pose {
namespace {

// How far apart two regions are: centre distance in sides plus the logarithm of the size ratio.
float region_distance(const Region& a, const Region& b) {
  const float side = std::max(std::max(a.side_px, b.side_px), 1.0F);
  const float ratio = std::max(a.side_px, 1.0F) / std::max(b.side_px, 1.0F);
  return (a.center_px - b.center_px).norm() / side + std::abs(std::log(ratio));
}

float distance_to(const std::vector<Region>& others, const Region& region) {
  float nearest = std::numeric_limits<float>::infinity();
  for (const Region& other : others) nearest = std::min(nearest, region_distance(other, region));
  return nearest;
}

constexpr float kSamePerson = 0.35F;  // region_distance below which two findings are one person
constexpr float kKeptMargin = 0.09F;  // of the side: flesh about the athlete's landmarks

// The athlete may have moved on while not seen; the place grows less certain, at first slowly.
constexpr int kMostCountedGap = 4;
// Half a second at 30 frames/s: then the place says nothing any more, only size and the others.
constexpr int kForgottenAfter = 15;
constexpr int kForgottenGap = 1000;

int counted_gap(int frames) {
  return frames > kForgottenAfter ? kForgottenGap : std::clamp(frames + 1, 2, kMostCountedGap);
}

bool is_inside(const Region& rival, const Region& region) {
  const float reach = 0.71F * region.side_px;  // half the diagonal
  return (rival.center_px - region.center_px).cwiseAbs().maxCoeff() < reach;
}

float turn_between(const Region& from, const Region& to) {
  return std::remainder(to.angle - from.angle, 2 * std::numbers::pi_v<float>);
}

bool is_close(const Region& guess, const Region& region) {
  return (guess.center_px - region.center_px).norm() <= kGuessTolerance * region.side_px &&
         std::abs(guess.side_px - region.side_px) <= kGuessTolerance * region.side_px &&
         std::abs(turn_between(guess, region)) <= kGuessTurnTolerance;
}

}  // namespace

bool is_jump(const Region& from, const Region& to, const TrackerOptions& options, int gap_frames) {
  if (!to.valid()) return true;
  const auto gap = static_cast<float>(std::max(gap_frames, 1));
  const float moved = (to.center_px - from.center_px).norm() / std::max(from.side_px, 1.0F);
  const float ratio = to.side_px / std::max(from.side_px, 1.0F);
  // Nobody grows: the size's freedom does not rise with the gap as the place's does.
  const float limit = std::pow(options.size_limit, std::min(gap, 2.0F));
  return moved > options.jump_limit * gap || ratio > limit || ratio < 1 / limit;
}

PoseSource pose_source(PoseEstimator& estimator) {
  return {[&estimator](const Image& picture) { return estimator.detect(picture); },
          [&estimator](const Image& picture, const Region& region) {
            return estimator.landmarks(picture, region);
          }};
}

PoseSource pose_source(std::vector<PoseEstimator>& lanes, Executor& executor) {
  PoseSource source = pose_source(lanes.front());
  source.landmarks_of_all =
      [&lanes,
       &executor](std::span<const PictureRegion> jobs) -> Result<std::vector<LandmarkResult>> {
    std::vector<Result<LandmarkResult>> found(jobs.size(), fail(ErrorCode::Internal, ""));
    std::atomic<std::size_t> next{0};
    executor.parallel_for(std::min(lanes.size(), jobs.size()), [&](std::size_t lane) {
      for (std::size_t i = next++; i < jobs.size(); i = next++) {
        found[i] = lanes[lane].landmarks(*jobs[i].picture, jobs[i].region);
      }
    });
    std::vector<LandmarkResult> results;
    for (Result<LandmarkResult>& result : found) results.push_back(LINTEL_TRY(std::move(result)));
    return results;
  };
  return source;
}

BodyTracker::BodyTracker(PoseSource source, TrackerOptions options)
    : source_(std::move(source)), options_(options) {}

Result<LifterChoice> BodyTracker::choose(PoseEstimator& estimator,
                                         std::span<const LifterSample> samples) {
  LifterChoice choice = LINTEL_TRY(choose_lifter(estimator, samples, options_.person));
  most_people_ = std::max(most_people_, choice.most_at_once);
  if (choice.people.empty()) return choice;
  for (const auto& region : choice.people[choice.chosen].regions) {
    if (!region) continue;
    last_region_ = *region;
    break;
  }
  rivals_.clear();
  for (std::size_t i = 0; i < choice.people.size(); ++i) {
    if (i == choice.chosen) continue;
    for (const auto& region : choice.people[i].regions) {
      if (!region) continue;
      rivals_.push_back(*region);
      break;
    }
  }
  // No need to search in the first frame: there or a few frames later is near enough for the
  // landmarks, which confirm it or start a search.
  next_region_ = last_region_;
  return choice;
}

Result<std::vector<Person>> BodyTracker::detect(const Image& picture) {
  ++detector_runs_;
  frames_since_count_ = 0;
  std::vector<Person> persons = LINTEL_TRY(source_.detect(picture));
  std::erase_if(persons, [](const Person& person) { return !person.region().valid(); });
  most_people_ = std::max(most_people_, static_cast<int>(persons.size()));
  return persons;
}

Image BodyTracker::athlete_alone(const Image& picture, const Region& region) const {
  const float margin = kKeptMargin * region.side_px;
  Columns kept{region.center_px.x() - margin, region.center_px.x() + margin};
  if (last_result_) {
    for (const auto& landmark : last_result_->body.landmarks) {
      kept.left = std::min(kept.left, landmark.position_px.x() - margin);
      kept.right = std::max(kept.right, landmark.position_px.x() + margin);
    }
  }
  Image alone = picture;
  for (const Region& rival : rivals_) {
    if (is_inside(rival, region)) paint_over(alone, rival, kept);
  }
  return alone;
}

// Landmarks of the athlete alone: whoever else stands inside of the region is painted over.
Result<LandmarkResult> BodyTracker::landmarks_of_athlete(const Image& picture,
                                                         const Region& region) {
  if (has_rival_inside(region)) return source_.landmarks(athlete_alone(picture, region), region);
  if (guess_ && is_close(guess_->region, region)) return *guess_;
  return source_.landmarks(picture, region);
}

Result<std::optional<kinematics::BodyObservation>> BodyTracker::look_closely(const Image& picture) {
  if (!last_result_) return std::nullopt;
  const Region& region = last_result_->region;
  if (has_rival_inside(region)) {
    last_result_ =
        LINTEL_TRY(look_repeatedly(source_, athlete_alone(picture, region), *last_result_));
  } else {
    last_result_ = LINTEL_TRY(look_repeatedly(source_, picture, *last_result_));
  }
  return last_result_->body;
}

bool BodyTracker::has_rival_inside(const Region& region) const {
  return std::any_of(rivals_.begin(), rivals_.end(),
                     [&](const Region& rival) { return is_inside(rival, region); });
}

// Landmarks of pictures to come, each where the athlete will be if the last steps go on. None where
// it cannot be told: lost, or somebody is to be painted over by what the frame before shows.
Result<std::vector<LandmarkResult>> BodyTracker::guess(std::span<const Image* const> pictures) {
  if (!next_region_ || pictures.size() < 2 || !source_.landmarks_of_all) {
    return std::vector<LandmarkResult>{};
  }
  std::vector<PictureRegion> jobs;
  Region region = *next_region_;
  for (const Image* picture : pictures) {
    if (has_rival_inside(region)) return std::vector<LandmarkResult>{};
    jobs.push_back({picture, region});
    region.center_px += step_px_;
    region.angle += turn_step_;
  }
  return source_.landmarks_of_all(jobs);
}

Result<std::vector<std::optional<kinematics::BodyObservation>>> BodyTracker::track_all(
    std::span<const Image* const> pictures) {
  const std::vector<LandmarkResult> guesses = LINTEL_TRY(guess(pictures));
  std::vector<std::optional<kinematics::BodyObservation>> bodies;
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    if (i < guesses.size()) guess_ = guesses[i];
    auto body = track(*pictures[i]);
    guess_.reset();
    bodies.push_back(LINTEL_TRY(std::move(body)));
  }
  return bodies;
}

Result<std::optional<LandmarkResult>> BodyTracker::follow(const Image& picture) {
  if (!next_region_) return std::nullopt;
  LandmarkResult pose = LINTEL_TRY(landmarks_of_athlete(picture, *next_region_));
  const bool lost = pose.body.presence < kLowestPresence;
  if (lost || is_jump(*next_region_, pose.next_region(), options_, 1)) return std::nullopt;
  const Region next = pose.next_region();
  if (distance_to_rivals(next) < region_distance(expected_region(), next)) return std::nullopt;
  return pose;
}

Region BodyTracker::expected_region() const {
  Region expected = *last_region_;
  expected.center_px += step_px_ * static_cast<float>(std::clamp(frames_since_seen_, 1, 3));
  return expected;
}

float BodyTracker::distance_to_rivals(const Region& region) const {
  return distance_to(rivals_, region);
}

void BodyTracker::remember_rivals(const std::vector<Person>& persons, const Region& athlete) {
  const auto own =
      std::min_element(persons.begin(), persons.end(), [&](const Person& a, const Person& b) {
        return region_distance(athlete, a.region()) < region_distance(athlete, b.region());
      });
  const std::vector<Region> known_rivals = std::move(rivals_);
  rivals_.clear();
  for (auto person = persons.begin(); person != persons.end(); ++person) {
    // The detector may have missed the athlete: the nearest one is then somebody else.
    const float distance = region_distance(athlete, person->region());
    const bool is_own = person == own && distance < kSamePerson &&
                        distance < distance_to(known_rivals, person->region());
    if (!is_own) rivals_.push_back(person->region());
  }
}

Result<std::optional<LandmarkResult>> BodyTracker::find_first(
    const Image& picture, const std::vector<Person>& persons,
    const std::optional<Eigen::Vector2f>& bar_px) {
  std::vector<LandmarkResult> people;
  float largest = 0;
  for (const Person& person : persons) {
    LandmarkResult pose = LINTEL_TRY(source_.landmarks(picture, person.region()));
    if (pose.body.presence < kLowestPresence || !pose.next_region().valid()) continue;
    largest = std::max(largest, pose.region.side_px);
    people.push_back(std::move(pose));
  }
  if (people.empty()) return std::nullopt;
  if (options_.person) {
    std::stable_sort(people.begin(), people.end(), [](const auto& a, const auto& b) {
      return a.region.center_px.x() < b.region.center_px.x();
    });
    const auto index = static_cast<std::size_t>(*options_.person - 1);
    if (*options_.person < 1 || index >= people.size()) return std::nullopt;
    return people[index];
  }
  const auto total = [&](const LandmarkResult& pose) {
    return score_lifter(pose, largest, picture.width(), bar_px).total();
  };
  return *std::max_element(people.begin(), people.end(),
                           [&](const auto& a, const auto& b) { return total(a) < total(b); });
}

std::optional<std::size_t> BodyTracker::assign_athlete(const std::vector<Person>& persons) {
  struct Pair {
    float distance;
    std::size_t person;
    std::size_t identity;  // 0 the athlete, else rival - 1
  };
  const Region expected = expected_region();
  std::vector<Pair> pairs;
  for (std::size_t p = 0; p < persons.size(); ++p) {
    const Region region = persons[p].region();
    pairs.push_back({region_distance(expected, region), p, 0});
    for (std::size_t r = 0; r < rivals_.size(); ++r) {
      pairs.push_back({region_distance(rivals_[r], region), p, r + 1});
    }
  }
  std::stable_sort(pairs.begin(), pairs.end(),
                   [](const Pair& a, const Pair& b) { return a.distance < b.distance; });
  std::optional<std::size_t> athlete;
  std::vector<char> person_taken(persons.size(), 0);
  std::vector<char> identity_taken(rivals_.size() + 1, 0);
  for (const Pair& pair : pairs) {
    if (person_taken[pair.person] != 0 || identity_taken[pair.identity] != 0) continue;
    person_taken[pair.person] = 1;
    identity_taken[pair.identity] = 1;
    if (pair.identity == 0) {
      athlete = pair.person;
    } else {
      rivals_[pair.identity - 1] = persons[pair.person].region();
    }
  }
  for (std::size_t p = 0; p < persons.size(); ++p) {
    if (person_taken[p] == 0) rivals_.push_back(persons[p].region());
  }
  return athlete;
}

// Where the athlete was last: the detector can miss somebody whom the landmark network still sees.
Result<std::optional<LandmarkResult>> BodyTracker::look_there_again(const Image& picture) {
  const Region expected = expected_region();
  LandmarkResult pose = LINTEL_TRY(landmarks_of_athlete(picture, expected));
  if (pose.body.presence < kLowestPresence) return std::nullopt;
  const Region next = pose.next_region();
  if (!next.valid() || region_distance(expected, next) > options_.jump_limit ||
      distance_to_rivals(next) < region_distance(expected, next)) {
    return std::nullopt;
  }
  return pose;
}

Result<std::optional<LandmarkResult>> BodyTracker::find_again(const Image& picture,
                                                              const std::vector<Person>& persons) {
  const Region last = *last_region_;
  const std::optional<std::size_t> own = assign_athlete(persons);
  if (!own) return look_there_again(picture);
  const Person* nearest = &persons[*own];
  const int gap = counted_gap(frames_since_seen_);
  if (is_jump(last, nearest->region(), options_, gap)) return look_there_again(picture);
  LandmarkResult pose = LINTEL_TRY(source_.landmarks(picture, nearest->region()));
  if (pose.body.presence < kLowestPresence || is_jump(last, pose.next_region(), options_, gap)) {
    return std::nullopt;
  }
  return pose;
}

Result<std::optional<LandmarkResult>> BodyTracker::find(
    const Image& picture, const std::optional<Eigen::Vector2f>& bar_px) {
  const std::vector<Person> persons = LINTEL_TRY(detect(picture));
  if (last_region_) return find_again(picture, persons);
  std::optional<LandmarkResult> pose = LINTEL_TRY(find_first(picture, persons, bar_px));
  if (pose) remember_rivals(persons, pose->region);
  return pose;
}

Result<std::optional<kinematics::BodyObservation>> BodyTracker::track(
    const Image& picture, const std::optional<Eigen::Vector2f>& bar_px) {
  ++frames_since_seen_;
  ++frames_since_count_;
  std::optional<LandmarkResult> pose = LINTEL_TRY(follow(picture));
  if (!pose) {
    pose = LINTEL_TRY(find(picture, bar_px));
  } else if (options_.recount_interval_frames > 0 &&
             frames_since_count_ >= options_.recount_interval_frames) {
    const std::vector<Person> persons = LINTEL_TRY(detect(picture));
    remember_rivals(persons, pose->next_region());
  }
  last_result_ = pose;
  if (!pose) {
    next_region_.reset();
    ++frames_lost_;
    return std::nullopt;
  }
  next_region_ = pose->next_region();
  if (last_region_ && frames_since_seen_ == 1) {
    step_px_ = (step_px_ + next_region_->center_px - last_region_->center_px) / 2;
    turn_step_ = (turn_step_ + turn_between(*last_region_, *next_region_)) / 2;
  } else {
    step_px_.setZero();
    turn_step_ = 0;
  }
  last_region_ = next_region_;
  frames_since_seen_ = 0;
  return pose->body;
}

}  // namespace lintel::pose
