#include <algorithm>
#include <numbers>
#include <span>

#include "report/sketch_shapes.h"

namespace lintel::report {
namespace {

constexpr double kPi = std::numbers::pi;

// A dressed figure without a face: shirt, shorts, shoes; the far side of everything paler.
struct Dress {
  Color skin;
  Color shirt;
  Color shorts;
  Color shoe;
};
constexpr Dress kNear = {rgb(0x86A9BC), kHarbour, rgb(0x123B54), kInk};
constexpr Dress kFar = {rgb(0xBDD0DA), rgb(0x8DB0C5), rgb(0x7E9AAB), rgb(0x8B969C)};
constexpr Color kHair = rgb(0x24353F);

// Half widths of a limb to its front and its back at a share of its length [m].
struct Profile {
  double t;
  double front;
  double back;
};

constexpr Profile kThigh[] = {{0.0, 0.082, 0.088},
                              {0.15, 0.086, 0.088},
                              {0.45, 0.078, 0.070},
                              {0.8, 0.058, 0.052},
                              {1.0, 0.054, 0.046}};
constexpr Profile kShank[] = {{0.0, 0.052, 0.046},  {0.12, 0.048, 0.054}, {0.30, 0.043, 0.066},
                              {0.55, 0.038, 0.050}, {0.85, 0.031, 0.034}, {1.0, 0.033, 0.036}};
constexpr Profile kUpperArm[] = {
    {0.0, 0.052, 0.052}, {0.2, 0.050, 0.050}, {0.5, 0.043, 0.044}, {1.0, 0.035, 0.036}};
constexpr Profile kForearm[] = {
    {0.0, 0.035, 0.036}, {0.25, 0.041, 0.040}, {0.6, 0.034, 0.033}, {1.0, 0.024, 0.024}};
constexpr Profile kHand[] = {
    {0.0, 0.024, 0.024}, {0.35, 0.036, 0.034}, {0.7, 0.034, 0.032}, {1.0, 0.022, 0.022}};
constexpr Profile kTrunk[] = {{0.0, 0.086, 0.108},  {0.14, 0.096, 0.104}, {0.34, 0.094, 0.076},
                              {0.55, 0.100, 0.078}, {0.76, 0.112, 0.096}, {0.90, 0.090, 0.090},
                              {1.0, 0.052, 0.056}};
constexpr Profile kNeck[] = {{0.0, 0.050, 0.056}, {0.5, 0.043, 0.045}, {1.0, 0.045, 0.045}};
constexpr double kHandLength = 0.155;
constexpr double kSleeve = 0.50;   // share of the upper arm
constexpr double kTrouser = 0.56;  // share of the thigh

// A centre line with its direction, bent evenly from one to the other.
struct CenterLine {
  SketchPoint from, bend, to;
  SketchPoint at(double t) const {
    return from * ((1 - t) * (1 - t)) + bend * (2 * t * (1 - t)) + to * (t * t);
  }
  SketchPoint along(double t) const {
    const SketchPoint d = (bend - from) * (2 * (1 - t)) + (to - bend) * (2 * t);
    const double length = length_of(d);
    return length > 1e-9 ? d * (1 / length) : SketchPoint{0, 1};
  }
};
CenterLine straight(SketchPoint from, SketchPoint to) {
  return {from, (from + to) * 0.5, to};
}

// The outline between two shares of the length with round ends; front on the left of the direction
// for front_sign +1.
std::vector<SketchPoint> limb_outline(const CenterLine& line, std::span<const Profile> profile,
                                      double front_sign, double begin, double end, double wider) {
  const auto widths = [&](double t) {
    std::size_t i = 1;
    while (i + 1 < profile.size() && profile[i].t < t) ++i;
    const Profile& a = profile[i - 1];
    const Profile& b = profile[i];
    const double share = std::clamp((t - a.t) / (b.t - a.t), 0.0, 1.0);
    return std::pair{a.front + share * (b.front - a.front) + wider,
                     a.back + share * (b.back - a.back) + wider};
  };
  std::vector<double> stations{begin};
  for (const Profile& p : profile) {
    if (p.t > begin + 0.04 && p.t < end - 0.04) stations.push_back(p.t);
  }
  stations.push_back(end);
  std::vector<SketchPoint> points;
  const auto cap = [&](double t, double sign) {
    const auto [front, back] = widths(t);
    const SketchPoint d = line.along(t) * sign;
    const SketchPoint side = left_of(line.along(t)) * front_sign;
    const double r = 0.5 * (front + back);
    const SketchPoint middle = line.at(t) + side * (0.5 * (front - back));
    for (const double turn : {-0.25, 0.0, 0.25}) {
      const double a = turn * kPi;
      points.push_back(middle + d * (r * std::cos(a)) - side * (sign * r * std::sin(a)));
    }
  };
  for (const double t : stations) {
    points.push_back(line.at(t) + left_of(line.along(t)) * (front_sign * widths(t).first));
  }
  cap(end, 1);
  for (std::size_t i = stations.size(); i-- > 0;) {
    const double t = stations[i];
    points.push_back(line.at(t) - left_of(line.along(t)) * (front_sign * widths(t).second));
  }
  cap(begin, -1);
  return smooth_outline(points);
}

// The part of an outline on the near side of a line through `at` across `along`.
std::vector<SketchPoint> part_below(const std::vector<SketchPoint>& outline, SketchPoint at,
                                    SketchPoint along) {
  const auto height = [&](SketchPoint p) {
    return (p.x - at.x) * along.x + (p.y - at.y) * along.y;
  };
  std::vector<SketchPoint> part;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const SketchPoint& a = outline[i];
    const SketchPoint& b = outline[(i + 1) % outline.size()];
    const double ha = height(a);
    const double hb = height(b);
    if (ha <= 0) part.push_back(a);
    if ((ha < 0 && hb > 0) || (ha > 0 && hb < 0)) part.push_back(a + (b - a) * (ha / (ha - hb)));
  }
  return part;
}

void add(SketchGroup& group, std::vector<SketchPoint> points, Color color) {
  SketchShape shape;
  shape.points = std::move(points);
  shape.fill = color;
  group.shapes.push_back(std::move(shape));
}

class BodyBuilder {
 public:
  BodyBuilder(const SketchFigure& figure, SketchView view, const SketchPose& pose)
      : f_(figure), is_side_(view == SketchView::Side), pose_(pose) {}

