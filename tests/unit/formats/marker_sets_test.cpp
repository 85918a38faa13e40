#include "formats/marker_sets.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using kinematics::Landmark;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

struct Marker {
  std::string label;
  std::array<float, 3> position;
};

C3dMotion motion_of(const std::vector<Marker>& markers) {
  C3dMotion motion;
  motion.frame_rate = 100;
  motion.frame_count = 1;
  for (const Marker& marker : markers) {
    motion.labels.push_back(marker.label);
    motion.samples.push_back({marker.position, 0.0F});
  }
  return motion;
}

const MarkerSet& set_named(std::string_view id) {
  for (const MarkerSet& set : built_in_marker_sets()) {
    if (set.id == id) return set;
  }
  throw std::runtime_error("no set");
}

// Faces +y, up +z, the front spines 0.24 m apart: x is to the right.
std::vector<Marker> skin_markers(const std::string& prefix = "") {
  std::vector<Marker> markers = {{"LASI", {-0.12F, 0.10F, 1.0F}},  {"RASI", {0.12F, 0.10F, 1.0F}},
                                 {"LPSI", {-0.04F, -0.10F, 1.0F}}, {"RPSI", {0.04F, -0.10F, 1.0F}},
                                 {"LSHO", {-0.2F, 0, 1.45F}},      {"RSHO", {0.2F, 0, 1.45F}},
                                 {"LKNE", {-0.1F, 0, 0.5F}},       {"RKNE", {0.1F, 0, 0.5F}},
                                 {"LANK", {-0.1F, 0, 0.1F}},       {"RANK", {0.1F, 0, 0.1F}},
                                 {"LWRA", {-0.3F, 0.1F, 1.9F}},    {"LWRB", {-0.3F, -0.1F, 1.9F}}};
  for (Marker& marker : markers) marker.label = prefix + marker.label;
  return markers;
}

Eigen::Vector3d landmark(const kinematics::MarkerClip& clip, Landmark which) {
  return clip.frames.at(0)[static_cast<std::size_t>(which)].value();
}

TEST(MarkerSets, BuiltInOnesHaveSourcesAndTheJointsOfASquat) {
  std::set<std::string> ids;
  for (const MarkerSet& set : built_in_marker_sets()) {
    EXPECT_TRUE(ids.insert(set.id).second);
    EXPECT_FALSE(set.source.empty());
    const auto has = [&](Landmark which) {
      return !set.markers[static_cast<std::size_t>(which)].empty();
    };
    for (const Landmark which : {Landmark::LeftShoulder, Landmark::RightShoulder,
                                 Landmark::LeftKnee, Landmark::RightAnkle}) {
      EXPECT_TRUE(has(which)) << set.id;
    }
    EXPECT_TRUE(set.hip.has_value() != (has(Landmark::LeftHip) && has(Landmark::RightHip)));
  }
}

// Bell, Brand, Pedersen 1989: 14 % of the breadth inwards, 30 % down, 19 % back; by hand with 0.24
// m.
TEST(MarkerSets, PutsTheHipCentresByThePelvis) {
  const auto clip = landmarks_of(motion_of(skin_markers()), set_named("skin-markers"));
  ASSERT_TRUE(clip.has_value()) << describe(clip.error());
  const Eigen::Vector3d left = landmark(*clip, Landmark::LeftHip);
  EXPECT_LT((left - Eigen::Vector3d(-0.12 + 0.0336, 0.10 - 0.0456, 1.0 - 0.072)).norm(), 1e-6);
  const Eigen::Vector3d right = landmark(*clip, Landmark::RightHip);
  EXPECT_LT((right - Eigen::Vector3d(0.12 - 0.0336, 0.10 - 0.0456, 1.0 - 0.072)).norm(), 1e-6);
  // Two markers make one landmark; one alone makes none.
  EXPECT_LT((landmark(*clip, Landmark::LeftWrist) - Eigen::Vector3d(-0.3, 0, 1.9)).norm(), 1e-6);
  EXPECT_FALSE(clip->frames[0][static_cast<std::size_t>(Landmark::RightWrist)].has_value());
}

TEST(MarkerSets, ALandmarkIsNotSeenWhenOneOfItsMarkersIsLost) {
  C3dMotion motion = motion_of(skin_markers());
  motion.samples[3].residual = -1;   // RPSI
  motion.samples[11].residual = -1;  // LWRB
  const auto clip = landmarks_of(motion, set_named("skin-markers"));
  ASSERT_TRUE(clip.has_value());
  for (const Landmark which : {Landmark::LeftHip, Landmark::RightHip, Landmark::LeftWrist}) {
    EXPECT_FALSE(clip->frames[0][static_cast<std::size_t>(which)].has_value());
  }
  EXPECT_TRUE(clip->frames[0][static_cast<std::size_t>(Landmark::LeftKnee)].has_value());
}

