#include "formats/sketch_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/units.h"

namespace lintel::formats {
namespace {

using ::testing::HasSubstr;
using ::testing::SizeIs;

Sketch read(const std::string& text, std::vector<Error>& errors) {
  const auto root = parse_json(text, {});
  EXPECT_TRUE(root) << (root ? "" : describe(root.error()));
  FaultList faults;
  Sketch sketch;
  if (root) read_sketch(*root, "drawing", faults, sketch);
  errors = faults.take();
  return sketch;
}

Sketch read_good(const std::string& text) {
  std::vector<Error> errors;
  Sketch sketch = read(text, errors);
  for (const Error& error : errors) ADD_FAILURE() << describe(error);
  return sketch;
}

Error only_fault(const std::string& text) {
  std::vector<Error> errors;
  read(text, errors);
  EXPECT_THAT(errors, SizeIs(1)) << text;
  for (const Error& error : errors) SCOPED_TRACE(describe(error));
  return errors.empty() ? Error{} : errors[0];
}

constexpr const char* kFull = R"({"panels": [{"caption": "start", "view": "side",
  "figure": {"at": {"joint": "ankle", "x_cm": 10, "y_cm": 8}, "facing": "left", "trunk_deg": -20,
    "thorax_deg": -30, "head_deg": -10, "upper_arm_deg": [170, 160], "forearm_deg": 150,
    "hand_deg": 90, "thigh_deg": [-95, -100], "shank_deg": 200, "foot_deg": [-90, -80],
    "seen": {"thigh": [0.5, 1], "trunk": 0.4}, "behind": ["near_arm"], "before": ["far_leg"]},
  "props": [{"kind": "floor"}, {"kind": "wall", "x_cm": -40, "side": "left"},
    {"kind": "box", "x_cm": 20, "y_cm": 0, "width_cm": 30, "height_cm": 40},
    {"kind": "pipe", "at": "hands"}, {"kind": "tape", "from": [0, 1], "to": "toe"},
    {"kind": "wedge", "width_cm": 20, "height_cm": 3}],
  "marks": [{"kind": "angle", "at": "far_knee", "from_deg": 0, "to_deg": 35, "radius_cm": 12,
      "label": "35°"},
    {"kind": "line", "from": "hip", "to": [1, 2], "dashed": true},
    {"kind": "text", "at": [5, 6], "label": "heel down"}]}]})";

TEST(SketchJson, ReadsEveryPartInMetresAndRadians) {
  const Sketch sketch = read_good(kFull);
  ASSERT_THAT(sketch.panels, SizeIs(1));
  const SketchPanel& panel = sketch.panels[0];
  EXPECT_EQ(panel.caption, "start");
  ASSERT_THAT(panel.figures, SizeIs(1));
  const SketchFigure& f = panel.figures[0];
  EXPECT_EQ(f.anchor, SketchJoint::Ankle);
  EXPECT_DOUBLE_EQ(f.at.x, 0.10);
  EXPECT_DOUBLE_EQ(f.facing, -1);
  EXPECT_DOUBLE_EQ(f.trunk, -20 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.thorax.value(), -30 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.upper_arm[1], 160 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.forearm[0], 150 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.forearm[1], 150 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.foot[1].value(), -80 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.thigh_seen[0], 0.5);
  EXPECT_DOUBLE_EQ(f.trunk_seen, 0.4);
  EXPECT_EQ(f.arm_layer[0], SketchLayer::Behind);
  EXPECT_EQ(f.leg_layer[1], SketchLayer::Before);
  ASSERT_THAT(panel.props, SizeIs(6));
  EXPECT_FALSE(panel.props[1].on_right);
  EXPECT_DOUBLE_EQ(panel.props[2].height, 0.4);
  EXPECT_EQ(panel.props[3].at.joint, SketchJoint::Hand);
  EXPECT_EQ(panel.props[4].to->joint, SketchJoint::Toe);
  EXPECT_FALSE(panel.props[5].on_right) << "the heels are on the left unless it is said";
  ASSERT_THAT(panel.marks, SizeIs(3));
  EXPECT_EQ(panel.marks[0].at.side, SketchSide::Second);
  EXPECT_DOUBLE_EQ(panel.marks[0].radius, 0.12);
  EXPECT_TRUE(panel.marks[1].dashed);
}

