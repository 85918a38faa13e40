#include <algorithm>
#include <numbers>

#include "report/sketch_shapes.h"

namespace lintel::report {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr Color kBoard = rgb(0xE9DEC6);  // boxes, benches
constexpr Color kBoardEdge = rgb(0x8C7648);
constexpr Color kRubber = rgb(0xBFD3CC);  // mats, balls, rollers
constexpr Color kRubberEdge = rgb(0x4E7F73);
constexpr Color kIron = rgb(0x4A555C);
constexpr Color kTapeFill = rgb(0xF0D27A);
constexpr Color kGround = rgb(0xDDDED9);
constexpr double kEdge = 0.009;  // [m] outline of props
constexpr double kPipeRadius = 0.014;
constexpr double kBarRadius = 0.016;
constexpr double kDiscRadius = 0.225;  // the competition disc
constexpr double kSlab = 0.035;        // [m] thickness of floor and wall as drawn
constexpr double kGroundAir = 0.06;    // [m] how far floors reach past everything
constexpr double kWallAir = 0.05;

SketchShape filled(std::vector<SketchPoint> points, Color fill, Color line = kInk,
                   double line_width = 0) {
  SketchShape shape;
  shape.points = std::move(points);
  shape.fill = fill;
  shape.line = line;
  shape.line_width = line_width;
  return shape;
}
SketchShape stroked(std::vector<SketchPoint> points, Color line, double line_width) {
  SketchShape shape;
  shape.points = std::move(points);
  shape.line = line;
  shape.line_width = line_width;
  shape.closed = false;
  return shape;
}

std::vector<SketchPoint> block(double x, double y, double width, double height) {
  const double r = std::min({0.012, width / 3, height / 3});
  std::vector<SketchPoint> points;
  const std::array<SketchPoint, 4> corners = {{{x + width - r, y + height - r},
                                               {x + width - r, y + r},
                                               {x + r, y + r},
                                               {x + r, y + height - r}}};
  for (std::size_t i = 0; i < 4; ++i) {
    for (int k = 0; k <= 4; ++k) {
      points.push_back(corners[i] + direction_of(kPi / 2 * (static_cast<double>(i) + k / 4.0)) * r);
    }
  }
  return points;
}

// A round-ended rod.
std::vector<SketchPoint> rod(SketchPoint a, SketchPoint b, double radius) {
  const SketchPoint d = b - a;
  const double angle = std::atan2(d.x, d.y);
  std::vector<SketchPoint> points;
  for (int k = 0; k <= 8; ++k)
    points.push_back(b + direction_of(angle - kPi / 2 + kPi * k / 8) * radius);
  for (int k = 0; k <= 8; ++k)
    points.push_back(a + direction_of(angle + kPi / 2 + kPi * k / 8) * radius);
  return points;
}

class PropBuilder {
 public:
  PropBuilder(const SketchPanel& panel, const SketchPose* pose) : panel_(panel), pose_(pose) {}

  PropGroups build() {
    for (const SketchProp& prop : panel_.props) add(prop);
    return std::move(groups_);
  }

 private:
  void behind(SketchShape shape) { groups_.behind.shapes.push_back(std::move(shape)); }
  void before(SketchShape shape) {
    groups_.before.rim.push_back(shape.points);
    groups_.before.shapes.push_back(std::move(shape));
  }

  void add(const SketchProp& prop) {
    switch (prop.kind) {
      case SketchPropKind::Floor:
      case SketchPropKind::Wall:
        return;
      case SketchPropKind::Box:
      case SketchPropKind::Bench:
      case SketchPropKind::Mat:
      case SketchPropKind::Chair:
      case SketchPropKind::Scale:
      case SketchPropKind::Wedge:
        return add_block(prop);
      case SketchPropKind::Ball:
      case SketchPropKind::Roller:
      case SketchPropKind::Plate:
        return add_round(prop);
      case SketchPropKind::Pipe:
      case SketchPropKind::Bar:
        return add_rod(prop);
      case SketchPropKind::Tape:
      case SketchPropKind::Band:
        return add_strip(prop);
      case SketchPropKind::Dumbbell:
      case SketchPropKind::Kettlebell:
        return add_weight(prop);
    }
  }