  std::vector<SketchGroup> build() {
    // Layers: 0 behind, 1 trunk, 2 before. In front and top views the legs lie behind the trunk's
    // edge and the arms before it.
    std::array<std::vector<SketchGroup>, 3> layers;
    const auto layer_of = [&](SketchLayer wish, std::size_t side, bool is_arm) {
      if (wish == SketchLayer::Behind) return 0;
      if (wish == SketchLayer::Before) return 2;
      if (is_side_) return side == 1 ? 0 : 2;
      return is_arm ? 2 : 0;
    };
    const auto put = [&](int layer, SketchGroup group) {
      layers[static_cast<std::size_t>(layer)].push_back(std::move(group));
    };
    for (const std::size_t side : {std::size_t{1}, std::size_t{0}}) {
      const int layer = layer_of(f_.arm_layer[side], side, true);
      if (layer == 0) put(0, arm(side));
    }
    for (const std::size_t side : {std::size_t{1}, std::size_t{0}}) {
      put(layer_of(f_.leg_layer[side], side, false), leg(side));
    }
    put(1, is_side_ ? side_trunk() : front_trunk());
    for (const std::size_t side : {std::size_t{1}, std::size_t{0}}) {
      const int layer = layer_of(f_.arm_layer[side], side, true);
      if (layer == 2) put(2, arm(side));
    }
    std::vector<SketchGroup> groups;
    for (auto& layer : layers) {
      for (SketchGroup& group : layer) groups.push_back(std::move(group));
    }
    return groups;
  }