TEST(SketchJson, LetsLimbsFollowTheirNeighbourWhenNothingIsSaid) {
  const Sketch sketch =
      read_good(R"({"panels": [{"figure": {"upper_arm_deg": [10, 20], "thigh_deg": 95}}]})");
  const SketchFigure& f = sketch.panels.at(0).figures.at(0);
  EXPECT_DOUBLE_EQ(f.forearm[1], 20 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(f.shank[0], 95 * kRadiansPerDegree);
  EXPECT_FALSE(f.foot[0].has_value());
  EXPECT_FALSE(f.head.has_value());
}

TEST(SketchJson, WritesWhatItReads) {
  const Sketch first = read_good(kFull);
  const std::string text = write_sketch(first);
  const Sketch second = read_good(text);
  EXPECT_EQ(text, write_sketch(second));
  EXPECT_EQ(second.panels[0].props.size(), first.panels[0].props.size());
  EXPECT_EQ(second.panels[0].marks[1].dashed, first.panels[0].marks[1].dashed);
  EXPECT_EQ(second.panels[0].figures[0].arm_layer, first.panels[0].figures[0].arm_layer);
}

TEST(SketchJson, NamesFieldLineAndNearestWord) {
  const Error error = only_fault("{\"panels\": [\n {\"figure\": {\n  \"trunk_dg\": 3}}]}");
  EXPECT_EQ(error.place.field, "drawing.panels[0].figure.trunk_dg");
  EXPECT_EQ(error.place.line, 3);
  EXPECT_THAT(error.mend, HasSubstr("trunk_deg"));
}

struct BadCase {
  const char* json;
  const char* field;
};

TEST(SketchJson, FindsEachFault) {
  const std::vector<BadCase> cases = {
      {R"({"panels": []})", "drawing.panels"},
      {R"({})", "drawing.panels"},
      {R"([])", "drawing"},
      {R"({"panels": [{}]})", "drawing.panels[0]"},
      {R"({"panels": [{"view": "back", "figure": {}}]})", "drawing.panels[0].view"},
      {R"({"panels": [{"figure": {"facing": "up"}}]})", "drawing.panels[0].figure.facing"},
      {R"({"panels": [{"figure": {"thigh_deg": [1, 2, 3]}}]})",
       "drawing.panels[0].figure.thigh_deg"},
      {R"({"panels": [{"figure": {"thigh_deg": [1, "x"]}}]})",
       "drawing.panels[0].figure.thigh_deg[1]"},
      {R"({"panels": [{"figure": {"trunk_deg": 1000}}]})", "drawing.panels[0].figure.trunk_deg"},
      {R"({"panels": [{"figure": {"at": {"joint": "nee"}}}]})",
       "drawing.panels[0].figure.at.joint"},
      {R"({"panels": [{"figure": {"at": {"x_cm": 1e9}}}]})", "drawing.panels[0].figure.at.x_cm"},
      {R"({"panels": [{"figure": {"seen": {"trunk": 0}}}]})",
       "drawing.panels[0].figure.seen.trunk"},
      {R"({"panels": [{"figure": {"behind": ["tail"]}}]})", "drawing.panels[0].figure.behind[0]"},
      {R"({"panels": [{"props": [{"kind": "flor"}]}]})", "drawing.panels[0].props[0].kind"},
      {R"({"panels": [{"props": [{"x_cm": 3}]}]})", "drawing.panels[0].props[0].kind"},
      {R"({"panels": [{"props": [{"kind": "ball"}]}]})", "drawing.panels[0].props[0].radius_cm"},
      {R"({"panels": [{"props": [{"kind": "wall"}]}]})", "drawing.panels[0].props[0].x_cm"},
      {R"({"panels": [{"props": [{"kind": "box", "width_cm": -3, "height_cm": 2}]}]})",
       "drawing.panels[0].props[0].width_cm"},
      {R"({"panels": [{"marks": [{"kind": "arrow", "from": [0, 0]}]}]})",
       "drawing.panels[0].marks[0].to"},
      {R"({"panels": [{"marks": [{"kind": "text", "at": [0], "label": "x"}]}]})",
       "drawing.panels[0].marks[0].at"},
      {R"({"panels": [{"marks": [{"kind": "text", "at": [0, 0]}]}]})",
       "drawing.panels[0].marks[0].label"},
      {R"({"panels": [{"marks": [{"kind": "line", "from": "hip", "to": "toe", "dashed": 1}]}]})",
       "drawing.panels[0].marks[0].dashed"},
  };
  for (const BadCase& c : cases) {
    const Error error = only_fault(c.json);
    EXPECT_EQ(error.place.field, c.field) << c.json;
    EXPECT_GT(error.place.line, 0) << c.json;
  }
}

TEST(SketchJson, ReportsAllFaultsOfADrawingTogether) {
  std::vector<Error> errors;
  read(R"({"panels": [{"figure": {"trunk_deg": "x", "head_deg": []}, "marks": [{"kind": "?"}]}]})",
       errors);
  EXPECT_THAT(errors, SizeIs(3));
}

TEST(SketchJson, LimitsWhatOneDrawingMayHold) {
  std::string props;
  for (std::size_t i = 0; i <= Sketch::kMostParts; ++i) {
    props += (i == 0 ? "" : ", ") + std::string(R"({"kind": "floor"})");
  }
  const Error error = only_fault(R"({"panels": [{"figure": {}, "props": [)" + props + "]}]}");
  EXPECT_EQ(error.place.field, "drawing.panels[0].props");
}

}  // namespace
}  // namespace lintel::formats
