// The whole path on rendered clips whose angles and bar path are exactly known (demo/README.md):
// real decoder, real networks, real fit; nothing is fed past them. Limits: issue 2 of the project,
// "It must hold".
#include <gtest/gtest.h>
#include <cmath>

#include "support/accuracy.h"

namespace lintel::test {
namespace {

using kinematics::Channel;

struct Limits {
  double trunk, thigh, shank, knee, hip, arm;  // RMS over the repetitions [degrees]
};
// Side view within 10 degrees of square; twice that for a camera turned 20 degrees.
constexpr Limits kSquare{2.0, 3.0, 3.0, 4.0, 4.0, 1.5};
constexpr Limits kTurned{4.0, 6.0, 6.0, 8.0, 8.0, 3.0};

struct Case {
  const char* clip;
  Limits limits;
  bool disc;
};
std::string case_name(const testing::TestParamInfo<Case>& info) {
  std::string name = info.param.clip;
  std::ranges::replace(name, '-', '_');
  return name;
}

double rms_deg(const ClipAccuracy& accuracy, Channel channel) {
  return accuracy[channel].fitted_rms * kDegreesPerRadian;
}

class RenderedSquat : public testing::TestWithParam<Case> {};

TEST_P(RenderedSquat, IsMeasuredWithinTheStatedErrors) {
  const Case& param = GetParam();
  const auto clip =
      measure_rendered_clip(LINTEL_CLIPS_DIR, param.clip, app::NetworkVariant::Full, 0);
  ASSERT_TRUE(clip.has_value()) << describe(clip.error());
  ASSERT_TRUE(clip->measured.side.has_value());
  const ClipAccuracy accuracy = compare_with_truth(clip->observation, clip->measured, clip->truth);
  print_header(stdout);
  print_accuracy(stdout, accuracy);

  EXPECT_LE(rms_deg(accuracy, Channel::TrunkInclination), param.limits.trunk);
  EXPECT_LE(rms_deg(accuracy, Channel::ThighInclination), param.limits.thigh);
  EXPECT_LE(rms_deg(accuracy, Channel::ShankInclination), param.limits.shank);
  EXPECT_LE(rms_deg(accuracy, Channel::KneeFlexion), param.limits.knee);
  EXPECT_LE(rms_deg(accuracy, Channel::HipFlexion), param.limits.hip);
  if (param.disc) {
    EXPECT_LE(rms_deg(accuracy, Channel::ArmInclination), param.limits.arm);
    EXPECT_LE(accuracy.bar_path_rms, 0.006);
  }
  // The bias of the network at the bottom is what the fit must take away.
  EXPECT_LE(std::abs(accuracy[Channel::ShankInclination].bottom_error) * kDegreesPerRadian,
            param.limits.shank);
  EXPECT_EQ(accuracy.repetitions_found, accuracy.repetitions_true);
  EXPECT_LE(accuracy.worst_bottom_frames, 2);
}

INSTANTIATE_TEST_SUITE_P(
    Clips, RenderedSquat,
    testing::Values(Case{"side-30", kSquare, true}, Case{"side-60", kSquare, true},
                    Case{"side-tall", kSquare, true}, Case{"side-short-female", kSquare, true},
                    Case{"side-yaw8", kSquare, true}, Case{"oblique-20", kTurned, true},
                    Case{"oblique-minus20", kTurned, true}, Case{"poor-light", kSquare, true},
                    Case{"compressed", kSquare, true}, Case{"two-people", kSquare, true},
                    Case{"vfr", kSquare, true}, Case{"small-discs", kSquare, true},
                    Case{"five-reps", kSquare, true}, Case{"demo", kSquare, true},
                    Case{"shoulder-gives-way", kSquare, true}),
    case_name);

}  // namespace
}  // namespace lintel::test
