#include "report/posture_drawing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "posture/posture.h"

namespace lintel::report {
namespace {

using ::testing::HasSubstr;

PostureFigure figure(const std::string& title, double ankle) {
  body::Athlete athlete;
  athlete.stature = 1.7;
  athlete.body_mass = 65;
  athlete.tests[body::MobilityTest::AnkleDorsiflexion][0] =
      Estimate{ankle * kRadiansPerDegree, 0.0};
  const auto body = posture::body_parameters(athlete).value();
  const auto limits = posture::limits_from_tests(athlete, body.lengths).value();
  const auto model = posture::Model::create(body, athlete.setup, limits.limits).value();
  return {title, "a note", posture::solve_most_upright(model).posture, 0.45};
}

TEST(PostureDrawing, IsAnSvgWithItsTitleAndOneToFourFigures) {
  const auto svg = draw_postures_svg("Jorun Havnes", {figure("Now", 35), figure("After", 42)});
  ASSERT_TRUE(svg) << describe(svg.error());
  EXPECT_THAT(*svg, HasSubstr("<svg"));
  EXPECT_THAT(*svg, HasSubstr("Jorun Havnes"));
  const auto one = draw_postures_svg("a", {figure("Now", 38)});
  ASSERT_TRUE(one);
  EXPECT_LT(one->size(), svg->size());
}

TEST(PostureDrawing, RefusesNoneAndMoreThanFour) {
  EXPECT_FALSE(draw_postures_svg("a", {}));
  EXPECT_FALSE(draw_postures_svg("a", std::vector<PostureFigure>(5, figure("x", 38))));
}

}  // namespace
}  // namespace lintel::report
