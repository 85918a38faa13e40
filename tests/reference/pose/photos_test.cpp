// The networks on photographs of real people, against joint positions noted by hand.
//
// The photographs come with Debian's package opencv-doc (Apache-2.0 and BSD-3-Clause); they are
// not part of this repository and are told by their SHA-256. The coordinates were read by one
// person from a fourfold enlargement with a 20 px grid, before the networks' answers were looked
// at; joints under clothes were guessed to some 10 px. So this is a check for gross faults (left
// and right, rotation, scale, colour order), not a measurement of accuracy.
#include <gtest/gtest.h>

#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "pose/body_tracker.h"
#include "pose/lifter_choice.h"
#include "pose/pose_estimator.h"
#include "pose/side_check.h"
#include "secure/sha256.h"

namespace lintel::pose {
namespace {

namespace fs = std::filesystem;
using Eigen::Vector2f;
using kinematics::BodyObservation;
using kinematics::Landmark;

struct NotedJoint {
  Landmark landmark;
  Vector2f position_px;
};

// 548 x 342: a footballer in a deep lunge, one knee fully bent, the other leg stretched out.
constexpr const char* kLunge = "1d570e49654e84c7a943918537bd9e5e1ef82920152e147c834006e235be97c9";
const std::vector<NotedJoint> kLungeJoints = {
    {Landmark::RightShoulder, {200, 128}}, {Landmark::LeftShoulder, {275, 125}},
    {Landmark::RightElbow, {143, 118}},    {Landmark::LeftElbow, {308, 141}},
    {Landmark::LeftWrist, {345, 165}},     {Landmark::RightHip, {238, 245}},
    {Landmark::LeftHip, {285, 235}},       {Landmark::RightKnee, {228, 282}},
    {Landmark::LeftKnee, {358, 250}},      {Landmark::RightAnkle, {283, 318}},
    {Landmark::LeftAnkle, {423, 270}}};

// 640 x 480, grey: a man standing at the left, a ball held in front of the face; of a second man
// only an arm is to be seen.
constexpr const char* kStanding =
    "ba06f6701f7260998b430c39b6557f775497e6ce7b1a74f0b7ea6af371bf54a6";
const std::vector<NotedJoint> kStandingJoints = {
    {Landmark::RightShoulder, {55, 160}}, {Landmark::LeftShoulder, {115, 160}},
    {Landmark::RightElbow, {92, 212}},    {Landmark::LeftElbow, {140, 215}},
    {Landmark::RightWrist, {128, 163}},   {Landmark::LeftWrist, {143, 165}},
    {Landmark::RightHip, {65, 285}},      {Landmark::LeftHip, {112, 290}},
    {Landmark::RightKnee, {62, 385}},     {Landmark::LeftKnee, {118, 385}},
    {Landmark::RightAnkle, {60, 462}},    {Landmark::LeftAnkle, {118, 452}}};

// The same scene a moment later.
constexpr const char* kStandingLater =
    "b3047772e0dc6c9d83c26f64894ca1a897f799f855c5574ac24b2ef934c2978e";

Image to_image(const cv::Mat& mat) {
  Image image(mat.cols, mat.rows);
  for (int y = 0; y < mat.rows; ++y) std::memcpy(image.row(y), mat.ptr(y), image.stride());
  return image;
}

cv::Mat find_photo(const std::string& sha256) {
  const char* named = std::getenv("LINTEL_TEST_PHOTOS");
  const fs::path folder = named != nullptr ? named : "/usr/share/doc/opencv-doc/examples/data";
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder, error)) {
    const auto size = entry.is_regular_file(error) ? entry.file_size(error) : 0;
    if (size < 50'000 || size > 200'000) continue;
    std::ifstream in(entry.path(), std::ios::binary);
    const std::vector<std::uint8_t> bytes(std::istreambuf_iterator<char>(in), {});
    if (secure::sha256_hex(bytes) == sha256) return cv::imdecode(bytes, cv::IMREAD_COLOR);
  }
  return {};
}

#define LINTEL_NEED_PHOTO(mat)                                                            \
  if ((mat).empty())                                                                      \
  GTEST_SKIP() << "NO PHOTOGRAPHS: install the Debian package opencv-doc (scripts/setup " \
                  "does) or set LINTEL_TEST_PHOTOS"

