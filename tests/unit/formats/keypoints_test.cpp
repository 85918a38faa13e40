#include "formats/keypoints.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/random.h"

namespace lintel::formats {
namespace {

using kinematics::ClipObservation;
using kinematics::Landmark;
using ::testing::HasSubstr;

ClipObservation random_clip(int frames) {
  Random random(5);
  ClipObservation clip;
  clip.width_px = 540;
  clip.height_px = 960;
  clip.nominal_rate = 60;
  for (int i = 0; i < frames; ++i) {
    kinematics::FrameObservation frame;
    frame.index = i * 2;
    frame.time = i / 30.0;
    if (i != 3) {
      kinematics::BodyObservation body;
      for (auto& landmark : body.landmarks) {
        if (random.uniform() < 0.1) continue;  // not seen
        landmark.position_px = {static_cast<float>(random.uniform(0, 540)),
                                static_cast<float>(random.uniform(-20, 960))};
        landmark.confidence = static_cast<float>(random.uniform(0.1, 1));
      }
      frame.body = body;
    }
    clip.frames.push_back(frame);
  }
  return clip;
}

void expect_same(const ClipObservation& before, const ClipObservation& after,
                 std::span<const Landmark> landmarks) {
  ASSERT_EQ(before.frames.size(), after.frames.size());
  for (std::size_t i = 0; i < before.frames.size(); ++i) {
    EXPECT_EQ(before.frames[i].index, after.frames[i].index);
    EXPECT_NEAR(before.frames[i].time, after.frames[i].time, 1e-8);
    ASSERT_EQ(before.frames[i].body.has_value(), after.frames[i].body.has_value()) << i;
    if (!before.frames[i].body) continue;
    for (const Landmark l : landmarks) {
      const auto& a = (*before.frames[i].body)[l];
      const auto& b = (*after.frames[i].body)[l];
      EXPECT_NEAR(a.confidence, b.confidence, 1e-4);
      if (a.confidence > 0) {
        EXPECT_NEAR(a.position_px.x(), b.position_px.x(), 1e-3);
        EXPECT_NEAR(a.position_px.y(), b.position_px.y(), 1e-3);
      }
    }
  }
}

// Order of the COCO data set (Lin et al., ECCV 2014), written down here a second time.
TEST(KeypointsJson, KeepsTheOrderOfCoco) {
  const ClipObservation clip = random_clip(1);
  const auto json = nlohmann::json::parse(write_keypoints_json(clip));
  const std::vector<std::string> names = {
      "nose",           "left_eye",   "right_eye",   "left_ear",   "right_ear",   "left_shoulder",
      "right_shoulder", "left_elbow", "right_elbow", "left_wrist", "right_wrist", "left_hip",
      "right_hip",      "left_knee",  "right_knee",  "left_ankle", "right_ankle"};
  EXPECT_EQ(json["keypoint_names"].get<std::vector<std::string>>(), names);
  const auto& points = json["frames"][0]["keypoints"];
  ASSERT_EQ(points.size(), 51u);
  const auto& left_hip = (*clip.frames[0].body)[Landmark::LeftHip];  // index 11
  EXPECT_NEAR(points[33].get<double>(), left_hip.confidence > 0 ? left_hip.position_px.x() : 0,
              1e-3);
  EXPECT_NEAR(points[35].get<double>(), left_hip.confidence, 1e-4);
}

TEST(KeypointsJson, ComesBackAsItWasWritten) {
  const ClipObservation clip = random_clip(7);
  const auto reading = read_keypoints_json(write_keypoints_json(clip), "k.json");
  ASSERT_TRUE(reading.clip) << describe(reading.faults[0]);
  EXPECT_EQ(reading.clip->width_px, 540);
  EXPECT_EQ(reading.clip->height_px, 960);
  EXPECT_EQ(reading.clip->nominal_rate, 60);
  expect_same(clip, *reading.clip, coco_order());
}

TEST(KeypointsCsv, ComesBackAsItWasWritten) {
  const ClipObservation clip = random_clip(7);
  const auto reading = read_keypoints_csv(write_keypoints_csv(clip), "k.csv");
  ASSERT_TRUE(reading.clip) << describe(reading.faults[0]);
  std::vector<Landmark> all;
  for (int l = 0; l < kinematics::kLandmarkCount; ++l) all.push_back(static_cast<Landmark>(l));
  expect_same(clip, *reading.clip, all);
}

TEST(KeypointsCsv, TakesSomeLandmarksInAnyOrderOfColumns) {
  const auto reading = read_keypoints_csv(
      "time_s,left_knee_confidence,left_knee_y_px,left_knee_x_px,frame\n"
      "0,0.9,20,10,0\n0.5,0,,,1\n",
      "");
  ASSERT_TRUE(reading.clip) << describe(reading.faults[0]);
  EXPECT_FLOAT_EQ((*reading.clip->frames[0].body)[Landmark::LeftKnee].position_px.x(), 10);
  EXPECT_FLOAT_EQ((*reading.clip->frames[0].body)[Landmark::LeftKnee].position_px.y(), 20);
  EXPECT_FALSE(reading.clip->frames[1].body);
}

TEST(KeypointsCsv, ReportsEveryFaultWithItsPlace) {
  const auto reading = read_keypoints_csv(
      "frame,time_s,left_knee_x_px,left_knee_y_px,left_knee_confidence\n"
      "0,0,10,20,0.9\n"
      "0,0.1,x,20,1.5\n"
      "2,0.05,10,,1\n"
      "3,0.2,10\n",
      "k.csv");
  EXPECT_FALSE(reading.clip);
  std::vector<std::string> found;
  for (const Error& fault : reading.faults) {
    found.push_back(std::to_string(fault.place.line) + ":" + std::to_string(fault.place.column) +
                    " " + fault.place.field);
    EXPECT_EQ(fault.place.file, "k.csv");
  }
  EXPECT_THAT(found,
              ::testing::ElementsAre("3:7 left_knee_x_px", "3:12 left_knee_confidence", "3:1 frame",
                                     "3:1 left_knee", "4:1 time_s", "4:1 left_knee", "5:1 "));
}

TEST(KeypointsCsv, SuggestsTheNearestColumn) {
  const auto reading = read_keypoints_csv(
      "frame,time_s,left_kne_x_px,left_knee_y_px,left_knee_confidence\n0,0,1,2,1\n", "");
  ASSERT_EQ(reading.faults.size(), 2u);
  EXPECT_THAT(reading.faults[0].mend, HasSubstr("left_knee_x_px"));
  EXPECT_EQ(reading.faults[0].place.column, 14);
  EXPECT_THAT(reading.faults[1].place.field, "left_knee_x_px");
}

TEST(KeypointsJson, ReportsFaultsWithTheirPlaces) {
  auto json = nlohmann::ordered_json::parse(write_keypoints_json(random_clip(2)));
  json["frames"][1]["frame"] = 0;
  json["frames"][0]["keypoints"][4] = "x";
  json["width_px"] = 1.5;
  json["wide"] = 1;
  json["keypoint_names"][2] = "left_eye";
  const auto reading = read_keypoints_json(json.dump(1), "k.json");
  std::vector<std::string> fields;
  for (const Error& fault : reading.faults) {
    fields.push_back(fault.place.field);
    EXPECT_GT(fault.place.line, 0);
  }
  EXPECT_THAT(fields, ::testing::UnorderedElementsAre("wide", "width_px", "keypoint_names[2]",
                                                      "frames[0].keypoints[4]", "frames[1].frame"));
}

TEST(Keypoints, SurviveHostileText) {
  for (const std::string& text :
       {std::string(), std::string("\n\n\n"), std::string(",,,\n"), std::string(100'000, ','),
        std::string("frame,time_s\n\"0,0"), std::string("frame,time_s\n1e400,nan\n")}) {
    EXPECT_FALSE(read_keypoints_csv(text, "").clip) << text.substr(0, 30);
    EXPECT_FALSE(read_keypoints_json(text, "").clip) << text.substr(0, 30);
  }
}

}  // namespace
}  // namespace lintel::formats
