#include "pose/detection.h"

#include <algorithm>
#include <cmath>

#include "pose/heatmap_refinement.h"

namespace lintel::pose {

std::vector<Eigen::Vector2f> make_anchors() {
  struct Grid {
    int cells, per_cell;
  };
  // Strides 8, 16, 32, 32, 32 with two anchors each; equal strides share a grid.
  constexpr std::array<Grid, 3> kGrids = {{{28, 2}, {14, 2}, {7, 6}}};
  std::vector<Eigen::Vector2f> anchors;
  anchors.reserve(kAnchorCount);
  for (const Grid& grid : kGrids) {
    const auto n = static_cast<float>(grid.cells);
    for (int y = 0; y < grid.cells; ++y) {
      for (int x = 0; x < grid.cells; ++x) {
        for (int k = 0; k < grid.per_cell; ++k) {
          anchors.emplace_back((static_cast<float>(x) + 0.5F) / n,
                               (static_cast<float>(y) + 0.5F) / n);
        }
      }
    }
  }
  return anchors;
}

std::vector<Person> decode_detections(std::span<const float> boxes, std::span<const float> scores,
                                      std::span<const Eigen::Vector2f> anchors,
                                      float lowest_score) {
  std::vector<Person> persons;
  const std::size_t count =
      std::min({scores.size(), anchors.size(), boxes.size() / kDetectorValues});
  for (std::size_t i = 0; i < count; ++i) {
    const float score = sigmoid(scores[i]);
    if (!(score >= lowest_score)) continue;
    const std::span<const float> v = boxes.subspan(i * kDetectorValues, kDetectorValues);
    const Eigen::Vector2f anchor = anchors[i] * static_cast<float>(kDetectorSide);
    const Eigen::Vector2f center = anchor + Eigen::Vector2f(v[0], v[1]);
    const Eigen::Vector2f half = Eigen::Vector2f(v[2], v[3]) / 2;
    Person person;
    person.score = score;
    person.box_min = center - half;
    person.box_max = center + half;
    bool finite = person.box_min.allFinite() && person.box_max.allFinite();
    for (std::size_t k = 0; k < 4; ++k) {
      person.key_points[k] = anchor + Eigen::Vector2f(v[4 + 2 * k], v[5 + 2 * k]);
      finite = finite && person.key_points[k].allFinite();
    }
    if (finite) persons.push_back(person);
  }
  return persons;
}

float box_overlap(const Person& a, const Person& b) {
  const auto area = [](const Eigen::Vector2f& low, const Eigen::Vector2f& high) {
    return std::max(high.x() - low.x(), 0.0F) * std::max(high.y() - low.y(), 0.0F);
  };
  const float common = area(a.box_min.cwiseMax(b.box_min), a.box_max.cwiseMin(b.box_max));
  const float all = area(a.box_min, a.box_max) + area(b.box_min, b.box_max) - common;
  return all > 0 ? common / all : 0;
}

std::vector<Person> merge_overlapping(std::vector<Person> candidates, float overlap_limit) {
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Person& a, const Person& b) { return a.score > b.score; });
  std::vector<Person> merged;
  std::vector<char> used(candidates.size(), 0);
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    if (used[i] != 0) continue;
    Person mean;
    float weight = 0;
    for (std::size_t j = i; j < candidates.size(); ++j) {
      const Person& other = candidates[j];
      if (used[j] != 0 || (j != i && box_overlap(candidates[i], other) <= overlap_limit)) continue;
      used[j] = 1;
      weight += other.score;
      mean.box_min += other.score * other.box_min;
      mean.box_max += other.score * other.box_max;
      for (std::size_t k = 0; k < 4; ++k) mean.key_points[k] += other.score * other.key_points[k];
    }
    mean.score = candidates[i].score;
    mean.box_min /= weight;
    mean.box_max /= weight;
    for (Eigen::Vector2f& point : mean.key_points) point /= weight;
    merged.push_back(mean);
  }
  return merged;
}

Letterbox fit_letterbox(int picture_width, int picture_height) {
  Letterbox box;
  const int longest = std::max({picture_width, picture_height, 1});
  box.scale = static_cast<float>(kDetectorSide) / static_cast<float>(longest);
  const auto shrink = [&](int size) {
    return std::clamp(static_cast<int>(std::lround(static_cast<float>(size) * box.scale)), 1,
                      kDetectorSide);
  };
  box.width = shrink(picture_width);
  box.height = shrink(picture_height);
  box.offset_x = (kDetectorSide - box.width) / 2;
  box.offset_y = (kDetectorSide - box.height) / 2;
  return box;
}

Person undo_letterbox(const Person& person, const Letterbox& letterbox) {
  const Eigen::Vector2f offset(static_cast<float>(letterbox.offset_x),
                               static_cast<float>(letterbox.offset_y));
  const auto undo = [&](const Eigen::Vector2f& p) -> Eigen::Vector2f {
    return (p - offset) / letterbox.scale;
  };
  Person result = person;
  result.box_min = undo(person.box_min);
  result.box_max = undo(person.box_max);
  for (std::size_t k = 0; k < 4; ++k) result.key_points[k] = undo(person.key_points[k]);
  return result;
}

}  // namespace lintel::pose
