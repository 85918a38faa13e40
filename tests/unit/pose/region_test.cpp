#include "pose/region.h"

#include <gtest/gtest.h>

#include <numbers>

#include "pose/landmark_network.h"

namespace lintel::pose {
namespace {

using Eigen::Vector2f;
constexpr float kPi = std::numbers::pi_v<float>;

void expect_near(const Vector2f& a, const Vector2f& b, float tolerance = 1e-3F) {
  EXPECT_NEAR(a.x(), b.x(), tolerance);
  EXPECT_NEAR(a.y(), b.y(), tolerance);
}

TEST(Region, IsTwoAndAHalfTimesTheDistanceWide) {
  const Region region = region_from({300, 500}, {300, 300});
  EXPECT_FLOAT_EQ(region.side_px, 500);
  EXPECT_NEAR(region.angle, 0, 1e-6);
}

TEST(Region, TurnsSoThatTheSizePointIsAboveTheCentre) {
  // A lifter at the bottom leans to image right: the size point is up and to the right.
  const Region right = region_from({300, 500}, {400, 400});
  EXPECT_NEAR(right.angle, kPi / 4, 1e-6);
  const Region left = region_from({300, 500}, {200, 400});
  EXPECT_NEAR(left.angle, -kPi / 4, 1e-6);
  for (const Vector2f& point :
       {Vector2f(400, 400), Vector2f(200, 400), Vector2f(300, 390), Vector2f(310, 640)}) {
    const Region region = region_from({300, 500}, point);
    const Vector2f seen = region.to_crop(point);
    EXPECT_NEAR(seen.x(), 128, 1e-2);
    EXPECT_NEAR(seen.y(), 128 - 256 / 2.5, 1e-2);
    EXPECT_GT(region.angle, -kPi);
    EXPECT_LE(region.angle, kPi);
  }
}

TEST(Region, GoesThereAndBack) {
  Region region;
  region.center_px = {812.5F, 431.0F};
  region.side_px = 700;
  region.angle = 0.6F;
  for (const Vector2f& p : {Vector2f(0, 0), Vector2f(1000, 20), Vector2f(-30, 700)}) {
    expect_near(region.to_picture(region.to_crop(p)), p, 1e-2F);
  }
  expect_near(region.to_picture({128, 128}), region.center_px);
}

TEST(Region, VanishingOrEndlessOnesAreNotValid) {
  EXPECT_FALSE(region_from({5, 5}, {5, 5}).valid());
  Region region = region_from({5, 5}, {5, 90});
  EXPECT_TRUE(region.valid());
  region.center_px.x() = std::numeric_limits<float>::quiet_NaN();
  EXPECT_FALSE(region.valid());
}

// A white square of 9 px in the picture must show where to_crop() says, turned regions included:
// a wrong sign of the turn looks right while upright and fails at the bottom of a squat.
TEST(Crop, ShowsAPointWhereTheRegionSaysItIs) {
  for (const float angle : {0.0F, 0.6F, -0.6F, 2.5F}) {
    Image picture(640, 480);
    const Vector2f mark(400.5F, 150.5F);
    for (int y = 146; y <= 154; ++y) {
      for (int x = 396; x <= 404; ++x) std::fill_n(picture.pixel(x, y), 3, std::uint8_t{255});
    }
    Region region;
    region.center_px = {350, 200};
    region.side_px = 256;
    region.angle = angle;
    const auto crop = crop_region(picture, region);
    ASSERT_TRUE(crop);
    Vector2f moment(0, 0);
    float weight = 0;
    for (int v = 0; v < crop->height(); ++v) {
      for (int u = 0; u < crop->width(); ++u) {
        const auto value = static_cast<float>(crop->pixel(u, v)[1]);
        moment += value * Vector2f(static_cast<float>(u) + 0.5F, static_cast<float>(v) + 0.5F);
        weight += value;
      }
    }
    ASSERT_GT(weight, 255 * 40);
    expect_near(moment / weight, region.to_crop(mark), 0.05F);
  }
}

TEST(Crop, IsBlackOutsideOfThePicture) {
  Image picture(100, 100);
  std::fill(picture.bytes().begin(), picture.bytes().end(), std::uint8_t{200});
  Region region;
  region.center_px = {0, 0};
  region.side_px = 100;
  const auto crop = crop_region(picture, region);
  ASSERT_TRUE(crop);
  EXPECT_EQ(crop->pixel(20, 20)[0], 0);
  EXPECT_EQ(crop->pixel(200, 200)[0], 200);
}

TEST(Crop, RefusesARegionThatIsNoSquare) {
  const Image picture(100, 100);
  EXPECT_EQ(crop_region(picture, Region{}).error().code, ErrorCode::Invalid);
  EXPECT_EQ(crop_region(Image(), region_from({5, 5}, {5, 90})).error().code, ErrorCode::Invalid);
  Region far = region_from({5, 5}, {5, 90});
  far.center_px.x() = 1e9F;
  EXPECT_EQ(crop_region(picture, far).error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::pose
