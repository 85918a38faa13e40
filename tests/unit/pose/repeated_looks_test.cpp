// Several looks at one picture, by a scripted network.
#include "pose/repeated_looks.h"

#include <gtest/gtest.h>

namespace lintel::pose {
namespace {

using Eigen::Vector2f;
using kinematics::Landmark;

constexpr int kWidth = 400, kHeight = 600;
const Vector2f kHips(150, 300);
constexpr float kReach = 160;  // hips to the point that sets the size [px]

// A body whose right knee lies at (190, 400) and whose left one lies at (120, 410). The picture is
// told from its mirror image by the mark in its top left corner.
class Network {
 public:
  int looks = 0;
  float error_px = 0;     // of the right knee, along x of what is looked at
  int blind_from = 1000;  // looks after which nobody is seen
  int outlier = -1;       // the look that is far off

  PoseSource source() {
    return {[](const Image&) -> Result<std::vector<Person>> { return std::vector<Person>{}; },
            [this](const Image& picture, const Region& region) { return look(picture, region); }};
  }
  LandmarkResult first() {
    Image picture = original();
    return *look(picture, region_from(kHips, kHips - Vector2f(0, kReach)));
  }
  static Image original() {
    Image picture(kWidth, kHeight);
    picture.pixel(0, 0)[0] = 255;
    return picture;
  }

 private:
  Result<LandmarkResult> look(const Image& picture, const Region& region) {
    const int number = looks++;
    const bool mirror = picture.pixel(0, 0)[0] != 255;
    EXPECT_TRUE(!mirror || picture.pixel(kWidth - 1, 0)[0] == 255);
    const auto place = [mirror](float x, float y) { return Vector2f(mirror ? kWidth - x : x, y); };
    LandmarkResult result;
    result.region = region;
    result.body.presence = number >= blind_from ? 0.1F : 0.9F;
    result.next_center_px = place(kHips.x(), kHips.y());
    result.next_size_point_px = place(kHips.x(), kHips.y() - kReach);
    for (auto& landmark : result.body.landmarks) landmark.confidence = 0.8F;
    // In the mirror right is left.
    auto& right = result.body[mirror ? Landmark::LeftKnee : Landmark::RightKnee];
    auto& left = result.body[mirror ? Landmark::RightKnee : Landmark::LeftKnee];
    right.position_px = place(190, 400) + Vector2f(error_px, 0);
    left.position_px = place(120, 410);
    if (number == outlier) right.position_px = Vector2f(10, 10);
    right.depth_px = -40;
    return result;
  }
};

TEST(RepeatedLooks, LooksStraightAndInTheMirrorAndPutsSidesBack) {
  Network network;
  const LandmarkResult first = network.first();
  const auto seen = look_repeatedly(network.source(), Network::original(), first);
  ASSERT_TRUE(seen.has_value());
  EXPECT_EQ(network.looks, 10);  // the first, the second, four and four
  EXPECT_NEAR(seen->body[Landmark::RightKnee].position_px.x(), 190, 1e-3);
  EXPECT_NEAR(seen->body[Landmark::LeftKnee].position_px.x(), 120, 1e-3);
  EXPECT_NEAR(seen->body[Landmark::RightKnee].depth_px, -40, 1e-3);
  EXPECT_NEAR(seen->body[Landmark::RightKnee].confidence, 0.8F, 1e-3);
}

TEST(RepeatedLooks, WhatTheMirrorTurnsRoundEvensOut) {
  // An error to the right in both kinds of look: one of them is an error to the left in truth.
  Network network;
  network.error_px = 6;
  const LandmarkResult first = network.first();
  EXPECT_NEAR(first.body[Landmark::RightKnee].position_px.x(), 196, 1e-3);
  const auto seen = look_repeatedly(network.source(), Network::original(), first);
  ASSERT_TRUE(seen.has_value());
  EXPECT_NEAR(seen->body[Landmark::RightKnee].position_px.x(), 190, 1e-3);
  // The looks differ, so the point is less sure: spread 1.4826 * 6 px along one axis of two.
  const float side = seen->region.side_px;
  const float differ = 1.4826F * 6 / std::sqrt(2.0F) / (0.005F * side);
  EXPECT_NEAR(seen->body[Landmark::RightKnee].confidence, 0.8F / (1 + differ * differ), 1e-3);
  EXPECT_NEAR(seen->body[Landmark::LeftKnee].confidence, 0.8F, 1e-3);
}

TEST(RepeatedLooks, OneLookThatIsFarOffMovesNothing) {
  Network network;
  network.outlier = 5;
  const LandmarkResult first = network.first();
  const auto seen = look_repeatedly(network.source(), Network::original(), first);
  ASSERT_TRUE(seen.has_value());
  EXPECT_NEAR(seen->body[Landmark::RightKnee].position_px.x(), 190, 1e-3);
  EXPECT_NEAR(seen->body[Landmark::RightKnee].position_px.y(), 400, 1e-3);
}

TEST(RepeatedLooks, WhereTheLooksLoseTheBodyTheFirstCounts) {
  for (const int blind_from : {1, 3}) {
    Network network;
    network.error_px = 6;
    network.blind_from = blind_from;
    const LandmarkResult first = network.first();
    const auto seen = look_repeatedly(network.source(), Network::original(), first);
    ASSERT_TRUE(seen.has_value());
    EXPECT_NEAR(seen->body[Landmark::RightKnee].position_px.x(), 196, 1e-3) << blind_from;
  }
}

}  // namespace
}  // namespace lintel::pose
