// Repetitions of real squats (mocap.cs.cmu.edu, tests/data/mocap/README.md), filmed by a virtual
// camera with landmark noise: counts must be exact, bottoms near the labelled times.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "kinematics/camera_check.h"
#include "kinematics/raw_curves.h"
#include "kinematics/repetitions.h"
#include "reference/kinematics/mocap.h"

namespace lintel::kinematics {
namespace {

using testing::Film;
using testing::MocapClip;

struct Case {
  std::vector<std::string> stems;  // joined in time
  std::vector<double> joint_time;  // [s] start of each on the common time axis
  std::vector<double> bottom;      // [s] labelled, on the common axis
};

Case both_repetitions_of_13_29() {
  const auto first = testing::read_repetition_row("13_29", 1);
  const auto second = testing::read_repetition_row("13_29", 2);
  const double offset =
      (second.at("amc_first_frame") - first.at("amc_first_frame")) / first.at("rate_hz");
  return {{"squat-13_29-rep1", "squat-13_29-rep2"},
          {0.0, offset},
          {first.at("bottom_time_s"), offset + second.at("bottom_time_s")}};
}
Case one_repetition(const std::string& trial, int number) {
  return {{"squat-" + trial + "-rep" + std::to_string(number)},
          {0.0},
          {testing::read_repetition_row(trial, number).at("bottom_time_s")}};
}

// Every n-th frame of the joined clip, filmed from the side; drops frames at random for a variable
// frame rate.
std::vector<RepetitionEvents> count(const Case& c, const Film& settings, double rate,
                                    bool variable_rate, std::vector<double>& time_out) {
  std::vector<double> time;
  std::vector<testing::Figure3d> figures;
  testing::FigureLengths lengths;
  for (std::size_t k = 0; k < c.stems.size(); ++k) {
    const MocapClip clip = testing::read_mocap(c.stems[k]);
    lengths = testing::bone_lengths(clip);
    const auto bodies = clip.figures();
    for (std::size_t i = 0; i < clip.time.size(); ++i) {
      const double t = c.joint_time[k] + clip.time[i];
      if (!time.empty() && t <= time.back() + 1e-6) continue;
      time.push_back(t);
      figures.push_back(bodies[i]);
    }
  }
  // Nearest captured frame (120/s or 60/s) to each frame of the film.
  std::vector<double> film_time;
  std::vector<testing::Figure3d> film_figures;
  unsigned chance = 7;
  for (double t = time.front(); t <= time.back(); t += 1.0 / rate) {
    chance = chance * 1103515245u + 12345u;
    if (variable_rate && (chance >> 16) % 4 == 0) continue;
    const auto i = static_cast<std::size_t>(std::lower_bound(time.begin(), time.end(), t - 1e-5) -
                                            time.begin());
    if (i >= time.size()) break;
    if (!film_time.empty() && time[i] <= film_time.back()) continue;
    film_time.push_back(time[i]);
    film_figures.push_back(figures[i]);
  }
  const ClipObservation clip = film(film_time, film_figures, settings);
  CameraCheckOptions options;
  options.lengths = testing::segment_lengths(lengths, 0.03);
  const CameraFinding camera = check_camera(clip, options);
  const auto curves = raw_curves(clip, camera.check);
  time_out = film_time;
  const auto found =
      find_repetitions({film_time, curves[static_cast<std::size_t>(Channel::HipHeight)],
                        curves[static_cast<std::size_t>(Channel::KneeFlexion)]});
  EXPECT_TRUE(found.has_value());
  return found.value_or(std::vector<RepetitionEvents>{});
}

Film noisy_side_film(std::uint64_t seed, BodySide side) {
  Film settings;
  settings.camera.side = side;
  settings.camera.height = 0.9;
  settings.white_noise = 0.01;
  settings.drift = 0.01;
  settings.seed = seed;
  settings.disc_radius = 0;
  return settings;
}

class MocapRepetitions : public ::testing::TestWithParam<double> {};

TEST_P(MocapRepetitions, TwoSquatsAreCountedInTrial13_29) {
  const Case c = both_repetitions_of_13_29();
  std::vector<double> time;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const auto found = count(c, noisy_side_film(seed, BodySide::Right), GetParam(), false, time);
    ASSERT_EQ(found.size(), 2u) << "seed " << seed;
    for (std::size_t k = 0; k < 2; ++k) {
      EXPECT_EQ(found[k].outcome, RepetitionOutcome::Completed);
      EXPECT_NEAR(found[k].bottom_time, c.bottom[k], 0.10) << "seed " << seed;
      EXPECT_NEAR(time[found[k].bottom_frame], found[k].bottom_time, 0.5 / GetParam() + 1e-9);
      EXPECT_LT(found[k].start_frame, found[k].bottom_frame);
      EXPECT_LT(found[k].bottom_frame, found[k].end_frame);
    }
    EXPECT_LE(found[0].end_frame, found[1].start_frame + 1);
  }
}

TEST_P(MocapRepetitions, OneSquatIsCountedInTrial14_14FromTheLeftSide) {
  const Case c = one_repetition("14_14", 1);
  std::vector<double> time;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const auto found = count(c, noisy_side_film(seed, BodySide::Left), GetParam(), false, time);
    ASSERT_EQ(found.size(), 1u) << "seed " << seed;
    EXPECT_NEAR(found[0].bottom_time, c.bottom[0], 0.10) << "seed " << seed;
  }
}

TEST_P(MocapRepetitions, AForwardBendIsNotASquat) {
  std::vector<double> time;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const Case c{{"other-13_29-toe-touch"}, {0.0}, {}};
    EXPECT_TRUE(
        count(c, noisy_side_film(seed, BodySide::Right), std::min(GetParam(), 60.0), false, time)
            .empty())
        << "seed " << seed;
  }
}

TEST_P(MocapRepetitions, MissingFramesDoNotChangeTheCount) {
  const Case c = both_repetitions_of_13_29();
  std::vector<double> time;
  const auto found = count(c, noisy_side_film(3, BodySide::Right), GetParam(), true, time);
  ASSERT_EQ(found.size(), 2u);
  for (std::size_t k = 0; k < 2; ++k) EXPECT_NEAR(found[k].bottom_time, c.bottom[k], 0.12);
}

INSTANTIATE_TEST_SUITE_P(Rates, MocapRepetitions, ::testing::Values(24.0, 30.0, 60.0, 120.0),
                         [](const auto& instance) {
                           return "at" + std::to_string(static_cast<int>(instance.param));
                         });

}  // namespace
}  // namespace lintel::kinematics