  void add_block(const SketchProp& p) {
    const SketchPoint at = resolve(p.at, pose_);
    const double thick = std::min(0.06, p.height);
    const auto board = [&](double x, double y, double width, double height) {
      behind(filled(block(x, y, width, height), kBoard, kBoardEdge, kEdge));
    };
    switch (p.kind) {
      case SketchPropKind::Mat: {
        const double height = p.height > 0 ? p.height : 0.02;
        behind(filled(block(at.x, at.y, p.width, height), kRubber, kRubberEdge, kEdge));
        break;
      }
      case SketchPropKind::Scale: {
        const double height = p.height > 0 ? p.height : 0.04;
        behind(filled(block(at.x, at.y, p.width, height), kIron));
        break;
      }
      case SketchPropKind::Wedge: {
        const double left = p.on_right ? 0.008 : p.height;
        const double right = p.on_right ? p.height : 0.008;
        behind(filled({at, at + SketchPoint{0, left}, at + SketchPoint{p.width, right},
                       at + SketchPoint{p.width, 0}},
                      kBoard, kBoardEdge, kEdge));
        break;
      }
      case SketchPropKind::Bench:
      case SketchPropKind::Chair: {
        const double leg = std::min(0.035, p.width / 4);
        for (const double x : {at.x + 0.02, at.x + p.width - 0.02 - leg}) {
          behind(filled(block(x, at.y, leg, p.height - thick), kBoardEdge));
        }
        if (p.kind == SketchPropKind::Chair) {
          const double x = p.on_right ? at.x + p.width - leg - 0.02 : at.x + 0.02;
          behind(filled(block(x, at.y + p.height - 0.01, leg, 0.42), kBoardEdge));
        }
        board(at.x, at.y + p.height - thick, p.width, thick);
        break;
      }
      default:
        board(at.x, at.y, p.width, p.height);
        // Two boards' seams, so that a box is not a blank.
        if (p.height > 0.18) {
          behind(stroked({at + SketchPoint{0.01, p.height * 0.5},
                          at + SketchPoint{p.width - 0.01, p.height * 0.5}},
                         kBoardEdge.with_alpha(0.5), kEdge * 0.7));
        }
    }
  }

  void add_round(const SketchProp& p) {
    const SketchPoint at = resolve(p.at, pose_);
    const bool is_plate = p.kind == SketchPropKind::Plate;
    behind(filled(circle_outline(at, p.radius), is_plate ? kIron : kRubber,
                  is_plate ? kInk : kRubberEdge, kEdge));
    if (p.kind == SketchPropKind::Ball) {
      // Two seams make a disc a ball.
      for (const double bulge : {0.35, 0.75}) {
        std::vector<SketchPoint> seam;
        for (int k = 0; k <= 16; ++k) {
          const double a = kPi * (k / 16.0 - 0.5) * 0.98;
          seam.push_back(at + SketchPoint{-std::cos(a) * bulge * p.radius, std::sin(a) * p.radius});
        }
        behind(stroked(seam, kRubberEdge.with_alpha(0.45), kEdge * 0.8));
      }
    } else {
      behind(filled(circle_outline(at, p.radius * (is_plate ? 0.16 : 0.42)), kPaper, kRubberEdge,
                    is_plate ? 0 : kEdge));
    }
  }

  void add_rod(const SketchProp& p) {
    const bool is_bar = p.kind == SketchPropKind::Bar;
    const double radius = is_bar ? kBarRadius : kPipeRadius;
    const double disc = p.radius > 0 ? p.radius : kDiscRadius;
    const bool from_end = panel_.view == SketchView::Side && !p.from && p.length <= 0;
    if (from_end) {
      const SketchPoint at = resolve(p.at, pose_);
      if (is_bar) {
        behind(filled(circle_outline(at, disc), kIron.with_alpha(0.22), kIron, kEdge));
        behind(filled(circle_outline(at, disc * 0.62), kPaper.with_alpha(0), kIron.with_alpha(0.5),
                      kEdge * 0.6));
      }
      before(filled(circle_outline(at, radius + 0.004), kTimber, kInk, kEdge * 0.8));
      return;
    }
    const auto [a, b] = rod_ends(p);
    const SketchPoint along = b - a;
    const double length = std::max(length_of(along), 1e-6);
    const SketchPoint d = along * (1 / length);
    if (is_bar) {
      for (const double s : {0.09, length - 0.09}) {
        const SketchPoint middle = a + d * s;
        behind(filled(rod(middle - left_of(d) * disc, middle + left_of(d) * disc, 0.028), kIron));
      }
    }
    before(filled(rod(a, b, radius), kTimber));
  }

  // Between two places; or through both hands seen from the front; or by centre and angle.
  std::pair<SketchPoint, SketchPoint> rod_ends(const SketchProp& p) {
    if (p.from && p.to) return {resolve(*p.from, pose_), resolve(*p.to, pose_)};
    const double overhang = p.kind == SketchPropKind::Bar ? 0.28 : 0.14;
    if (p.at.joint == SketchJoint::Hand && pose_ != nullptr && panel_.view != SketchView::Side) {
      const SketchPoint a = pose_->at(SketchJoint::Hand, 0);
      const SketchPoint b = pose_->at(SketchJoint::Hand, 1);
      const double span = length_of(b - a);
      if (span > 0.05) {
        const double extra = p.length > 0 ? std::max(0.5 * (p.length - span), 0.05) : overhang;
        const SketchPoint d = (b - a) * (1 / span);
        return {a - d * extra, b + d * extra};
      }
    }
    const SketchPoint center = resolve(p.at, pose_);
    const SketchPoint half = direction_of(p.angle) * (0.5 * (p.length > 0 ? p.length : 1.2));
    return {center - half, center + half};
  }

