#include "pose/heatmap_refinement.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "pose/landmark_result.h"

namespace lintel::pose {
namespace {

using Eigen::Vector2f;

float logit(float p) {
  return std::log(p / (1 - p));
}

// A heatmap of -20 with a round bump: value peak at center (crop px), falling off as a Gaussian.
std::vector<float> bump(const Vector2f& center, float peak, float sigma_px = 6) {
  std::vector<float> map(64 * 64, -20.0F);
  for (int j = 0; j < 64; ++j) {
    for (int i = 0; i < 64; ++i) {
      const Vector2f cell(4 * static_cast<float>(i), 4 * static_cast<float>(j));
      const float h = peak * std::exp(-(cell - center).squaredNorm() / (2 * sigma_px * sigma_px));
      if (h > 1e-6F) map[static_cast<std::size_t>(j * 64 + i)] = logit(std::min(h, 0.999F));
    }
  }
  return map;
}

TEST(HeatmapRefinement, MovesOntoThePeak) {
  const Vector2f truth(101, 77);
  const RefinedPoint point = refine_landmark(bump(truth, 0.9F), {93, 84});
  EXPECT_TRUE(point.refined);
  EXPECT_NEAR(point.position.x(), truth.x(), 0.5);
  EXPECT_NEAR(point.position.y(), truth.y(), 0.5);
  EXPECT_NEAR(point.peak, 0.9, 0.06);
}

TEST(HeatmapRefinement, ClimbsThreeTimes) {
  // The peak lies outside of the first 7x7 window (reach 3 cells = 12 to 14 px): one round reaches
  // 122 at most (the window's edge), three come within the half of a cell.
  const Vector2f truth(128, 128);
  const RefinedPoint point = refine_landmark(bump(truth, 0.95F, 8), {112, 128});
  EXPECT_NEAR(point.position.x(), truth.x(), 2.0);
}

TEST(HeatmapRefinement, LeavesAWeakPeakAlone) {
  const RefinedPoint point = refine_landmark(bump({100, 100}, 0.25F), {96, 96});
  EXPECT_FALSE(point.refined);
  EXPECT_EQ(point.position, Vector2f(96, 96));
  EXPECT_LT(point.peak, 0.3F);
  EXPECT_GT(point.peak, 0.1F);
}

TEST(HeatmapRefinement, ReadsColumnsAsXAndRowsAsY) {
  std::vector<float> map(64 * 64, -20.0F);
  map[10 * 64 + 20] = 5;  // row 10, column 20
  const RefinedPoint point = refine_landmark(map, {80, 44});
  EXPECT_NEAR(point.position.x(), 80, 1e-3);
  EXPECT_NEAR(point.position.y(), 40, 1e-3);
}

TEST(HeatmapRefinement, CutsTheWindowAtTheEdges) {
  const RefinedPoint point = refine_landmark(bump({3, 253}, 0.9F), {1, 255});
  EXPECT_TRUE(point.refined);
  EXPECT_NEAR(point.position.x(), 5, 3);
  EXPECT_NEAR(point.position.y(), 251, 3);
}

TEST(HeatmapRefinement, KeepsPointsFarOutside) {
  const auto map = bump({100, 100}, 0.9F);
  for (const Vector2f& place : {Vector2f(-400, 100), Vector2f(1e9F, 100), Vector2f(100, -1e30F)}) {
    const RefinedPoint point = refine_landmark(map, place);
    EXPECT_FALSE(point.refined);
    EXPECT_EQ(point.position, place);
  }
  const float nan = std::numeric_limits<float>::quiet_NaN();
  EXPECT_FALSE(refine_landmark(map, {nan, 0}).refined);
}

class DecodedLandmarks : public ::testing::Test {
 protected:
  DecodedLandmarks() : values(195, 0.0F), heatmaps(39 * 64 * 64, -20.0F) {
    for (std::size_t k = 0; k < 39; ++k) {
      values[5 * k] = 128;
      values[5 * k + 1] = 128;
    }
    region.center_px = {500, 400};
    region.side_px = 512;
  }
  LandmarkResult decode(float presence = 0.9F) const {
    return decode_landmarks(values, presence, heatmaps, region, 1000, 800);
  }
  std::vector<float> values;
  std::vector<float> heatmaps;
  Region region;
};

TEST_F(DecodedLandmarks, DoNotPutTheBodyFlagThroughASecondSigmoid) {
  EXPECT_FLOAT_EQ(decode(0.0F).body.presence, 0.0F);  // a sigmoid would say 0.5
  EXPECT_FLOAT_EQ(decode(0.3F).body.presence, 0.3F);
}

TEST_F(DecodedLandmarks, ScaleDepthWithTheRegion) {
  values[5 * 26 + 2] = -30;
  EXPECT_FLOAT_EQ(decode().body.landmarks[26].depth_px, -60);
}

TEST_F(DecodedLandmarks, KeepTheRegressedPlaceBesideTheRefinedOne) {
  const auto map = bump({140, 120}, 0.9F);
  std::copy(map.begin(), map.end(), heatmaps.begin() + 25 * 64 * 64);
  const kinematics::LandmarkObservation knee = decode().body.landmarks[25];
  EXPECT_TRUE(knee.refined);
  EXPECT_EQ(knee.regressed_px, Vector2f(500, 400));
  EXPECT_NEAR(knee.position_px.x(), 524, 2);
  EXPECT_NEAR(knee.position_px.y(), 384, 2);
  // (140, 120) is the place of cell (35, 30): its value is the bump's full height.
  EXPECT_NEAR(knee.confidence, 0.9, 0.01);
}

TEST_F(DecodedLandmarks, MakeTheNextRegionFromPoints33And34Unrefined) {
  values[5 * 33] = 130;
  values[5 * 33 + 1] = 140;
  values[5 * 34] = 130;
  values[5 * 34 + 1] = 40;
  const auto map = bump({145, 130}, 0.9F);
  std::copy(map.begin(), map.end(), heatmaps.begin() + 33 * 64 * 64);
  const Region next = decode().next_region();
  EXPECT_NEAR(next.center_px.x(), 504, 1e-3);
  EXPECT_NEAR(next.center_px.y(), 424, 1e-3);
  EXPECT_NEAR(next.side_px, 2.5F * 200, 1e-2);
}

TEST(LandmarkConfidence, IsHalvedUnrefinedAndFadesOutsideThePicture) {
  const float inside = landmark_confidence(0.8F, true, {500, 400}, 500, 1000, 800);
  EXPECT_FLOAT_EQ(inside, 0.8F);
  EXPECT_FLOAT_EQ(landmark_confidence(0.2F, false, {500, 400}, 500, 1000, 800), 0.1F);
  EXPECT_FLOAT_EQ(landmark_confidence(0.8F, true, {500, 805}, 500, 1000, 800), 0.4F);
  EXPECT_FLOAT_EQ(landmark_confidence(0.8F, true, {-11, 400}, 500, 1000, 800), 0.0F);
}

}  // namespace
}  // namespace lintel::pose
