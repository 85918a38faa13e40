// From the detector's raw outputs to persons: anchors, decoding, suppression of doubles.
#pragma once

#include <array>
#include <span>
#include <vector>

#include <Eigen/Core>

#include "pose/region.h"

namespace lintel::pose {

inline constexpr int kDetectorSide = 224;  // px of the detector's input
inline constexpr int kAnchorCount = 2254;
inline constexpr int kDetectorValues = 12;  // centre, size, four key points

// Anchor centres in 0..1: grids 28, 14, 7 with 2, 2, 6 anchors a cell, row by row.
std::vector<Eigen::Vector2f> make_anchors();

// A person as the detector sees it. Units: px of the detector's input, or of the picture after
// undoing the letterbox.
struct Person {
  float score = 0;  // 0..1
  Eigen::Vector2f box_min = {0, 0};
  Eigen::Vector2f box_max = {0, 0};
  // 0 mid-hip, 1 sets size and turn of the whole body, 2 mid-shoulder, 3 the same for the upper
  // body.
  std::array<Eigen::Vector2f, 4> key_points = {Eigen::Vector2f(0, 0), Eigen::Vector2f(0, 0),
                                               Eigen::Vector2f(0, 0), Eigen::Vector2f(0, 0)};

  Eigen::Vector2f box_center() const { return (box_min + box_max) / 2; }
  Region region() const { return region_from(key_points[0], key_points[1]); }
};

// boxes: 2254 x 12, scores: 2254 logits; both row-major. Keeps what scores at least lowest_score.
std::vector<Person> decode_detections(std::span<const float> boxes, std::span<const float> scores,
                                      std::span<const Eigen::Vector2f> anchors, float lowest_score);

// Overlapping candidates (intersection over union above limit with the best of the group) become
// one, averaged with their scores as weights. Best first.
std::vector<Person> merge_overlapping(std::vector<Person> candidates, float overlap_limit = 0.3F);

// Area of the intersection over that of the union of two boxes.
float box_overlap(const Person& a, const Person& b);

// How a picture is fitted into the detector's square: input = picture * scale + offset.
struct Letterbox {
  float scale = 1;
  int width = 0, height = 0;  // of the shrunk picture [px of the input]
  int offset_x = 0, offset_y = 0;
};
Letterbox fit_letterbox(int picture_width, int picture_height);

// To px of the picture.
Person undo_letterbox(const Person& person, const Letterbox& letterbox);

}  // namespace lintel::pose
