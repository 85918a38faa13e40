// Angles and distances off photos: by hand on points that are known, errors against sampling.
#include "kinematics/photo_measure.h"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "base/random.h"
#include "kinematics/landmarks.h"

namespace lintel::kinematics {
namespace {

using body::PhotoAxis;
using body::PhotoMeasure;
using body::PhotoRecipe;
using body::TestProtocol;
using Eigen::Vector2d;

constexpr double kDeg = kRadiansPerDegree;

TestProtocol protocol(PhotoRecipe recipe) {
  TestProtocol p;
  p.lowest = -2 * std::numbers::pi;
  p.highest = 2 * std::numbers::pi;
  p.photo = std::move(recipe);
  return p;
}

PhotoRecipe shank_recipe() {
  PhotoRecipe r;
  r.measure = PhotoMeasure::Turn;
  r.first.axis = PhotoAxis::Up;
  r.second = {PhotoAxis::Free, "ankle", "knee"};
  r.positive_towards = "toe";
  return r;
}

PhotoRecipe shoulder_recipe() {
  PhotoRecipe r;
  r.measure = PhotoMeasure::Turn;
  r.first = {PhotoAxis::Free, "shoulder", "hip"};
  r.second = {PhotoAxis::Free, "shoulder", "elbow"};
  r.positive_towards = "nose";
  return r;
}

// A point `length` px from `from`, turned clockwise from straight up.
Vector2d at_angle(const Vector2d& from, double length, double degrees) {
  return from + length * Vector2d(std::sin(degrees * kDeg), -std::cos(degrees * kDeg));
}

double degrees_of(const PhotoRecipe& recipe, const PhotoPoints& points) {
  const auto reading = measure_photo(protocol(recipe), points, {}, 400);
  EXPECT_TRUE(reading) << describe(reading.error());
  return reading ? reading->result.value * kDegreesPerRadian : NAN;
}

TEST(PhotoMeasure, ShankAgainstTheVerticalIsPositiveTowardsTheToes) {
  for (const double facing : {1.0, -1.0}) {
    for (const double lean : {38.0, 5.0, -12.0}) {
      PhotoPoints points;
      points["ankle"].position_px = {300, 500};
      points["toe"].position_px = {300 + facing * 60, 520};
      points["knee"].position_px = at_angle({300, 500}, 160, facing * lean);
      EXPECT_NEAR(degrees_of(shank_recipe(), points), lean, 1e-9) << facing;
    }
  }
}

TEST(PhotoMeasure, ShoulderFlexionGoesBeyond180OnEitherSide) {
  // Lying on the back, head left or right; the nose points up.
  for (const double head : {-1.0, 1.0}) {
    for (const double flexion : {95.0, 170.0, 180.0, 192.0, 230.0}) {
      PhotoPoints points;
      points["shoulder"].position_px = {400, 300};
      points["hip"].position_px = {400 - head * 200, 300};
      points["nose"].position_px = {400 + head * 60, 270};
      // Direction of the hip is -head * 90 deg from up; flexion turns through the ceiling.
      points["elbow"].position_px = at_angle({400, 300}, 120, -head * 90 + head * flexion);
      EXPECT_NEAR(degrees_of(shoulder_recipe(), points), flexion, 1e-9) << head;
    }
  }
}

TEST(PhotoMeasure, BetweenAndSlope) {
  PhotoRecipe between;
  between.first = {PhotoAxis::Free, "hip", "shoulder"};
  between.second = {PhotoAxis::Free, "hip", "knee"};
  between.factor = -1;
  between.offset = std::numbers::pi;
  PhotoPoints points;
  points["hip"].position_px = {300, 300};
  points["shoulder"].position_px = at_angle({300, 300}, 150, -90);
  points["knee"].position_px = at_angle({300, 300}, 120, -30);
  EXPECT_NEAR(degrees_of(between, points), 120, 1e-9);  // flexed by 120 from straight

  PhotoRecipe slope;
  slope.measure = PhotoMeasure::Slope;
  slope.first = {PhotoAxis::Free, "shoulder", "other_shoulder"};
  slope.second.axis = PhotoAxis::Horizontal;
  points["other_shoulder"].position_px = at_angle(points["shoulder"].position_px, 80, -40);
  EXPECT_NEAR(degrees_of(slope, points), 50, 1e-9);
  std::swap(points["shoulder"].position_px, points["other_shoulder"].position_px);
  EXPECT_NEAR(degrees_of(slope, points), 50, 1e-9);
}

TEST(PhotoMeasure, DistanceByAKnownLength) {
  PhotoRecipe r;
  r.measure = PhotoMeasure::Distance;
  r.first = {PhotoAxis::Free, "toe", "wall"};
  r.second.axis = PhotoAxis::Horizontal;
  TestProtocol p = protocol(r);
  p.unit = body::ProtocolUnit::Centimetres;
  PhotoPoints points;
  points["toe"].position_px = {200, 400};
  points["wall"].position_px = {260, 350};
  EXPECT_FALSE(measure_photo(p, points, {}, 500));
  const KnownLength tape{{100, 420}, {400, 420}, 0.50};
  const auto reading = measure_photo(p, points, tape, 600);
  ASSERT_TRUE(reading);
  EXPECT_NEAR(reading->result.value, 0.10, 1e-12);
  // Depth 3 %, ends of the tape hypot(0.5, 2 mm) px each: by hand.
  const double ends = std::numbers::sqrt2 * std::hypot(0.5, 0.002 * 600) / 300;
  EXPECT_NEAR(reading->from_length, 0.10 * std::hypot(0.03, ends), 1e-12);
  EXPECT_FALSE(measure_photo(p, points, KnownLength{{100, 420}, {105, 420}, 0.5}, 600));
}

// The spread of a thousand noisy photos, seeded.
TEST(PhotoMeasure, ErrorIsThatOfSampling) {
  PhotoPoints truth;
  truth["shoulder"] = {{400, 300}, 4, false};
  truth["hip"] = {{200, 310}, 5, false};
  truth["nose"] = {{460, 270}, 4, false};
  truth["elbow"] = {at_angle({400, 300}, 120, 78), 3, false};
  const TestProtocol p = protocol(shoulder_recipe());
  const auto reading = measure_photo(p, truth, {}, 400);
  ASSERT_TRUE(reading);
  Random random(7);
  double sum = 0, squares = 0;
  constexpr int kDraws = 20000;
  for (int i = 0; i < kDraws; ++i) {
    PhotoPoints noisy = truth;
    for (auto& [name, point] : noisy) {
      point.position_px += point.error_px * Vector2d(random.normal(), random.normal());
    }
    const double value = measure_photo(p, noisy, {}, 400).value().result.value;
    sum += value;
    squares += value * value;
  }
  const double mean = sum / kDraws;
  const double sd = std::sqrt(squares / kDraws - mean * mean);
  EXPECT_NEAR(reading->from_points / sd, 1.0, 0.03);
}

TEST(PhotoMeasure, ThePictureMayBeTiltedByOneDegree) {
  PhotoPoints points;
  points["ankle"].position_px = {300, 500};
  points["toe"].position_px = {360, 520};
  points["knee"].position_px = at_angle({300, 500}, 160, 38);
  const auto reading = measure_photo(protocol(shank_recipe()), points, {}, 400);
  ASSERT_TRUE(reading);
  EXPECT_NEAR(reading->from_vertical, 1 * kDeg, 1e-12);  // data/mobility/tests.csv
  EXPECT_NEAR(reading->result.standard_error, 1 * kDeg, 1e-12);
}

TEST(PhotoMeasure, SaysWhatIsMissingOrCannotBe) {
  PhotoPoints points;
  points["ankle"].position_px = {300, 500};
  points["toe"].position_px = {360, 520};
  auto reading = measure_photo(protocol(shank_recipe()), points, {}, 400);
  ASSERT_FALSE(reading);
  EXPECT_EQ(reading.error().code, ErrorCode::NotFound);
  EXPECT_NE(reading.error().message.find("knee"), std::string::npos);
  points["knee"].position_px = {300, 500};
  EXPECT_FALSE(measure_photo(protocol(shank_recipe()), points, {}, 400));
  points["knee"].position_px = {300, 300};
  TestProtocol narrow = protocol(shank_recipe());
  narrow.lowest = 10 * kDeg;
  EXPECT_FALSE(measure_photo(narrow, points, {}, 400));
}

TEST(PointsFromBody, TakesTheTestedSideAndWidensWithDoubt) {
  BodyObservation body;
  body[Landmark::LeftKnee].position_px = {10, 20};
  body[Landmark::LeftKnee].confidence = 1.0F;
  body[Landmark::RightKnee].position_px = {30, 40};
  body[Landmark::RightKnee].confidence = 0.25F;
  PhotoRecipe r;
  r.first = {PhotoAxis::Free, "knee", "other_knee"};
  r.second = {PhotoAxis::Free, "mid_knee", "wall"};
  r.by_hand = {"wall"};
  const PhotoPoints points = points_from_body(r, body, BodySide::Left, 500);
  ASSERT_EQ(points.size(), 3u);
  EXPECT_EQ(points.at("knee").position_px, Vector2d(10, 20));
  EXPECT_EQ(points.at("other_knee").position_px, Vector2d(30, 40));
  EXPECT_EQ(points.at("mid_knee").position_px, Vector2d(20, 30));
  EXPECT_NEAR(points.at("knee").error_px, 0.012 * 500, 1e-6);
  EXPECT_NEAR(points.at("other_knee").error_px, 2 * 0.012 * 500, 1e-6);
  EXPECT_FALSE(uses_far_side(points));
}

TEST(PointsFromBody, TheSideTurnedAwayIsToldAndHasTwiceTheError) {
  BodyObservation body;
  for (auto& landmark : body.landmarks) landmark.confidence = 1.0F;
  PhotoRecipe r = shank_recipe();
  const auto error_of = [&](BodySide side) {
    return points_from_body(r, body, side, 500, BodySide::Left).at("knee").error_px;
  };
  EXPECT_NEAR(error_of(BodySide::Right), 0.012 * 500, 1e-6);
  EXPECT_NEAR(error_of(BodySide::Left), 2 * 0.012 * 500, 1e-6);
  PhotoPoints points = points_from_body(r, body, BodySide::Left, 500, BodySide::Left);
  EXPECT_TRUE(uses_far_side(points));
  EXPECT_FALSE(uses_far_side(points_from_body(r, body, BodySide::Right, 500, BodySide::Left)));
  for (auto& [name, point] : points) point = {point.position_px, 4, true};
  EXPECT_FALSE(uses_far_side(points)) << "a person has put them right";
  // From the front no side is the far one.
  r.view = SketchView::Front;
  EXPECT_FALSE(uses_far_side(points_from_body(r, body, BodySide::Left, 500, BodySide::Left)));
}

}  // namespace
}  // namespace lintel::kinematics