 private:
  const Dress& dress(std::size_t side) const { return is_side_ && side == 1 ? kFar : kNear; }
  SketchPoint at(SketchJoint joint, std::size_t side = 0) const { return pose_.at(joint, side); }
  // Front of a limb that hangs: to the left of its direction when facing right.
  double limb_front(std::size_t side) const {
    if (is_side_) return f_.facing;
    return side == 0 ? -1 : 1;  // outer side of the limb
  }

  SketchGroup arm(std::size_t side) {
    SketchGroup group;
    const Dress& d = dress(side);
    const double front = limb_front(side);
    const CenterLine upper =
        straight(at(SketchJoint::Shoulder, side), at(SketchJoint::Elbow, side));
    const CenterLine lower = straight(at(SketchJoint::Elbow, side), at(SketchJoint::Wrist, side));
    const SketchPoint wrist = at(SketchJoint::Wrist, side);
    const CenterLine hand = straight(wrist, wrist + pose_.hand_direction[side] * kHandLength);
    const auto upper_outline = limb_outline(upper, kUpperArm, front, 0, 1, 0);
    const auto lower_outline = limb_outline(lower, kForearm, front, 0, 1, 0);
    const auto hand_outline = limb_outline(hand, kHand, front, 0.05, 0.86, 0);
    group.rim = {limb_outline(upper, kUpperArm, front, is_side_ ? 0.0 : 0.3, 1, 0), lower_outline,
                 hand_outline};
    add(group, hand_outline, d.skin);
    add(group, lower_outline, d.skin);
    add(group, upper_outline, d.skin);
    add(group, limb_outline(upper, kUpperArm, front, 0, kSleeve, 0.006), d.shirt);
    return group;
  }

  SketchGroup leg(std::size_t side) {
    SketchGroup group;
    const Dress& d = dress(side);
    const double front = limb_front(side);
    const CenterLine upper = straight(at(SketchJoint::Hip, side), at(SketchJoint::Knee, side));
    const CenterLine lower = straight(at(SketchJoint::Knee, side), at(SketchJoint::Ankle, side));
    const auto foot_outline = is_side_ ? side_foot(side) : front_foot(side);
    const auto lower_outline = limb_outline(lower, kShank, front, 0, 1, 0);
    // Seen from the front a thigh is slimmer than from the side.
    const double wider = is_side_ ? 0 : -0.012;
    group.rim = {limb_outline(upper, kThigh, front, 0.3, 1, wider), lower_outline, foot_outline};
    add(group, lower_outline, d.skin);
    add(group, foot_outline, d.shoe);
    add(group, limb_outline(upper, kThigh, front, 0, 1, wider), d.skin);
    add(group, limb_outline(upper, kThigh, front, 0, kTrouser, wider + 0.005), d.shorts);
    return group;
  }

  std::vector<SketchPoint> side_foot(std::size_t side) const {
    // Along the sole from the heel, and up from it [m]; scaled with the seen length.
    static constexpr double kShape[][2] = {{0.006, 0.002}, {-0.014, 0.022}, {-0.010, 0.060},
                                           {0.016, 0.096}, {0.062, 0.108},  {0.100, 0.096},
                                           {0.150, 0.064}, {0.205, 0.050},  {0.246, 0.036},
                                           {0.256, 0.016}, {0.240, 0.002},  {0.120, 0.001}};
    std::vector<SketchPoint> points;
    for (const auto& p : kShape) {
      points.push_back(at(SketchJoint::Heel, side) +
                       pose_.foot_direction[side] * (p[0] * f_.foot_seen[side]) +
                       pose_.foot_up[side] * p[1]);
    }
    return smooth_outline(points);
  }