  void add_strip(const SketchProp& p) {
    if (!p.from || !p.to) return;
    const SketchPoint a = resolve(*p.from, pose_);
    const SketchPoint b = resolve(*p.to, pose_);
    if (p.kind == SketchPropKind::Band) {
      before(filled(rod(a, b, 0.011), kHeather));
      return;
    }
    const double length = length_of(b - a);
    if (length < 1e-6) return;
    const SketchPoint d = (b - a) * (1 / length);
    const SketchPoint side = left_of(d) * 0.012;
    before(filled({a - side, a + side, b + side, b - side}, kTapeFill, kBoardEdge, kEdge * 0.6));
    const int ticks = std::min(static_cast<int>(length / 0.02), 200);
    for (int k = 1; k < ticks; ++k) {
      const SketchPoint at = a + d * (0.02 * k);
      groups_.before.shapes.push_back(
          stroked({at + side, at + side * (k % 5 == 0 ? -1.0 : 0.0)}, kBoardEdge, kEdge * 0.5));
    }
  }

  void add_weight(const SketchProp& p) {
    const SketchPoint at = resolve(p.at, pose_);
    const double radius = p.radius > 0 ? p.radius : 0.07;
    if (p.kind == SketchPropKind::Dumbbell) {
      if (panel_.view == SketchView::Side) {
        before(filled(circle_outline(at, radius), kIron, kInk, kEdge));
        before(filled(circle_outline(at, 0.3 * radius), kMortar));
        return;
      }
      const SketchPoint half = direction_of(p.angle) * 0.11;
      before(filled(rod(at - half, at + half, 0.014), kIron));
      for (const double s : {-1.0, 1.0}) {
        const SketchPoint across = left_of(half) * (0.05 / 0.11);
        before(filled(rod(at + half * s - across, at + half * s + across, 0.025), kIron));
      }
      return;
    }
    const SketchPoint body = at - SketchPoint{0, 0.11};
    SketchShape handle = stroked({}, kIron, 0.022);
    for (int k = 0; k <= 12; ++k) {
      handle.points.push_back(at + SketchPoint{0, -0.05} +
                              direction_of(kPi * (k / 6.0 - 1) * 0.6) * 0.05);
    }
    groups_.before.shapes.push_back(std::move(handle));
    before(filled(circle_outline(body, 0.085), kIron, kInk, kEdge));
  }

  const SketchPanel& panel_;
  const SketchPose* pose_;
  PropGroups groups_;
};

}  // namespace

void SketchExtent::add(SketchPoint p) {
  left = empty ? p.x : std::min(left, p.x);
  right = empty ? p.x : std::max(right, p.x);
  bottom = empty ? p.y : std::min(bottom, p.y);
  top = empty ? p.y : std::max(top, p.y);
  empty = false;
}

void SketchExtent::add(const std::vector<SketchPoint>& points) {
  for (const SketchPoint& p : points) add(p);
}

PropGroups prop_groups(const SketchPanel& panel, const SketchPose* pose) {
  return PropBuilder(panel, pose).build();
}

SketchGroup ground_group(const SketchPanel& panel, const SketchExtent& rest) {
  SketchGroup group;
  const SketchExtent all = rest.empty ? SketchExtent{-0.5, 0.5, 0, 1.0, false} : rest;
  // A floor ends at a wall.
  double left = all.left - kGroundAir;
  double right = all.right + kGroundAir;
  for (const SketchProp& p : panel.props) {
    if (p.kind != SketchPropKind::Wall) continue;
    (p.on_right ? right : left) = p.at.at.x + (p.on_right ? kSlab : -kSlab);
  }
  for (const SketchProp& p : panel.props) {
    if (p.kind == SketchPropKind::Wall) {
      const double x = p.at.at.x;
      const double out = p.on_right ? kSlab : -kSlab;
      const double top = p.height > 0 ? p.height : std::max(all.top, 0.5) + kWallAir;
      const double bottom = std::min(0.0, all.bottom);
      group.shapes.push_back(
          filled({{x, bottom}, {x, top}, {x + out, top}, {x + out, bottom}}, kGround));
      group.shapes.push_back(stroked({{x, bottom}, {x, top}}, kGranite, kEdge));
    } else if (p.kind == SketchPropKind::Floor) {
      const double y = p.at.at.y;
      const double from = p.width > 0 ? p.at.at.x : std::min(left, right);
      const double to = p.width > 0 ? p.at.at.x + p.width : std::max(left, right);
      group.shapes.push_back(
          filled({{from, y}, {to, y}, {to, y - kSlab}, {from, y - kSlab}}, kGround));
      group.shapes.push_back(stroked({{from, y}, {to, y}}, kGranite, kEdge));
    }
  }
  return group;
}

}  // namespace lintel::report
