#include "pose/pose_estimator.h"

#include <gtest/gtest.h>

#include "support/pose_synthetic.h"

namespace lintel::pose {
namespace {

using Eigen::Vector2f;

class Estimator : public ::testing::Test {
 protected:
  static Result<PoseEstimator> make(Variant variant, int threads) {
    const auto models = find_models();
    if (!models) return fail(models.error());
    return PoseEstimator::create(*models, variant, threads);
  }
};

Region whole(const Image& picture) {
  Region region;
  region.center_px =
      Vector2f(static_cast<float>(picture.width()), static_cast<float>(picture.height())) / 2;
  region.side_px = static_cast<float>(picture.width());
  return region;
}

Image exchange_red_and_blue(Image picture) {
  for (int y = 0; y < picture.height(); ++y) {
    for (int x = 0; x < picture.width(); ++x) {
      std::swap(picture.pixel(x, y)[0], picture.pixel(x, y)[2]);
    }
  }
  return picture;
}

TEST_F(Estimator, SeesTheDrawnFigureWhereItIs) {
  auto estimator = make(Variant::Lite, 1);
  ASSERT_TRUE(estimator) << describe(estimator.error());
  const Image picture = test::synthetic_picture(512);
  const auto result = estimator->landmarks(picture, whole(picture));
  ASSERT_TRUE(result) << describe(result.error());
  EXPECT_GT(result->body.presence, 0.9F);
  using kinematics::Landmark;
  // Drawn in 256ths: head at (128, 50), legs at x 112 and 144, shoes at y 228.
  const auto& body = result->body;
  EXPECT_NEAR(body[Landmark::Nose].position_px.x(), 256, 30);
  EXPECT_NEAR(body[Landmark::Nose].position_px.y(), 100, 40);
  EXPECT_GT(body[Landmark::LeftAnkle].position_px.y(), 380);
  EXPECT_NEAR(body[Landmark::LeftHip].position_px.x(), 256, 40);
}

TEST_F(Estimator, TheSameRegionInAPictureTwiceAsLargeGivesPointsTwiceAsFar) {
  auto estimator = make(Variant::Lite, 1);
  ASSERT_TRUE(estimator) << describe(estimator.error());
  const Image small = test::synthetic_picture(256);
  Image large(512, 512);
  for (int y = 0; y < 512; ++y) {
    for (int x = 0; x < 512; ++x) std::copy_n(small.pixel(x / 2, y / 2), 3, large.pixel(x, y));
  }
  const auto a = estimator->landmarks(small, whole(small));
  const auto b = estimator->landmarks(large, whole(large));
  ASSERT_TRUE(a && b);
  for (std::size_t k = 0; k < kinematics::kLandmarkCount; ++k) {
    EXPECT_NEAR(2 * a->body.landmarks[k].regressed_px.x(), b->body.landmarks[k].regressed_px.x(),
                2.5);
  }
}

TEST_F(Estimator, ReadsRedAsRed) {
  auto estimator = make(Variant::Lite, 1);
  ASSERT_TRUE(estimator) << describe(estimator.error());
  const Image picture = test::synthetic_picture(256);
  const Image exchanged = exchange_red_and_blue(picture);
  const auto right = estimator->landmarks(picture, whole(picture));
  const auto wrong = estimator->landmarks(exchanged, whole(exchanged));
  ASSERT_TRUE(right && wrong);
  // TensorFlow Lite's own flag for the picture in red-green-blue order is 0.99748731
  // (tests/reference/pose/data/golden.csv); the crop is the picture itself here.
  EXPECT_NEAR(right->body.presence, 0.99748731F, 1e-4);
  EXPECT_GT(std::abs(wrong->body.presence - right->body.presence), 1e-4);
}

TEST_F(Estimator, GivesTheSameWithOneAndTwoThreads) {
  const Image picture = test::synthetic_picture(256);
  auto one = make(Variant::Lite, 1);
  ASSERT_TRUE(one) << describe(one.error());
  const auto a = one->landmarks(picture, whole(picture));
  auto two = make(Variant::Lite, 2);
  ASSERT_TRUE(two);
  const auto b = two->landmarks(picture, whole(picture));
  ASSERT_TRUE(a && b);
  for (std::size_t k = 0; k < kinematics::kLandmarkCount; ++k) {
    EXPECT_EQ(a->body.landmarks[k].position_px, b->body.landmarks[k].position_px);
    EXPECT_EQ(a->heatmap_peak[k], b->heatmap_peak[k]);
  }
}

TEST_F(Estimator, TwoEstimatorsDoNotDisturbEachOther) {
  const Image picture = test::synthetic_picture(256);
  auto first = make(Variant::Lite, 1);
  ASSERT_TRUE(first) << describe(first.error());
  auto second = first->duplicate();
  ASSERT_TRUE(second);
  const auto a = first->landmarks(picture, whole(picture));
  ASSERT_TRUE(second->detect(picture));
  const Image black(256, 256);
  ASSERT_TRUE(second->landmarks(black, whole(black)));
  const auto b = first->landmarks(picture, whole(picture));
  ASSERT_TRUE(a && b);
  EXPECT_EQ(a->body.landmarks[25].position_px, b->body.landmarks[25].position_px);
}

TEST_F(Estimator, FindsNobodyInABlackPicture) {
  auto estimator = make(Variant::Lite, 1);
  ASSERT_TRUE(estimator) << describe(estimator.error());
  const Image black(320, 240);
  const auto persons = estimator->detect(black);
  ASSERT_TRUE(persons);
  EXPECT_TRUE(persons->empty());
  const auto result = estimator->landmarks(black, whole(black));
  ASSERT_TRUE(result);
  EXPECT_LT(result->body.presence, kLowestPresence);
}

TEST_F(Estimator, RefusesEmptyPicturesAndBadRegions) {
  auto estimator = make(Variant::Lite, 1);
  ASSERT_TRUE(estimator) << describe(estimator.error());
  EXPECT_EQ(estimator->detect(Image()).error().code, ErrorCode::Invalid);
  EXPECT_EQ(estimator->landmarks(Image(10, 10), Region{}).error().code, ErrorCode::Invalid);
  EXPECT_TRUE(estimator->detect(Image(1, 1)));
  EXPECT_EQ(make(Variant::Lite, 0).error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::pose