class Photographs : public ::testing::TestWithParam<Variant> {
 protected:
  void SetUp() override {
    const auto models = find_models();
    ASSERT_TRUE(models) << describe(models.error());
    auto made = PoseEstimator::create(*models, GetParam(), 2);
    ASSERT_TRUE(made) << describe(made.error());
    estimator = std::make_unique<PoseEstimator>(std::move(*made));
  }
  LandmarkResult best(const Image& image) {
    const auto persons = estimator->detect(image);
    EXPECT_TRUE(persons && !persons->empty());
    if (!persons || persons->empty()) return {};
    EXPECT_GE(persons->front().score, 0.5F);
    const auto pose = estimator->landmarks(image, persons->front().region());
    EXPECT_TRUE(pose);
    return pose ? *pose : LandmarkResult{};
  }
  void compare(const LandmarkResult& pose, const std::vector<NotedJoint>& noted) {
    EXPECT_GT(pose.body.presence, 0.9F);
    float sum = 0;
    for (const NotedJoint& joint : noted) {
      const float error = (pose.body[joint.landmark].position_px - joint.position_px).norm();
      EXPECT_LT(error, 0.06F * pose.region.side_px)
          << "landmark " << static_cast<int>(joint.landmark);
      sum += error / pose.region.side_px;
    }
    const float mean = sum / static_cast<float>(noted.size());
    EXPECT_LT(mean, 0.035F);
    std::cout << variant_name(GetParam()) << ": mean distance to the noted joints " << 100 * mean
              << " % of the region's side\n";
  }
  std::unique_ptr<PoseEstimator> estimator;
};

TEST_P(Photographs, JointsOfADeepLungeAreWhereAPersonSeesThem) {
  const cv::Mat photo = find_photo(kLunge);
  LINTEL_NEED_PHOTO(photo);
  compare(best(to_image(photo)), kLungeJoints);
}

TEST_P(Photographs, JointsOfAStandingManAreWhereAPersonSeesThem) {
  const cv::Mat photo = find_photo(kStanding);
  LINTEL_NEED_PHOTO(photo);
  const LandmarkResult pose = best(to_image(photo));
  compare(pose, kStandingJoints);
  const auto y = [&](Landmark l) { return pose.body[l].position_px.y(); };
  EXPECT_LT(y(Landmark::Nose), y(Landmark::LeftShoulder));
  EXPECT_LT(y(Landmark::LeftShoulder), y(Landmark::LeftHip));
  EXPECT_LT(y(Landmark::LeftHip), y(Landmark::LeftKnee));
  EXPECT_LT(y(Landmark::LeftKnee), y(Landmark::LeftAnkle));
  EXPECT_LT(y(Landmark::RightShoulder), y(Landmark::RightHip));
  EXPECT_LT(y(Landmark::RightHip), y(Landmark::RightKnee));
  EXPECT_LT(y(Landmark::RightKnee), y(Landmark::RightAnkle));
}

// The region turns with the body: a picture turned by 35 degrees must give the same points turned.
TEST_P(Photographs, ATurnedPhotographGivesTurnedPoints) {
  const cv::Mat photo = find_photo(kLunge);
  LINTEL_NEED_PHOTO(photo);
  const LandmarkResult upright = best(to_image(photo));
  for (const double degrees : {35.0, -35.0}) {
    cv::Mat turn = cv::getRotationMatrix2D({274, 171}, degrees, 0.8);
    turn.at<double>(0, 2) += 126;
    turn.at<double>(1, 2) += 229;
    cv::Mat turned;
    cv::warpAffine(photo, turned, turn, {800, 800});
    const LandmarkResult pose = best(to_image(turned));
    float sum = 0;
    int count = 0;
    for (std::size_t k = 11; k <= 28; ++k) {  // shoulders to ankles
      if (k >= 17 && k <= 22) continue;       // knuckles and thumbs
      const Vector2f p = upright.body.landmarks[k].position_px;
      const cv::Mat at = turn * (cv::Mat_<double>(3, 1) << p.x(), p.y(), 1);
      const Vector2f expected(static_cast<float>(at.at<double>(0)),
                              static_cast<float>(at.at<double>(1)));
      sum += (pose.body.landmarks[k].position_px - expected).norm() / pose.region.side_px;
      ++count;
    }
    EXPECT_LT(sum / static_cast<float>(count), 0.025F) << degrees;
  }
}

