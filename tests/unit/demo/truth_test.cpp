#include "demo/truth.h"

#include <cmath>
#include <set>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "base/units.h"

namespace lintel::demo {
namespace {

using Json = nlohmann::json;

ClipSpec clip_named(const std::string& name) {
  for (const ClipSpec& clip : clip_table()) {
    if (clip.name == name) return clip;
  }
  ADD_FAILURE() << "no clip " << name;
  return {};
}

Json truth_of(const ClipSpec& clip) {
  const auto frames = clip_truth(clip);
  EXPECT_TRUE(frames) << frames.error();
  return Json::parse(truth_json(clip, *frames));
}

double x_of(const Json& p) {
  return p[0].get<double>();
}
double y_of(const Json& p) {
  return p[1].get<double>();
}

// Lean of the line from a to b in the sagittal plane [deg], by atan2 on the written joints.
double lean_deg(const Json& a, const Json& b) {
  return std::atan2(x_of(b) - x_of(a), y_of(b) - y_of(a)) * kDegreesPerRadian;
}

TEST(TruthFile, AnglesEqualThoseOfItsOwnJoints) {
  for (const char* name : {"side-30", "heels-lift", "wide-stance", "back-bar", "oblique-20"}) {
    const Json truth = truth_of(clip_named(name));
    for (const Json& frame : truth["frames"]) {
      const Json& j = frame["joints_m"];
      const Json& a = frame["angles_deg"];
      // Both sides are mirror images, so the right side's sagittal lines are the mid-plane's.
      const double trunk = lean_deg(j["right_hip"], j["right_shoulder"]);
      const double thigh = -lean_deg(j["right_knee"], j["right_hip"]);
      const double shank = lean_deg(j["right_ankle"], j["right_knee"]);
      const double arm = lean_deg(j["mid_shoulder"], j["bar"]);
      constexpr double kRounding = 2e-3;  // coordinates are written to a micrometre
      ASSERT_NEAR(a["trunk_inclination_deg"], trunk, kRounding) << name;
      ASSERT_NEAR(a["thigh_inclination_deg"], thigh, kRounding) << name;
      ASSERT_NEAR(a["shank_inclination_deg"], shank, kRounding) << name;
      ASSERT_NEAR(a["arm_inclination_deg"], arm, kRounding) << name;
      ASSERT_NEAR(a["knee_flexion_deg"], shank + thigh, kRounding) << name;
      ASSERT_NEAR(a["hip_flexion_deg"], trunk + thigh, kRounding) << name;
      ASSERT_NEAR(a["shoulder_elevation_deg"], 180 + trunk - arm, kRounding) << name;
      ASSERT_NEAR(a["ankle_dorsiflexion_deg"], shank - a["foot_inclination_deg"].get<double>(),
                  kRounding)
          << name;
    }
  }
}

TEST(TruthFile, PicturePointsAreTheProjectedJoints) {
  for (const char* name : {"side-yaw8", "front", "oblique-minus20", "demo"}) {
    const Json truth = truth_of(clip_named(name));
    const Json& c = truth["camera"];
    for (const Json& frame : truth["frames"]) {
      for (const auto& [joint, p] : frame["joints_m"].items()) {
        double q[3] = {0, 0, 0};
        for (int i = 0; i < 3; ++i) {
          for (int k = 0; k < 3; ++k) {
            q[i] += c["rotation_rows"][i][k].get<double>() *
                    (p[k].get<double>() - c["position_m"][k].get<double>());
          }
        }
        const double f = c["focal_px"];
        const Json& px = frame["joints_px"][joint];
        ASSERT_NEAR(x_of(px), c["principal_point_px"][0].get<double>() + f * q[0] / q[2], 0.01);
        ASSERT_NEAR(y_of(px), c["principal_point_px"][1].get<double>() + f * q[1] / q[2], 0.01);
      }
    }
  }
}

TEST(TruthFile, IsTheSameBytesEachTime) {
  const ClipSpec clip = clip_named("vfr");
  const auto first = clip_truth(clip);
  const auto second = clip_truth(clip);
  ASSERT_TRUE(first && second);
  EXPECT_EQ(truth_json(clip, *first), truth_json(clip, *second));
  ClipSpec other = clip;
  other.seed += 1;
  const auto third = clip_truth(other);
  ASSERT_TRUE(third);
  EXPECT_NE(truth_json(clip, *first), truth_json(other, *third));
}

TEST(TruthFile, HeelsLiftOnlyWhereTheClipSaysSo) {
  for (const ClipSpec& clip : clip_table()) {
    double highest = 0;
    const Json truth = truth_of(clip);
    for (const Json& frame : truth["frames"]) {
      highest = std::max(highest, frame["heel_lift_m"].get<double>());
    }
    if (clip.name == "heels-lift") {
      EXPECT_GT(highest, 0.03);
    } else {
      EXPECT_LT(highest, 1e-9) << clip.name;
    }
  }
}

TEST(TruthFile, LowestHipHeightFallsIntoTheStatedBottoms) {
  for (const ClipSpec& clip : clip_table()) {
    const Json truth = truth_of(clip);
    for (const Json& rep : truth["repetitions"]) {
      if (rep["outcome"] != "completed") continue;
      double lowest = 9;
      double when = 0;
      for (const Json& frame : truth["frames"]) {
        const double time = frame["time_s"];
        if (time < rep["start_s"].get<double>() || time > rep["end_s"].get<double>()) continue;
        if (frame["hip_height_m"].get<double>() < lowest) {
          lowest = frame["hip_height_m"];
          when = time;
        }
      }
      EXPECT_GT(when, rep["bottom_start_s"].get<double>() - 0.12) << clip.name;
      EXPECT_LT(when, rep["bottom_end_s"].get<double>() + 0.12) << clip.name;
    }
  }
}

TEST(TruthFile, NamesRepetitionsAndEventsOfTheSpecialClips) {
  EXPECT_EQ(truth_of(clip_named("five-reps"))["repetitions"].size(), 5U);
  EXPECT_EQ(truth_of(clip_named("demo"))["repetitions"].size(), 3U);
  EXPECT_EQ(truth_of(clip_named("forward-bend"))["repetitions"].size(), 0U);
  const Json failed = truth_of(clip_named("failed-rep"))["repetitions"];
  ASSERT_EQ(failed.size(), 2U);
  EXPECT_EQ(failed[0]["outcome"], "completed");
  EXPECT_EQ(failed[1]["outcome"], "failed");
}

TEST(AthleteFile, HandsNoSegmentLengthToTheMeasuringSide) {
  for (const ClipSpec& clip : clip_table()) {
    const Json athlete = Json::parse(athlete_json(clip));
    EXPECT_EQ(athlete["schema"], "lintel-athlete-1");
    std::set<std::string> keys;
    for (const auto& [key, value] : athlete["body"].items()) keys.insert(key);
    EXPECT_EQ(keys, (std::set<std::string>{"stature_cm", "mass_kg"})) << clip.name;
  }
  const Json small = Json::parse(athlete_json(clip_named("small-discs")));
  EXPECT_DOUBLE_EQ(small["setup"]["disc_diameter_mm"], 350.0);
}

TEST(Lifter, LengthsVaryButAddUpToTheStature) {
  double squares = 0;
  int count = 0;
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    const Lengths l = varied_lengths(1.75, 0.04, seed);
    const Lengths mean = mean_lengths(1.75);
    // Ankle height, bare, is 0.039 of the stature (Drillis & Contini).
    EXPECT_NEAR(0.039 * 1.75 + l.shank + l.thigh + l.trunk + l.head_neck, 1.75, 1e-12);
    squares += std::pow(l.upper_arm / mean.upper_arm - 1, 2);
    ++count;
  }
  EXPECT_NEAR(std::sqrt(squares / count), 0.04, 0.008);
}

}  // namespace
}  // namespace lintel::demo
