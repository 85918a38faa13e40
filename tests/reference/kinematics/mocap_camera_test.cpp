// Camera check and foreshortening on real squats (mocap.cs.cmu.edu, tests/data/mocap/README.md).
#include <gtest/gtest.h>

#include <cmath>

#include "kinematics/camera_check.h"
#include "kinematics/foreshortening.h"
#include "reference/kinematics/mocap.h"

namespace lintel::kinematics {
namespace {

using testing::deg;
using testing::Film;

// Near leg of a frame in the sagittal frame [px].
SideLeg leg_of(const ClipObservation& clip, std::size_t frame, const CameraCheck& check) {
  const auto point = [&](PairedLandmark joint) {
    return sagittal_from_picture<double>(point_px(*clip.frames[frame].body, joint, check.near_side),
                                         check.facing);
  };
  return {point(PairedLandmark::Hip), point(PairedLandmark::Knee), point(PairedLandmark::Ankle)};
}

struct Seen {
  Foreshortening from_standing;
  Foreshortening from_body;
};

Seen assess(const std::string& trial, int repetition, BodySide side, std::uint64_t seed) {
  const auto mocap = testing::read_mocap("squat-" + trial + "-rep" + std::to_string(repetition));
  Film settings;
  settings.camera.side = side;
  settings.camera.height = 0.9;
  settings.white_noise = seed == 0 ? 0 : 0.01;
  settings.seed = seed;
  settings.disc_radius = 0;
  const ClipObservation clip = film(mocap.time, mocap.figures(), settings);
  CameraCheckOptions options;
  const auto lengths = testing::segment_lengths(testing::bone_lengths(mocap), 0.03);
  options.lengths = lengths;
  const CameraFinding camera = check_camera(clip, options);
  EXPECT_EQ(camera.check.near_side, side);
  EXPECT_EQ(camera.check.facing, side == BodySide::Right ? 1.0 : -1.0);
  EXPECT_EQ(camera.check.view, View::Side);
  std::vector<SideLeg> standing;
  for (const std::size_t i : camera.standing_frames) {
    standing.push_back(leg_of(clip, i, camera.check));
  }
  const double bottom_time = testing::read_repetition_row(trial, repetition).at("bottom_time_s");
  std::size_t bottom = 0;
  while (mocap.time[bottom] < bottom_time - 1e-6) ++bottom;
  const double point_error = 0.01 * camera.check.pixels_per_metre.value;
  const LegPerspective perspective{
      sagittal_from_picture<double>({960.0, 540.0}, camera.check.facing), camera.focal_px.value};
  const SideLeg leg = leg_of(clip, bottom, camera.check);
  return {assess_foreshortening(leg, leg_lengths_from_standing(standing), point_error, perspective),
          assess_foreshortening(
              leg,
              leg_lengths_from_body(lengths[body::Segment::Thigh], lengths[body::Segment::Shank],
                                    camera.check.pixels_per_metre),
              point_error, perspective)};
}

// The README: thigh 157-164 degrees in the sagittal plane against 106 in space.
TEST(MocapForeshortening, TheWideSquatOfSubject14IsNoticed) {
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    for (std::uint64_t seed = 0; seed <= 4; ++seed) {
      const Seen seen = assess("14_14", 1, side, seed);
      for (const Foreshortening& f : {seen.from_standing, seen.from_body}) {
        EXPECT_TRUE(f.warned);
        EXPECT_GT(f.thigh_out_of_plane.value, deg(55));
        EXPECT_NEAR(f.thigh_in_space.value * kDegreesPerRadian, 106.0, 5.0) << "seed " << seed;
        EXPECT_GT(f.thigh_sagittal * kDegreesPerRadian, 130.0);
        const auto warning = foreshortening_warning(f);
        ASSERT_TRUE(warning.has_value());
        EXPECT_EQ(warning->code, WarningCode::ThighForeshortened);
      }
    }
  }
}

TEST(MocapForeshortening, TheSquatsOfSubject13AreNotRemarkedOn) {
  for (const int repetition : {1, 2}) {
    for (const BodySide side : {BodySide::Left, BodySide::Right}) {
      for (std::uint64_t seed = 0; seed <= 4; ++seed) {
        const Seen seen = assess("13_29", repetition, side, seed);
        EXPECT_FALSE(seen.from_standing.warned) << repetition << " seed " << seed;
        EXPECT_FALSE(seen.from_body.warned) << repetition << " seed " << seed;
      }
    }
  }
}

// Knee flexion in space at the bottom against reps.csv.
TEST(MocapForeshortening, KneeFlexionInSpaceComesNearTheTruth) {
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    const std::string name = side == BodySide::Left ? "left" : "right";
    const double truth =
        testing::read_repetition_row("14_14", 1).at("bottom_" + name + "_knee_flexion_3d_deg");
    const Foreshortening f = assess("14_14", 1, side, 0).from_body;
    EXPECT_NEAR(f.knee_flexion_in_space.value * kDegreesPerRadian, truth,
                2.5 * f.knee_flexion_in_space.standard_error * kDegreesPerRadian);
    EXPECT_LT(f.knee_flexion_in_space.standard_error, deg(20));
  }
}

}  // namespace
}  // namespace lintel::kinematics