// Seen in a mirror, left becomes right and all else stays.
TEST_P(Photographs, AMirroredPhotographExchangesTheSides) {
  const cv::Mat photo = find_photo(kStanding);
  LINTEL_NEED_PHOTO(photo);
  const LandmarkResult pose = best(to_image(photo));
  cv::Mat mirrored;
  cv::flip(photo, mirrored, 1);
  LandmarkResult other = best(to_image(mirrored));
  exchange_sides(other.body);
  float sum = 0;
  for (std::size_t k = 11; k <= 28; ++k) {
    const Vector2f p = other.body.landmarks[k].position_px;
    const Vector2f back(static_cast<float>(photo.cols) - p.x(), p.y());
    sum += (back - pose.body.landmarks[k].position_px).norm() / pose.region.side_px;
  }
  EXPECT_LT(sum / 18, 0.025F);
}

// Whether a heatmap's cell i stands for crop pixel 4 i or for the middle of its pixels decides on
// two crop pixels: in a mirror image a wrong choice moves every point to the same picture side.
TEST_P(Photographs, AMirrorImageShowsNoShiftOfRefinedPoints) {
  float sum = 0;
  int count = 0;
  for (const char* which : {kStanding, kStandingLater, kLunge}) {
    const cv::Mat photo = find_photo(which);
    LINTEL_NEED_PHOTO(photo);
    const LandmarkResult pose = best(to_image(photo));
    cv::Mat mirrored;
    cv::flip(photo, mirrored, 1);
    LandmarkResult other = best(to_image(mirrored));
    exchange_sides(other.body);
    for (std::size_t k = 11; k <= 32; ++k) {
      const auto& a = pose.body.landmarks[k];
      const auto& b = other.body.landmarks[k];
      if (!a.refined || !b.refined) continue;
      const float apart = a.position_px.x() - (static_cast<float>(photo.cols) - b.position_px.x());
      if (std::abs(apart) > 20 * pose.region.scale()) continue;  // not the same point at all
      sum += 0.5F * apart / pose.region.scale();
      ++count;
    }
  }
  ASSERT_GT(count, 30);
  std::printf("mean shift to the right: %.2f crop px\n", static_cast<double>(sum / count));
  EXPECT_LT(std::abs(sum / static_cast<float>(count)), 1.0F);
}

TEST_P(Photographs, TheTrackerStaysWithTheSameManThroughTwoPictures) {
  const cv::Mat first = find_photo(kStanding);
  const cv::Mat second = find_photo(kStandingLater);
  LINTEL_NEED_PHOTO(first);
  LINTEL_NEED_PHOTO(second);
  BodyTracker tracker(pose_source(*estimator), {});
  const auto a = tracker.track(to_image(first));
  const auto b = tracker.track(to_image(second));
  ASSERT_TRUE(a && *a && b && *b);
  EXPECT_EQ(tracker.detector_runs(), 1);
  for (const Landmark l : {Landmark::LeftHip, Landmark::RightKnee, Landmark::LeftShoulder}) {
    EXPECT_LT(((**a)[l].position_px - (**b)[l].position_px).norm(), 15);
  }
  const Image picture = to_image(second);
  const LifterSample sample{&picture, {}};
  const auto choice = choose_lifter(*estimator, std::span(&sample, 1));
  ASSERT_TRUE(choice && !choice->people.empty());
  EXPECT_EQ(choice->chosen, 0U);
  EXPECT_LT(choice->people[0].mean_x_px, 200);
  EXPECT_EQ(choose_lifter(*estimator, std::span(&sample, 1), 9).error().code, ErrorCode::Invalid);
}

INSTANTIATE_TEST_SUITE_P(Networks, Photographs,
                         ::testing::Values(Variant::Lite, Variant::Full, Variant::Heavy),
                         [](const auto& entry) { return std::string(variant_name(entry.param)); });

}  // namespace
}  // namespace lintel::pose
