// Sagittal angles against the angle curves that come with the motion-capture squats
// (mocap.cs.cmu.edu, tests/data/mocap/README.md), which were computed by other code.
#include <gtest/gtest.h>

#include <cmath>

#include "base/units.h"
#include "kinematics/sagittal_angles.h"
#include "reference/kinematics/mocap.h"

namespace lintel::kinematics {
namespace {

using Points = Eigen::Vector2d;

class MocapAngles : public ::testing::TestWithParam<const char*> {
 protected:
  testing::MocapClip clip_ = testing::read_mocap(GetParam());
  std::map<std::string, std::vector<double>> angles_ = testing::read_number_csv(
      testing::data_path("mocap/" + std::string(GetParam()) + "-angles.csv"));
  double worst(const std::string& column, const std::function<double(std::size_t)>& angle) {
    const std::vector<double>& theirs = angles_.at(column);
    EXPECT_EQ(theirs.size(), clip_.time.size());
    double out = 0;
    for (std::size_t i = 0; i < theirs.size(); ++i) {
      const double difference = angle(i) * kDegreesPerRadian - theirs[i];
      out = std::max(out, std::abs(std::remainder(difference, 360.0)));
    }
    return out;
  }
  Points point(const std::string& joint, std::size_t i) {
    return clip_.sagittal(clip_.at(joint, i));
  }
  Points middle(const std::string& joint, std::size_t i) {
    return clip_.sagittal(clip_.mid(joint, i));
  }
};

TEST_P(MocapAngles, SagittalAnglesAgreeToAHundredthOfADegree) {
  EXPECT_LT(worst("trunk_sagittal_deg",
                  [&](std::size_t i) {
                    return trunk_inclination<double>(middle("hip", i), middle("shoulder", i));
                  }),
            0.01);
  for (const std::string side : {"left_", "right_"}) {
    EXPECT_LT(worst(side + "shank_sagittal_deg",
                    [&](std::size_t i) {
                      return shank_inclination<double>(point(side + "ankle", i),
                                                       point(side + "knee", i));
                    }),
              0.01);
    EXPECT_LT(worst(side + "thigh_sagittal_deg",
                    [&](std::size_t i) {
                      return thigh_inclination<double>(point(side + "knee", i),
                                                       point(side + "hip", i));
                    }),
              0.012);  // a thigh that points at the camera magnifies the rounding to 0.01 mm
    EXPECT_LT(worst(side + "arm_sagittal_deg",
                    [&](std::size_t i) {
                      return arm_inclination<double>(point(side + "shoulder", i),
                                                     point(side + "wrist", i));
                    }),
              0.02);  // arms that point at the camera
  }
}

TEST_P(MocapAngles, FlexionsInSpaceAgreeToAHundredthOfADegree) {
  for (const std::string side : {"left_", "right_"}) {
    EXPECT_LT(worst(side + "knee_flexion_3d_deg",
                    [&](std::size_t i) {
                      return flexion_at(clip_.at(side + "hip", i), clip_.at(side + "knee", i),
                                        clip_.at(side + "ankle", i));
                    }),
              0.01);
    EXPECT_LT(worst(side + "ankle_included_3d_deg",
                    [&](std::size_t i) {
                      return std::numbers::pi - flexion_at(clip_.at(side + "knee", i),
                                                           clip_.at(side + "ankle", i),
                                                           clip_.at(side + "toe_base", i));
                    }),
              0.02);  // the shortest bone
  }
}

INSTANTIATE_TEST_SUITE_P(Squats, MocapAngles,
                         ::testing::Values("squat-13_29-rep1", "squat-13_29-rep2",
                                           "squat-14_14-rep1"),
                         [](const auto& instance) {
                           std::string name = instance.param;
                           std::erase(name, '-');
                           std::erase(name, '_');
                           return name;
                         });

}  // namespace
}  // namespace lintel::kinematics
