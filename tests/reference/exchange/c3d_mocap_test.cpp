// Captured squats (mocap.cs.cmu.edu; tests/data/mocap/README.md) written as C3D, read again and
// looked at from the side: angles of the key points against those that came with the data.
#include <gtest/gtest.h>

#include <cmath>

#include "formats/c3d.h"
#include "formats/marker_sets.h"
#include "kinematics/landmarks.h"
#include "kinematics/marker_view.h"
#include "reference/kinematics/mocap.h"
#include "support/c3d_writer.h"

namespace lintel::testing {
namespace {

using kinematics::PairedLandmark;

formats::C3dMotion motion_of(const MocapClip& mocap) {
  formats::C3dMotion motion;
  motion.frame_rate = 120;
  motion.frame_count = mocap.time.size();
  motion.x_screen = "+X";
  motion.y_screen = "+Y";
  for (const char* side : {"left_", "right_"}) {
    for (const char* joint : {"shoulder", "elbow", "wrist", "hip", "knee", "ankle"}) {
      motion.labels.push_back(std::string(side) + joint);
    }
  }
  for (std::size_t i = 0; i < motion.frame_count; ++i) {
    for (const std::string& label : motion.labels) {
      const Eigen::Vector3f p = mocap.at(label, i).cast<float>();
      motion.samples.push_back({{p.x(), p.y(), p.z()}, 0.0F});
    }
  }
  return motion;
}

// From the vertical, forward positive [deg]; the picture's y runs down.
double inclination(const Eigen::Vector2d& lower, const Eigen::Vector2d& upper) {
  const Eigen::Vector2d d = upper - lower;
  return std::atan2(d.x(), -d.y()) * kDegreesPerRadian;
}

class CapturedC3d : public ::testing::TestWithParam<formats::C3dProcessor> {};

TEST_P(CapturedC3d, KeyPointsHaveTheAnglesOfTheData) {
  for (const bool integers : {false, true}) {
    for (const std::string& stem :
         std::vector<std::string>{"squat-13_29-rep1", "squat-13_29-rep2", "squat-14_14-rep1"}) {
      test_support::C3dWriteOptions options;
      options.processor = GetParam();
      options.integers = integers;
      const auto bytes = test_support::C3dWriter(options).write(motion_of(read_mocap(stem)));
      const auto motion = formats::read_c3d(bytes, stem);
      ASSERT_TRUE(motion.has_value()) << describe(motion.error());
      const auto& set = formats::best_marker_set(*motion, formats::built_in_marker_sets());
      EXPECT_EQ(set.id, "landmark-names");
      const auto clip = kinematics::side_view(formats::landmarks_of(*motion, set).value());
      ASSERT_TRUE(clip.has_value()) << describe(clip.error());
      auto angles = read_number_csv(data_path("mocap/" + stem + "-angles.csv"));
      const auto& trunk = angles.at("trunk_sagittal_deg");
      ASSERT_EQ(clip->frames.size(), trunk.size());
      double worst = 0;
      for (std::size_t i = 0; i < trunk.size(); ++i) {
        const auto& body = *clip->frames[i].body;
        const auto mid = [&](PairedLandmark l) { return kinematics::midpoint_px(body, l); };
        worst = std::max(
            worst, std::abs(inclination(mid(PairedLandmark::Hip), mid(PairedLandmark::Shoulder)) -
                            trunk[i]));
        for (const auto side : {kinematics::BodySide::Left, kinematics::BodySide::Right}) {
          const std::string name = side == kinematics::BodySide::Left ? "left" : "right";
          const auto point = [&](PairedLandmark l) { return kinematics::point_px(body, l, side); };
          const double shank =
              inclination(point(PairedLandmark::Ankle), point(PairedLandmark::Knee));
          worst = std::max(worst, std::abs(shank - angles.at(name + "_shank_sagittal_deg")[i]));
        }
      }
      // Whole tenths of a millimetre over 0.4 m: 0.02 degrees; the data have three decimals.
      EXPECT_LT(worst, integers ? 0.04 : 0.015) << stem;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Processors, CapturedC3d,
                         ::testing::Values(formats::C3dProcessor::Intel, formats::C3dProcessor::Dec,
                                           formats::C3dProcessor::Mips),
                         [](const auto& tested) {
                           return "Type" + std::to_string(static_cast<int>(tested.param));
                         });

}  // namespace
}  // namespace lintel::testing