TEST(MarkerSets, TakesUpFromTheFileAndTheNameOfThePersonOff) {
  C3dMotion motion = motion_of(skin_markers("Runa:"));
  const MarkerSet& set = best_marker_set(motion, built_in_marker_sets());
  EXPECT_EQ(set.id, "skin-markers");
  EXPECT_EQ(landmarks_of(motion, set)->up, Eigen::Vector3d::UnitZ());
  motion.y_screen = "-Y";
  EXPECT_EQ(landmarks_of(motion, set)->up, Eigen::Vector3d(0, -1, 0));
  motion.y_screen = "+X";
  EXPECT_EQ(landmarks_of(motion, set)->up, Eigen::Vector3d::UnitX());
}

TEST(MarkerSets, SaysWhichJointsHaveNoMarker) {
  auto markers = skin_markers();
  markers.erase(markers.begin() + 7);  // RKNE
  const C3dMotion motion = motion_of(markers);
  EXPECT_THAT(match_markers(motion, set_named("skin-markers")).missing, ElementsAre("right_knee"));
  const auto clip = landmarks_of(motion, set_named("skin-markers"));
  ASSERT_FALSE(clip.has_value());
  EXPECT_THAT(clip.error().message, HasSubstr("right_knee"));
  EXPECT_THAT(clip.error().mend, HasSubstr("LKNE"));
}

TEST(MarkerSets, ReadsOwnSetsAndSaysWhatIsWrong) {
  const std::string good = R"({"schema": "lintel-marker-sets-1", "sets": [{"id": "a", "name": "b",
    "source": "our laboratory, 2026", "landmarks": {"left_knee": ["L1", "L2"]}}]})";
  const auto reading = read_marker_sets_json(good, "own.json");
  ASSERT_TRUE(reading.faults.empty()) << describe(reading.faults.front());
  EXPECT_THAT(reading.sets.at(0).markers[static_cast<std::size_t>(Landmark::LeftKnee)],
              ElementsAre("L1", "L2"));
  const auto fault = [&](const std::string& from, const std::string& to) {
    std::string bad = good;
    bad.replace(bad.find(from), from.size(), to);
    const auto read = read_marker_sets_json(bad, "own.json");
    return read.faults.empty() ? std::string() : describe(read.faults.front());
  };
  EXPECT_THAT(fault("left_knee", "left_kne"), HasSubstr("left_knee"));
  EXPECT_THAT(fault("[\"L1\", \"L2\"]", "[]"), HasSubstr("landmarks.left_knee"));
  EXPECT_THAT(fault("\"id\": \"a\", ", ""), HasSubstr("id"));
  EXPECT_THAT(fault("sets-1", "sets-2"), HasSubstr("schema"));
  EXPECT_FALSE(read_marker_sets_json("[", "own.json").faults.empty());
}

// Damage that schema and reader must both refuse.
TEST(MarkerSets, SchemaAndReaderAgree) {
  using nlohmann::json;
  const json schema = test_support::read_schema("marker-sets.schema.json");
  const json good = test_support::read_json_file(std::string(LINTEL_SOURCE_DIR) +
                                                 "/data/exchange/marker_sets.json");
  EXPECT_EQ(test_support::schema_complaints(schema, good), "");
  const auto refused = [&](const json& bad) {
    EXPECT_NE(test_support::schema_complaints(schema, bad), "") << bad.dump().substr(0, 300);
    EXPECT_FALSE(read_marker_sets_json(bad.dump(), "bad.json").faults.empty());
  };
  for (const char* key : {"id", "name", "source", "landmarks"}) {
    json bad = good;
    bad["sets"][0].erase(key);
    refused(bad);
  }
  for (const auto& [key, value] : good["sets"][0]["hip_from_pelvis"].items()) {
    json bad = good;
    bad["sets"][0]["hip_from_pelvis"].erase(key);
    refused(bad);
  }
  json bad = good;
  bad["sets"][0]["landmarks"]["left_knee"] = json::array();
  refused(bad);
  bad = good;
  bad["sets"][0]["hip_from_pelvis"]["medial"] = 14;
  refused(bad);
  bad = good;
  bad["sets"][0]["landmark"] = json::object();
  refused(bad);
  bad = good;
  bad["sets"] = json::array();
  refused(bad);
}

}  // namespace
}  // namespace lintel::formats
