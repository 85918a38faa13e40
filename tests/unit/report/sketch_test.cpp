#include "report/sketch.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/random.h"
#include "base/units.h"
#include "outside_tools.h"
#include "report/sketch_pose.h"
#include "report/sketch_shapes.h"
#include "support/demo_visit.h"

namespace lintel::report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr double kDegree = kRadiansPerDegree;

SketchFigure standing() {
  SketchFigure figure;
  figure.upper_arm = figure.forearm = figure.thigh = figure.shank = {180 * kDegree, 180 * kDegree};
  return figure;
}

TEST(SketchPose, StandsUprightOnTheFloorAtItsFullHeight) {
  const SketchPose pose = compute_pose(standing(), SketchView::Side);
  EXPECT_NEAR(pose.at(SketchJoint::Heel).y, 0, 1e-12);
  EXPECT_NEAR(pose.at(SketchJoint::Toe).y, 0, 1e-12);
  EXPECT_NEAR(pose.at(SketchJoint::Crown).y, 1.70, 1e-12);
  EXPECT_GT(pose.at(SketchJoint::Toe).x, pose.at(SketchJoint::Heel).x);
  EXPECT_NEAR(pose.at(SketchJoint::Shoulder).y - pose.at(SketchJoint::Wrist).y,
              SketchLengths::kUpperArm + SketchLengths::kForearm, 1e-12);
}

TEST(SketchPose, PutsTheNamedJointWhereItIsTold) {
  for (const SketchView view : {SketchView::Side, SketchView::Front, SketchView::Top}) {
    for (std::size_t joint = 0; joint < kSketchJointCount; ++joint) {
      SketchFigure figure = standing();
      figure.anchor = static_cast<SketchJoint>(joint);
      figure.anchor_side = SketchSide::Second;
      figure.at = {0.3, 0.7};
      const SketchPoint p = compute_pose(figure, view).at(figure.anchor, 1);
      EXPECT_NEAR(p.x, 0.3, 1e-12) << sketch_joint_name(figure.anchor);
      EXPECT_NEAR(p.y, 0.7, 1e-12) << sketch_joint_name(figure.anchor);
    }
  }
}

TEST(SketchPose, MirrorsWithTheAthletesFacing) {
  SketchFigure right = standing();
  right.at = {0, 0.08};
  right.trunk = 30 * kDegree;
  right.thigh = {95 * kDegree, 100 * kDegree};
  right.shank = {210 * kDegree, 215 * kDegree};
  SketchFigure left = right;
  left.facing = -1;
  left.trunk = -right.trunk;
  for (std::size_t s = 0; s < 2; ++s) {
    left.upper_arm[s] = -right.upper_arm[s];
    left.forearm[s] = -right.forearm[s];
    left.thigh[s] = -right.thigh[s];
    left.shank[s] = -right.shank[s];
  }
  const SketchPose a = compute_pose(right, SketchView::Side);
  const SketchPose b = compute_pose(left, SketchView::Side);
  for (std::size_t j = 0; j < kSketchJointCount; ++j) {
    for (std::size_t s = 0; s < 2; ++s) {
      EXPECT_NEAR(a.joint[j][s].x, -b.joint[j][s].x, 1e-12) << j;
      EXPECT_NEAR(a.joint[j][s].y, b.joint[j][s].y, 1e-12) << j;
    }
  }
  // And so does the outline that is drawn.
  const auto shapes_a = body_groups(right, SketchView::Side, a);
  const auto shapes_b = body_groups(left, SketchView::Side, b);
  ASSERT_EQ(shapes_a.size(), shapes_b.size());
  SketchExtent extent_a;
  SketchExtent extent_b;
  for (std::size_t i = 0; i < shapes_a.size(); ++i) {
    for (const SketchShape& shape : shapes_a[i].shapes) extent_a.add(shape.points);
    for (const SketchShape& shape : shapes_b[i].shapes) extent_b.add(shape.points);
  }
  EXPECT_NEAR(extent_a.right, -extent_b.left, 1e-3);
  EXPECT_NEAR(extent_a.top, extent_b.top, 1e-3);
}