  std::vector<SketchPoint> front_foot(std::size_t side) const {
    static constexpr Profile kShoe[] = {
        {0.0, 0.034, 0.034}, {0.5, 0.045, 0.045}, {1.0, 0.044, 0.044}};
    return limb_outline(straight(at(SketchJoint::Heel, side), at(SketchJoint::Toe, side)), kShoe, 1,
                        0, 0.62, 0);
  }

  // Front of trunk and head: to the right of their direction when facing right.
  SketchGroup side_trunk() {
    SketchGroup group;
    const double front = -f_.facing;
    const CenterLine spine{at(SketchJoint::Pelvis), pose_.mid_spine, at(SketchJoint::Neck)};
    const SketchPoint neck = at(SketchJoint::Neck);
    const SketchPoint chin = neck + pose_.head_direction * (0.09 * f_.head_seen);
    const auto neck_outline =
        limb_outline(straight(neck - pose_.thorax_direction * 0.03, chin), kNeck, front, 0, 1, 0);
    const auto head_outline = side_head();
    const auto trunk_outline = limb_outline(spine, kTrunk, front, 0, 1, 0);
    group.rim = {trunk_outline, neck_outline, head_outline};
    add(group, neck_outline, kNear.skin);
    add(group, head_outline, kNear.skin);
    add(group, side_hair(), kHair);
    add(group, trunk_outline, kNear.shirt);
    add(group, limb_outline(spine, kTrunk, front, 0, 0.16, 0.002), kNear.shorts);
    return group;
  }

  // From shares of the head's half sizes, u to the face, v to the crown.
  SketchPoint head_point(double u, double v) const {
    const SketchPoint face = left_of(pose_.head_direction) * (is_side_ ? -f_.facing : -1.0);
    const SketchPoint middle =
        at(SketchJoint::Neck) +
        pose_.head_direction * ((SketchLengths::kHead - 0.118) * f_.head_seen);
    return middle + face * (u * (is_side_ ? 0.094 : 0.082)) + pose_.head_direction * (v * 0.118);
  }
  std::vector<SketchPoint> head_outline_of(std::span<const double[2]> shape) const {
    std::vector<SketchPoint> points;
    for (const auto& p : shape) points.push_back(head_point(p[0], p[1]));
    return smooth_outline(points);
  }
  std::vector<SketchPoint> side_head() const {
    static constexpr double kShape[][2] = {
        {0.0, 1.0},     {0.52, 0.88},   {0.86, 0.50},  {0.90, 0.20},  {1.10, -0.12},
        {0.92, -0.24},  {0.92, -0.50},  {0.80, -0.86}, {0.48, -0.98}, {0.05, -0.82},
        {-0.55, -0.72}, {-0.92, -0.28}, {-1.0, 0.22},  {-0.66, 0.80}};
    return head_outline_of(kShape);
  }
  std::vector<SketchPoint> side_hair() const {
    static constexpr double kShape[][2] = {
        {0.0, 1.04},  {0.55, 0.92},   {0.88, 0.52},   {0.60, 0.44},  {0.20, 0.30}, {0.02, -0.10},
        {-0.2, -0.3}, {-0.62, -0.62}, {-0.96, -0.30}, {-1.05, 0.22}, {-0.70, 0.84}};
    return head_outline_of(kShape);
  }

