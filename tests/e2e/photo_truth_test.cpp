// Single pictures of rendered clips through the way of test photos, against their exact truth. What
// is demanded follows from the error that the program states with every number: its 95 % interval.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "app/athlete_file.h"
#include "app/photo_body.h"
#include "app/test_library.h"
#include "kinematics/landmarks.h"
#include "kinematics/photo_measure.h"
#include "media/clip_reader.h"
#include "media/still.h"
#include "support/clip_truth.h"
#include "support/temporary_folder.h"

namespace lintel::test {
namespace {

using kinematics::BodySide;
using kinematics::Channel;

// Tests whose angle a squat shows too, where the skeleton of the truth has the same one.
struct Recipe {
  const char* protocol;
  Channel channel;
  bool of_arms;
};
constexpr std::array<Recipe, 5> kRecipes = {
    {{"knee_to_wall_angle", Channel::ShankInclination, false},
     {"knee_flexion_deep_squat", Channel::KneeFlexion, false},
     {"hip_flexion_supine", Channel::HipFlexion, false},
     {"arms_to_wall_turned_out", Channel::ArmInclination, true},
     {"shoulder_flexion_supine", Channel::ShoulderElevation, true}}};

// Discs hide the hands: arms only where there are none.
struct Film {
  const char* name;
  BodySide near;
  bool arms;
};
constexpr std::array<Film, 14> kFilms = {{{"demo", BodySide::Right, false},
                                          {"side-30", BodySide::Right, false},
                                          {"side-60", BodySide::Left, false},
                                          {"side-tall", BodySide::Left, false},
                                          {"side-short-female", BodySide::Right, false},
                                          {"poor-light", BodySide::Right, false},
                                          {"compressed", BodySide::Left, false},
                                          {"two-people", BodySide::Right, false},
                                          {"small-discs", BodySide::Right, false},
                                          {"wide-stance", BodySide::Left, false},
                                          {"failed-rep", BodySide::Left, false},
                                          {"shoulder-gives-way", BodySide::Left, false},
                                          {"pipe", BodySide::Right, true},
                                          {"unloaded", BodySide::Left, true}}};

struct Tally {
  int values = 0, inside = 0, beyond_three = 0;
  double squares = 0, sum = 0, stated = 0, stated_squares = 0;

  void add(double error, double standard_error) {
    ++values;
    inside += std::abs(error) <= 1.96 * standard_error ? 1 : 0;
    beyond_three += std::abs(error) > 3 * standard_error ? 1 : 0;
    squares += error * error;
    sum += error;
    stated += standard_error;
    stated_squares += standard_error * standard_error;
  }
  double coverage() const { return static_cast<double>(inside) / values; }
  double rms_deg() const { return std::sqrt(squares / values) * kDegreesPerRadian; }
};
using Tallies = std::map<std::string, Tally>;

// So near to what the test allows that a reading may fall outside of it.
bool near_limit(const body::TestProtocol& protocol, double value) {
  constexpr double kMargin = 15 * kRadiansPerDegree;
  return value - protocol.lowest < kMargin || protocol.highest - value < kMargin;
}

// Standing, half-way down, and every bottom.
std::vector<std::size_t> moments(const ClipTruth& truth) {
  const auto frame_at = [&](double time) {
    const auto later = std::ranges::find_if(
        truth.frames, [&](const TrueFrame& frame) { return frame.time >= time - 1e-6; });
    return static_cast<std::size_t>(later - truth.frames.begin());
  };
  std::vector<std::size_t> out;
  for (const TrueRepetition& repetition : truth.repetitions) {
    if (out.empty()) out.push_back(frame_at(repetition.start - 0.2));
    if (out.size() == 1) out.push_back(frame_at(0.5 * (repetition.start + repetition.bottom)));
    out.push_back(frame_at(repetition.bottom));
  }
  return out;
}

class PhotosOfRenderedClips : public testing::Test {
 protected:
  void SetUp() override { protocols_ = *app::load_protocols({}); }

