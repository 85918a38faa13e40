// Every drawing of the built-in protocols and drills as it is handed out.
#include <cmath>

#include <gtest/gtest.h>

#include "formats/drill_json.h"
#include "formats/protocol_json.h"
#include "report/sketch.h"
#include "report/sketch_pose.h"

namespace lintel::report {
namespace {

struct Named {
  std::string name;
  const Sketch* sketch;
};

std::vector<Named> library() {
  std::vector<Named> all;
  for (const auto& protocol : formats::built_in_protocols()) {
    all.push_back({protocol.id, &protocol.sketch});
  }
  for (const auto& drill : formats::built_in_drills()) all.push_back({drill.id, &drill.drawing});
  return all;
}

// The size of a drill's card on the handout.
TEST(SketchLibrary, IsReadableOnACard) {
  const auto all = library();
  ASSERT_GT(all.size(), 30u);
  for (const Named& named : all) {
    auto canvas = Canvas::svg(400, 400, {});
    ASSERT_TRUE(canvas);
    const Box box{10, 10, 242, 290};
    const Box covered = draw_sketch(*canvas, box, *named.sketch, {});
    EXPECT_LE(covered.right(), box.right() + 0.01) << named.name;
    EXPECT_LE(covered.bottom(), box.bottom() + 0.01) << named.name;
    std::size_t lettering = 0;
    for (const SketchPanel& panel : named.sketch->panels) {
      lettering += panel.caption.empty() ? 0 : 1;
      for (const SketchMark& mark : panel.marks) lettering += mark.label.empty() ? 0 : 1;
      for (const SketchProp& prop : panel.props) lettering += prop.label.empty() ? 0 : 1;
    }
    const auto& boxes = canvas->text_boxes();
    EXPECT_EQ(boxes.size(), lettering) << named.name << ": lettering was left out for want of room";
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      for (std::size_t j = 0; j < i; ++j) {
        EXPECT_FALSE(boxes[i].inset(0.4).overlaps(boxes[j].inset(0.4)))
            << named.name << ": labels " << j << " and " << i;
      }
    }
  }
}

// Nobody sinks into the floor or reaches through a wall.
TEST(SketchLibrary, KeepsItsFiguresInTheRoom) {
  constexpr double kTolerance = 0.04;  // [m] a limb's thickness is not in the joints
  for (const Named& named : library()) {
    for (const SketchPanel& panel : named.sketch->panels) {
      for (const SketchFigure& figure : panel.figures) {
        const SketchPose pose = compute_pose(figure, panel.view);
        for (const SketchProp& prop : panel.props) {
          for (std::size_t j = 0; j < kSketchJointCount; ++j) {
            for (const SketchPoint& p : pose.joint[j]) {
              const std::string what = named.name + ", " + panel.caption + ", " +
                                       std::string(sketch_joint_name(static_cast<SketchJoint>(j)));
              if (prop.kind == SketchPropKind::Floor && panel.view != SketchView::Top) {
                EXPECT_GE(p.y, prop.at.at.y - kTolerance) << what << " is below the floor";
              }
              if (prop.kind == SketchPropKind::Wall) {
                const double beyond = prop.on_right ? p.x - prop.at.at.x : prop.at.at.x - p.x;
                EXPECT_LE(beyond, kTolerance) << what << " is in the wall";
              }
            }
          }
        }
      }
    }
  }
}

}  // namespace
}  // namespace lintel::report