double random_angle(Random& random) {
  return random.uniform(-720, 720) * kDegree;
}

SketchPlace random_place(Random& random) {
  SketchPlace place;
  place.at = {random.uniform(-3, 3), random.uniform(-3, 3)};
  if (random.uniform() < 0.5) {
    place.joint = static_cast<SketchJoint>(static_cast<int>(random.uniform(0, 12.99)));
    place.at = {};
  }
  return place;
}

SketchFigure random_figure(Random& random) {
  const auto both = [&] { return SketchPair{random_angle(random), random_angle(random)}; };
  SketchFigure f;
  f.anchor = static_cast<SketchJoint>(static_cast<int>(random.uniform(0, 12.99)));
  f.facing = random.uniform() < 0.5 ? 1 : -1;
  f.trunk = random_angle(random);
  if (random.uniform() < 0.5) f.thorax = random_angle(random);
  f.upper_arm = both();
  f.forearm = both();
  f.thigh = both();
  f.shank = both();
  f.trunk_seen = random.uniform(0.05, 1);
  f.thigh_seen = {random.uniform(0.05, 1), 0.05};
  return f;
}

SketchProp random_prop(Random& random, SketchPropKind kind) {
  SketchProp prop;
  prop.kind = kind;
  prop.at = random_place(random);
  prop.width = random.uniform(0, 1);
  prop.height = random.uniform(0, 1);
  prop.radius = random.uniform(0, 0.5);
  prop.length = random.uniform() < 0.5 ? 0 : random.uniform(0, 2);
  if (random.uniform() < 0.5) {
    prop.from = random_place(random);
    prop.to = random_place(random);
  }
  if (random.uniform() < 0.3) prop.label = "12 kg";
  return prop;
}

SketchMark random_mark(Random& random, SketchMarkKind kind) {
  SketchMark mark;
  mark.kind = kind;
  mark.at = random_place(random);
  mark.from = random_place(random);
  mark.to = random.uniform() < 0.2 ? mark.from : random_place(random);
  mark.from_angle = random_angle(random);
  mark.to_angle = random_angle(random);
  mark.radius = random.uniform(0.01, 1);
  mark.label = "a label";
  return mark;
}

// Every kind of prop and mark in a drawing of random poses; seeded.
Sketch random_sketch(Random& random) {
  Sketch sketch;
  const int panels = 1 + static_cast<int>(random.uniform(0, 5.99));
  for (int i = 0; i < panels; ++i) {
    SketchPanel panel;
    panel.view = static_cast<SketchView>(static_cast<int>(random.uniform(0, 2.99)));
    panel.caption = i % 2 == 0 ? "a caption of some length, with words" : "";
    if (random.uniform() < 0.9) panel.figures.push_back(random_figure(random));
    for (std::size_t k = 0; k < kSketchPropCount; ++k) {
      if (random.uniform() < 0.6) continue;
      panel.props.push_back(random_prop(random, static_cast<SketchPropKind>(k)));
    }
    for (std::size_t k = 0; k < kSketchMarkCount; ++k) {
      if (random.uniform() < 0.5) continue;
      panel.marks.push_back(random_mark(random, static_cast<SketchMarkKind>(k)));
    }
    sketch.panels.push_back(panel);
  }
  return sketch;
}

TEST(Sketch, KeepsEverythingInsideOfItsBox) {
  Random random(20261125);
  for (int i = 0; i < 300; ++i) {
    const Sketch sketch = random_sketch(random);
    const Box box{random.uniform(0, 50), random.uniform(0, 50), random.uniform(8, 400),
                  random.uniform(8, 400)};
    auto canvas = Canvas::svg(600, 600, {});
    ASSERT_TRUE(canvas);
    const Box covered = draw_sketch(*canvas, box, sketch, {});
    EXPECT_GE(covered.x, box.x - 0.01) << i;
    EXPECT_GE(covered.y, box.y - 0.01) << i;
    EXPECT_LE(covered.right(), box.right() + 0.01) << i;
    EXPECT_LE(covered.bottom(), box.bottom() + 0.01) << i;
    for (const Box& text : canvas->text_boxes()) {
      EXPECT_GE(text.x, box.x - 0.01) << i;
      EXPECT_GE(text.y, box.y - 0.01) << i;
      EXPECT_LE(text.right(), box.right() + 0.01) << i;
      EXPECT_LE(text.bottom(), box.bottom() + 0.01) << i;
    }
    const auto svg = canvas->finish();
    ASSERT_TRUE(svg);
    EXPECT_THAT(*svg, Not(HasSubstr("nan"))) << i;
    EXPECT_THAT(*svg, Not(HasSubstr("inf"))) << i;
  }
}