  void measure(const Film& film, Tallies& near, Tallies& far) {
    SCOPED_TRACE(film.name);
    const std::filesystem::path clips = LINTEL_CLIPS_DIR;
    const std::string name = film.name;
    const auto truth = read_clip_truth(clips / (name + ".truth.json"));
    ASSERT_TRUE(truth.has_value()) << describe(truth.error());
    const auto athlete = app::read_athlete_file(clips / (name + ".athlete.json"));
    ASSERT_TRUE(athlete.has_value());
    const std::vector<std::size_t> wanted = moments(*truth);
    auto reader = media::ClipReader::open(clips / (name + ".mp4"));
    ASSERT_TRUE(reader.has_value());
    for (std::size_t i = 0; i <= wanted.back(); ++i) {
      const auto frame = reader->next();
      ASSERT_TRUE(frame && *frame);
      if (std::ranges::find(wanted, i) == wanted.end()) continue;
      const auto png = folder_.path() / (name + std::to_string(i) + ".png");
      ASSERT_TRUE(media::write_png(png, (*frame)->image).has_value());
      app::ObserveRequest request;
      request.clip = png;
      request.stature = athlete->stature;
      const auto found = app::find_photo_body(request, {});
      ASSERT_TRUE(found && *found);
      EXPECT_EQ((**found).far_side, kinematics::opposite(film.near)) << "frame " << i;
      compare(film, **found, athlete->stature, truth->frames[i], near, far);
    }
  }

 private:
  void compare(const Film& film, const app::PhotoBody& found, double stature,
               const TrueFrame& truth, Tallies& near, Tallies& far) {
    const double scale = kinematics::pixels_per_metre(found.body, stature);
    for (const Recipe& recipe : kRecipes) {
      if (recipe.of_arms && !film.arms) continue;
      const body::TestProtocol& protocol = **app::protocol_named(protocols_, recipe.protocol);
      const double true_value = truth.channels[static_cast<std::size_t>(recipe.channel)];
      if (true_value < protocol.lowest || true_value > protocol.highest) continue;
      for (const BodySide side : {BodySide::Left, BodySide::Right}) {
        const auto points =
            kinematics::points_from_body(*protocol.photo, found.body, side, scale, found.far_side);
        EXPECT_EQ(kinematics::uses_far_side(points), side != film.near);
        const auto reading = kinematics::measure_photo(protocol, points, {}, scale);
        if (!reading && near_limit(protocol, true_value)) continue;
        ASSERT_TRUE(reading.has_value()) << recipe.protocol << ": " << describe(reading.error());
        const double error = reading->result.value - true_value;
        std::printf("%-18s %-24s %-5s true %6.1f read %6.1f +/- %4.1f  off %+5.1f\n", film.name,
                    recipe.protocol, side == film.near ? "near" : "far",
                    true_value * kDegreesPerRadian, reading->result.value * kDegreesPerRadian,
                    reading->result.standard_error * kDegreesPerRadian, error * kDegreesPerRadian);
        Tallies& tallies = side == film.near ? near : far;
        tallies[recipe.protocol].add(error, reading->result.standard_error);
        tallies["all"].add(error, reading->result.standard_error);
      }
    }
  }

  std::vector<body::TestProtocol> protocols_;
  TemporaryFolder folder_;
};

void report(const char* side, const Tallies& tallies) {
  for (const auto& [name, t] : tallies) {
    std::printf(
        "%-5s %-26s %3d values, off by %+5.1f, RMS %4.1f, stated %4.1f degrees, "
        "inside the 95 %% interval %.1f %%\n",
        side, name.c_str(), t.values, t.sum / t.values * kDegreesPerRadian, t.rms_deg(),
        t.stated / t.values * kDegreesPerRadian, 100 * t.coverage());
  }
}

TEST_F(PhotosOfRenderedClips, TheStatedErrorHoldsOnTheNearAndOnTheFarSide) {
  Tallies near, far;
  for (const Film& film : kFilms) measure(film, near, far);
  report("near", near);
  report("far", far);
  for (const Tallies* side : {&near, &far}) {
    // No single kind of test is off by more than it states, and no reading is far out.
    for (const auto& [name, tally] : *side) {
      SCOPED_TRACE(name);
      EXPECT_LE(tally.squares, tally.stated_squares);
      EXPECT_EQ(tally.beyond_three, 0);
    }
    EXPECT_GE(side->at("all").values, 90);
    EXPECT_GE(side->at("all").coverage(), 0.95);
  }
}

}  // namespace
}  // namespace lintel::test
