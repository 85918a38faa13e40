#include "pose/detection.h"

#include <gtest/gtest.h>

#include <limits>

namespace lintel::pose {
namespace {

using Eigen::Vector2f;

Person box(float score, float x0, float y0, float x1, float y1) {
  Person person;
  person.score = score;
  person.box_min = {x0, y0};
  person.box_max = {x1, y1};
  for (auto& point : person.key_points) point = {(x0 + x1) / 2, y0};
  return person;
}

TEST(Anchors, AreAsManyAsTheDetectorHasOutputs) {
  const auto anchors = make_anchors();
  ASSERT_EQ(anchors.size(), 2254U);  // 28*28*2 + 14*14*2 + 7*7*6
  EXPECT_FLOAT_EQ(anchors[0].x(), 0.5F / 28);
  EXPECT_EQ(anchors[0], anchors[1]);
  EXPECT_FLOAT_EQ(anchors[2].x(), 1.5F / 28);  // along the row first
  EXPECT_FLOAT_EQ(anchors[2].y(), 0.5F / 28);
  EXPECT_FLOAT_EQ(anchors[1568].x(), 0.5F / 14);
  EXPECT_FLOAT_EQ(anchors[1568 + 392].y(), 0.5F / 7);
  EXPECT_FLOAT_EQ(anchors[2253].x(), 6.5F / 7);
}

TEST(Detections, AreDecodedAgainstTheirAnchor) {
  const std::vector<Vector2f> anchors = {{0.25F, 0.5F}, {0.75F, 0.5F}};
  const std::vector<float> boxes = {2, -4, 40, 80, 1, 2, 3, 4, 5, 6, 7, 8,
                                    0, 0,  10, 10, 0, 0, 0, 0, 0, 0, 0, 0};
  // sigmoid(1) = 0.7311 is kept, sigmoid(-1) is not.
  const auto persons = decode_detections(boxes, std::vector<float>{1, -1}, anchors, 0.5F);
  ASSERT_EQ(persons.size(), 1U);
  EXPECT_NEAR(persons[0].score, 0.73106F, 1e-5);
  EXPECT_EQ(persons[0].box_center(), Vector2f(58, 108));
  EXPECT_EQ(persons[0].box_max, Vector2f(78, 148));
  EXPECT_EQ(persons[0].key_points[1], Vector2f(59, 116));
}

TEST(Detections, SurviveHugeAndMissingNumbers) {
  const std::vector<Vector2f> anchors = {{0.5F, 0.5F}, {0.5F, 0.5F}};
  std::vector<float> boxes(24, 0.0F);
  boxes[0] = std::numeric_limits<float>::quiet_NaN();
  const std::vector<float> scores = {1e30F, -1e30F};
  EXPECT_TRUE(decode_detections(boxes, scores, anchors, 0.5F).empty());
  EXPECT_TRUE(decode_detections({}, {}, anchors, 0.5F).empty());
}

TEST(Suppression, AveragesAGroupByItsScores) {
  const auto merged = merge_overlapping({box(0.6F, 10, 0, 110, 100), box(0.9F, 0, 0, 100, 100)});
  ASSERT_EQ(merged.size(), 1U);
  EXPECT_FLOAT_EQ(merged[0].score, 0.9F);
  EXPECT_NEAR(merged[0].box_min.x(), 10 * 0.6 / 1.5, 1e-4);
  EXPECT_NEAR(merged[0].key_points[0].x(), 50 + 10 * 0.6 / 1.5, 1e-4);
}

TEST(Suppression, LeavesPeopleApartWhoHardlyOverlap) {
  // 100x100 boxes moved by 60: 4000 / 16000 = 0.25 is below 0.3; by 50: 5000 / 15000 = 0.33.
  EXPECT_NEAR(box_overlap(box(1, 0, 0, 100, 100), box(1, 60, 0, 160, 100)), 0.25, 1e-6);
  EXPECT_EQ(merge_overlapping({box(0.9F, 0, 0, 100, 100), box(0.8F, 60, 0, 160, 100)}).size(), 2U);
  EXPECT_EQ(merge_overlapping({box(0.9F, 0, 0, 100, 100), box(0.8F, 50, 0, 150, 100)}).size(), 1U);
}

TEST(Letterbox, FitsAPortraitFrameAndComesBack) {
  const Letterbox letterbox = fit_letterbox(1080, 1920);
  EXPECT_EQ(letterbox.height, 224);
  EXPECT_EQ(letterbox.width, 126);
  EXPECT_EQ(letterbox.offset_x, 49);
  EXPECT_EQ(letterbox.offset_y, 0);
  Person person = box(1, 49, 0, 175, 224);
  person = undo_letterbox(person, letterbox);
  EXPECT_NEAR(person.box_min.x(), 0, 1e-3);
  EXPECT_NEAR(person.box_max.x(), 1080, 1e-2);
  EXPECT_NEAR(person.box_max.y(), 1920, 1e-2);
  EXPECT_EQ(fit_letterbox(10000, 1).height, 1);
}

}  // namespace
}  // namespace lintel::pose