// Ink only where the box is: looked at in the pixels, so that no unlisted stroke escapes.
TEST(Sketch, LeavesThePaperAroundItsBoxWhite) {
  Random random(7);
  for (int i = 0; i < 40; ++i) {
    const Sketch sketch = random_sketch(random);
    Image image(240, 240);
    for (int y = 0; y < image.height(); ++y) {
      std::fill_n(image.row(y), static_cast<std::size_t>(image.width()) * 3, std::uint8_t{255});
    }
    auto canvas = Canvas::on_image(image);
    ASSERT_TRUE(canvas);
    const Box box{40, 40, 160, 160};
    draw_sketch(*canvas, box, sketch, {});
    ASSERT_TRUE(canvas->finish());
    int outside = 0;
    for (int y = 0; y < image.height(); ++y) {
      for (int x = 0; x < image.width(); ++x) {
        const bool in = x >= 36 && x < 204 && y >= 36 && y < 204;
        if (!in && image.pixel(x, y)[0] < 250) ++outside;
      }
    }
    EXPECT_EQ(outside, 0) << "drawing " << i;
  }
}

TEST(Sketch, SaysTheHeightThatItTakes) {
  auto canvas = Canvas::svg(600, 600, {});
  ASSERT_TRUE(canvas);
  const Sketch sketch = test_support::demo_sketch();
  const double height = sketch_height(*canvas, 260, 220, sketch, {});
  EXPECT_GT(height, 100);
  EXPECT_LE(height, 220);
  EXPECT_NEAR(draw_sketch(*canvas, {0, 0, 260, height + 0.5}, sketch, {}).height, height, 2);
}

TEST(Sketch, DrawsTheTwoFiguresToOneScaleOnOneFloor) {
  // Two panels of the same figure take the same height as one.
  Sketch one = test_support::demo_sketch();
  one.panels.resize(1);
  Sketch two = one;
  two.panels.push_back(one.panels[0]);
  auto canvas = Canvas::svg(900, 600, {});
  ASSERT_TRUE(canvas);
  EXPECT_NEAR(sketch_height(*canvas, 800, 200, one, {}), sketch_height(*canvas, 800, 200, two, {}),
              0.5);
}

TEST(Sketch, CoversNothingWhenThereIsNothing) {
  auto canvas = Canvas::svg(100, 100, {});
  ASSERT_TRUE(canvas);
  EXPECT_EQ(draw_sketch(*canvas, {10, 10, 50, 50}, {}, {}).height, 0);
  EXPECT_EQ(sketch_height(*canvas, 50, 50, {}, {}), 0);
  EXPECT_FALSE(draw_sketch_svg("nothing", {}));
}

TEST(Sketch, BecomesAnSvgThatOthersCanReadAndThatIsTheSameEachTime) {
  const auto svg = draw_sketch_svg("Squat & pipe", test_support::demo_sketch());
  ASSERT_TRUE(svg);
  EXPECT_EQ(*svg, *draw_sketch_svg("Squat & pipe", test_support::demo_sketch()));
  EXPECT_THAT(*svg, HasSubstr("Squat &amp; pipe"));
  EXPECT_THAT(*svg, HasSubstr("start; bottom, arms long"));
  LINTEL_NEEDS_TOOL("xmllint");
  const TemporaryFolder folder;
  EXPECT_EQ(run_tool("xmllint --noout " + folder.write("sketch.svg", *svg)).status, 0);
}

}  // namespace
}  // namespace lintel::report
