// From points to a measured squat, as `lintel measure` does it, on optical motion capture of real
// people (mocap.cs.cmu.edu; tests/data/mocap/README.md): projected through a virtual side camera
// with landmark noise. No network.
#include <gtest/gtest.h>
#include <cmath>

#include "app/measure.h"
#include "reference/kinematics/mocap.h"

namespace lintel::test {
namespace {

using kinematics::Channel;
using kinematics::WarningCode;

app::Observation film_mocap(const std::string& stem, std::uint64_t seed, int every) {
  const testing::MocapClip mocap = testing::read_mocap(stem);
  std::vector<double> time;
  std::vector<testing::Figure3d> figures;
  const auto bodies = mocap.figures();
  for (std::size_t i = 0; i < mocap.time.size(); i += static_cast<std::size_t>(every)) {
    time.push_back(mocap.time[i]);
    figures.push_back(bodies[i]);
  }
  testing::Film settings;
  settings.camera.height = 0.9;
  // One centimetre of white noise and as much of slow wander: what refined landmarks showed on
  // rendered figures (reference/pose-network, from memory of the measurement there).
  settings.white_noise = 0.01;
  settings.drift = 0.01;
  settings.seed = seed;
  settings.disc_radius = 0;
  app::Observation observation;
  observation.clip = testing::film(time, figures, settings);
  observation.people = 1;
  observation.chosen_person = 1;
  observation.frames_with_body = static_cast<std::int64_t>(time.size());
  observation.film.frames = observation.frames_with_body;
  observation.film.mean_rate = 120.0 / every;
  observation.film.mean_brightness = 0.5;
  return observation;
}

app::MeasureRequest request_for(const std::string& stem) {
  app::MeasureRequest request;
  body::Athlete athlete;
  athlete.sex = body::Sex::Male;
  // The subject's own legs and trunk give a stature by Drillis and Contini's fractions: a user
  // would enter the stature itself.
  const auto bones = testing::bone_lengths(testing::read_mocap(stem));
  athlete.stature = (bones.shank + bones.thigh + bones.trunk) / 0.779;
  athlete.body_mass = 75;
  athlete.setup.bar_position = body::BarPosition::None;
  athlete.setup.bar_mass = 0;
  request.athlete = athlete;
  request.stature_known = true;
  return request;
}

bool warned(const kinematics::Measurement& measurement, WarningCode code) {
  return std::ranges::any_of(measurement.warnings,
                             [&](const auto& warning) { return warning.code == code; });
}

class CapturedSquat : public ::testing::TestWithParam<int> {};

TEST_P(CapturedSquat, TrunkIsWithinOneAndAHalfDegrees) {
  const int repetition = GetParam();
  const std::string stem = "squat-13_29-rep" + std::to_string(repetition);
  const testing::MocapClip mocap = testing::read_mocap(stem);
  for (const std::uint64_t seed : {1U, 2U, 3U}) {
    const app::Observation observation = film_mocap(stem, seed, 4);
    const auto measured = app::measure_observation(observation, request_for(stem), {});
    ASSERT_TRUE(measured.has_value()) << describe(measured.error());
    ASSERT_TRUE(measured->side.has_value());
    const kinematics::Measurement& m = *measured->side;
    double squares = 0;
    for (std::size_t i = 0; i < m.time.size(); ++i) {
      const std::size_t frame = 4 * i;
      const Eigen::Vector2d hip = mocap.sagittal(mocap.mid("hip", frame));
      const Eigen::Vector2d shoulder = mocap.sagittal(mocap.mid("shoulder", frame));
      const double truth = std::atan2(shoulder.x() - hip.x(), shoulder.y() - hip.y());
      const double error = m[Channel::TrunkInclination].fitted[i] - truth;
      squares += error * error;
    }
    const double rms = std::sqrt(squares / static_cast<double>(m.time.size())) * kDegreesPerRadian;
    std::printf("%s seed %d: trunk %.2f degrees RMS\n", stem.c_str(), static_cast<int>(seed), rms);
    EXPECT_LE(rms, 1.5);
    EXPECT_EQ(m.repetitions.size(), 1U);
  }
}
INSTANTIATE_TEST_SUITE_P(Repetitions, CapturedSquat, ::testing::Values(1, 2));

TEST(CapturedForwardBend, IsNotCountedAsASquat) {
  const app::Observation observation = film_mocap("other-13_29-toe-touch", 1, 2);
  const auto measured = app::measure_observation(observation, request_for("squat-13_29-rep1"), {});
  ASSERT_TRUE(measured.has_value()) << describe(measured.error());
  ASSERT_TRUE(measured->side.has_value());
  EXPECT_TRUE(measured->side->repetitions.empty());
  EXPECT_TRUE(warned(*measured->side, WarningCode::NoRepetition));
}

TEST(CapturedWideSquat, IsRecognisedAsForeshortenedAndGivenInSpace) {
  // Subject 14 squats wide, toes out, heels up: the thigh seen from the side stands at 157 to 164
  // degrees where it is 106 in space (README of the data).
  const std::string stem = "squat-14_14-rep1";
  const app::Observation observation = film_mocap(stem, 1, 4);
  const auto measured = app::measure_observation(observation, request_for(stem), {});
  ASSERT_TRUE(measured.has_value()) << describe(measured.error());
  ASSERT_TRUE(measured->side.has_value());
  const kinematics::Measurement& m = *measured->side;
  ASSERT_EQ(m.repetitions.size(), 1U);
  EXPECT_TRUE(warned(m, WarningCode::ThighForeshortened));
  const std::size_t bottom = m.repetitions.front().bottom_frame;
  const double thigh = measured->fit->thigh_inclination_3d.value[bottom] * kDegreesPerRadian;
  EXPECT_NEAR(thigh, 106.0, 12.0);
}

}  // namespace
}  // namespace lintel::test
