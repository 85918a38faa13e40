// A drawing as data: figures by the directions of their limbs, props, marks. Protocols and drills
// carry one each; formats/sketch_json reads them, report/sketch draws them.
//
// Picture frame: x to the right, y up, floor at y = 0 [m]; a figure is 1.70 m tall whoever the
// athlete is. Directions are angles from vertical-up, positive towards the right of the picture
// (clockwise) [rad]: 0 up, pi/2 right, pi down, -pi/2 left.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lintel {

struct SketchPoint {
  double x = 0;  // [m]
  double y = 0;  // [m]
};

// Side: nearer and farther limb, the near one drawn over the trunk. Front and top (and back): the
// limb on the left of the picture, then the one on its right.
enum class SketchView : std::uint8_t { Side, Front, Top };

enum class SketchJoint : std::uint8_t {
  Crown,
  Head,  // middle of the head
  Neck,
  Shoulder,
  Elbow,
  Wrist,
  Hand,  // the grip
  Pelvis,
  Hip,
  Knee,
  Ankle,
  Heel,
  Toe,
};
inline constexpr std::size_t kSketchJointCount = 13;
std::string_view sketch_joint_name(SketchJoint joint);  // "crown", ...; as in files

// Index into every pair below: near or left of the picture, far or right of the picture.
enum class SketchSide : std::uint8_t { First, Second };

// A joint of the panel's figure, or a place of the picture.
struct SketchPlace {
  std::optional<SketchJoint> joint;  // empty: `at` is the place
  SketchSide side = SketchSide::First;
  SketchPoint at;
};

// Lengths of the figure's segments [m], 1.70 m in all; rounded shares of stature after Drillis and
// Contini (1966).
struct SketchLengths {
  static constexpr double kHead = 0.28;   // neck to crown
  static constexpr double kTrunk = 0.50;  // pelvis (between the hips) to neck
  static constexpr double kUpperArm = 0.31;
  static constexpr double kForearm = 0.26;
  static constexpr double kHand = 0.08;  // wrist to the middle of the grip
  static constexpr double kThigh = 0.42;
  static constexpr double kShank = 0.42;
  static constexpr double kFoot = 0.25;               // heel to toe
  static constexpr double kAnkleHeight = 0.08;        // above the sole
  static constexpr double kHeelToAnkle = 0.06;        // along the sole
  static constexpr double kShoulderBelowNeck = 0.06;  // along the trunk
  static constexpr double kShoulderHalfWidth = 0.18;  // front and top
  static constexpr double kHipHalfWidth = 0.09;       // front and top
};

// One limb, or the trunk, lies behind or before the rest; only where the default is not right.
enum class SketchLayer : std::uint8_t { Default, Behind, Before };

using SketchPair = std::array<double, 2>;  // by SketchSide

struct SketchFigure {
  SketchJoint anchor = SketchJoint::Ankle;  // this joint of the first side is put at `at`
  SketchSide anchor_side = SketchSide::First;
  SketchPoint at = {0, SketchLengths::kAnkleHeight};
  double facing = 1;  // +1 looks right, -1 left; in front and top views no matter
  double trunk = 0;   // pelvis to neck [rad]; directions as above, all of them
  std::optional<double>
      thorax;                  // upper half of the trunk where it bends; `trunk` is the lower then
  std::optional<double> head;  // neck to crown; empty = like the trunk
  SketchPair upper_arm;        // shoulder to elbow
  SketchPair forearm;          // elbow to wrist
  std::array<std::optional<double>, 2> hand;  // wrist to grip; empty = like the forearm
  SketchPair thigh;                           // hip to knee
  SketchPair shank;                           // knee to ankle
  std::array<std::optional<double>, 2> foot;  // heel to toe; empty = flat, or by view
  // Front and top: direction from the left shoulder to the right one of the picture, and of the
  // hips; empty = square to the trunk.
  std::optional<double> shoulder_line;
  std::optional<double> hip_line;
  // Share of the full length that is seen of a segment that points at the viewer, 0.05 to 1.
  double trunk_seen = 1, head_seen = 1, shoulders_seen = 1, hips_seen = 1;
  SketchPair upper_arm_seen{1, 1}, forearm_seen{1, 1}, thigh_seen{1, 1}, shank_seen{1, 1},
      foot_seen{1, 1};
  std::array<SketchLayer, 2> arm_layer{}, leg_layer{};
};

enum class SketchPropKind : std::uint8_t {
  Floor,   // y
  Wall,    // its face at x, the wall itself on `side` of it
  Box,     // lower left corner x, y; width, height
  Bench,   // the same, drawn as board on legs
  Mat,     // the same, lying flat; height 0.02 if not given
  Chair,   // the same: seat height and width, its back rest on `side`
  Scale,   // the same: a bathroom scale, `label` is its reading
  Ball,    // centre x, y; radius
  Roller,  // the same, a foam roller seen from its end
  Wedge,   // lower left corner; width, height; high on `side`
  Pipe,    // between two points, or at the hands
  Bar,     // loaded bar: seen from its end in a side view
  Tape,    // measuring tape from, to
  Band,    // elastic band from, to
  Dumbbell,
  Kettlebell,
  Plate,  // a disc: centre, radius
};
inline constexpr std::size_t kSketchPropCount = 17;
std::string_view sketch_prop_name(SketchPropKind kind);  // "floor", ...

struct SketchProp {
  SketchPropKind kind = SketchPropKind::Floor;
  SketchPlace at;                       // corner, centre or held place, by kind
  double width = 0;                     // [m]
  double height = 0;                    // [m]
  double radius = 0;                    // [m]
  double length = 0;                    // [m] of a pipe or bar
  double angle = 0;                     // direction of a pipe [rad]
  bool on_right = true;                 // the wall's body, the chair's back, the wedge's high end
  std::optional<SketchPlace> from, to;  // of tape, band, pipe
  std::string label;
};

enum class SketchMarkKind : std::uint8_t { Angle, Distance, Arrow, Line, Text, Turn, Pad };
inline constexpr std::size_t kSketchMarkCount = 7;
std::string_view sketch_mark_name(SketchMarkKind kind);  // "angle", ...

struct SketchMark {
  SketchMarkKind kind = SketchMarkKind::Text;
  SketchPlace at;         // of angle, text, turn, pad
  SketchPlace from, to;   // of distance, arrow, line
  double from_angle = 0;  // [rad] directions of an angle's legs, of a turn's begin and end
  double to_angle = 0;    // [rad]
  double radius = 0.15;   // [m]
  bool dashed = false;    // of a line
  std::string label;
};

struct SketchPanel {
  std::string caption;
  SketchView view = SketchView::Side;
  std::vector<SketchFigure> figures;  // mostly one; a second is a helper
  std::vector<SketchProp> props;
  std::vector<SketchMark> marks;
};

struct Sketch {
  static constexpr std::size_t kMostPanels = 6;
  static constexpr std::size_t kMostParts = 40;  // props, or marks, of one panel
  std::vector<SketchPanel> panels;
  bool empty() const { return panels.empty(); }
};

}  // namespace lintel