  SketchGroup front_trunk() {
    SketchGroup group;
    const SketchPoint neck = at(SketchJoint::Neck);
    const SketchPoint up = pose_.thorax_direction;
    const CenterLine spine{at(SketchJoint::Pelvis), pose_.mid_spine, neck};
    std::vector<SketchPoint> points;
    const auto side_points = [&](std::size_t side) {
      const double sign = side == 0 ? -1 : 1;
      const SketchPoint hip = at(SketchJoint::Hip, side);
      const SketchPoint shoulder = at(SketchJoint::Shoulder, side);
      const SketchPoint out = (shoulder - at(SketchJoint::Shoulder, 1 - side)) * 0.5;
      const SketchPoint hip_out = (hip - at(SketchJoint::Hip, 1 - side)) * 0.5;
      const double hip_half = std::max(length_of(hip_out), 0.02);
      const SketchPoint wide_hip = hip + hip_out * (0.055 / hip_half);
      const SketchPoint low = pose_.trunk_direction;
      std::vector<SketchPoint> line = {
          wide_hip - low * 0.07,
          wide_hip + low * 0.05,
          spine.at(0.42) - left_of(spine.along(0.42)) * (sign * 0.118),
          spine.at(0.72) + out * 0.80,
          shoulder + out * 0.16 - up * 0.02,
          shoulder + out * 0.10 + up * 0.035,
          neck + out * 0.36 + up * 0.002,
      };
      return line;
    };
    const auto right = side_points(1);
    const auto left = side_points(0);
    points.insert(points.end(), right.begin(), right.end());
    points.insert(points.end(), left.rbegin(), left.rend());
    const auto outline = smooth_outline(points);
    const SketchPoint chin = neck + pose_.head_direction * (0.10 * f_.head_seen);
    const auto neck_outline = limb_outline(straight(neck - up * 0.01, chin), kNeck, 1, 0, 1, 0);
    static constexpr double kHead[][2] = {
        {0.0, 1.0},  {0.62, 0.84},   {0.98, 0.30},   {0.90, -0.35}, {0.50, -0.88},
        {0.0, -1.0}, {-0.50, -0.88}, {-0.90, -0.35}, {-0.98, 0.30}, {-0.62, 0.84}};
    static constexpr double kHairFront[][2] = {
        {0.0, 1.06}, {0.66, 0.88},  {1.06, 0.30},  {0.94, 0.10},  {0.62, 0.44},
        {0.0, 0.56}, {-0.62, 0.44}, {-0.94, 0.10}, {-1.06, 0.30}, {-0.66, 0.88}};
    const auto head = head_outline_of(kHead);
    group.rim = {neck_outline, head};
    add(group, outline, kNear.shirt);
    add(group, part_below(outline, spine.at(0.24), spine.along(0.24)), kNear.shorts);
    add(group, neck_outline, kNear.skin);
    add(group, head, kNear.skin);
    add(group, head_outline_of(kHairFront), kHair);
    return group;
  }

  const SketchFigure& f_;
  bool is_side_;
  const SketchPose& pose_;
};

}  // namespace

std::vector<SketchPoint> smooth_outline(const std::vector<SketchPoint>& points) {
  // Catmull-Rom, centripetal in effect because the points are about evenly spaced.
  constexpr int kSteps = 5;
  const std::size_t n = points.size();
  std::vector<SketchPoint> out;
  if (n < 3) return points;
  out.reserve(n * kSteps);
  for (std::size_t i = 0; i < n; ++i) {
    const SketchPoint& a = points[(i + n - 1) % n];
    const SketchPoint& b = points[i];
    const SketchPoint& c = points[(i + 1) % n];
    const SketchPoint& d = points[(i + 2) % n];
    for (int k = 0; k < kSteps; ++k) {
      const double t = static_cast<double>(k) / kSteps;
      const double t2 = t * t;
      const double t3 = t2 * t;
      out.push_back(
          (b * 2 + (c - a) * t + (a * 2 - b * 5 + c * 4 - d) * t2 + (b * 3 - c * 3 + d - a) * t3) *
          0.5);
    }
  }
  return out;
}

std::vector<SketchPoint> circle_outline(SketchPoint center, double radius) {
  constexpr int kSteps = 40;
  std::vector<SketchPoint> points;
  for (int i = 0; i < kSteps; ++i) {
    points.push_back(center + direction_of(2 * kPi * i / kSteps) * radius);
  }
  return points;
}

std::vector<SketchGroup> body_groups(const SketchFigure& figure, SketchView view,
                                     const SketchPose& pose) {
  return BodyBuilder(figure, view, pose).build();
}

}  // namespace lintel::report
