#include "formats/json_numbers.h"
#include "formats/sketch_json.h"

namespace lintel::formats {
namespace {

Json cm(double metres) {
  return number(metres * kCentimetres);
}
Json deg(double radians) {
  return number(radians * kDegrees);
}

std::string joint_text(SketchJoint joint, SketchSide side) {
  return (side == SketchSide::Second ? "far_" : "") + std::string(sketch_joint_name(joint));
}

Json place(const SketchPlace& p) {
  if (p.joint) return joint_text(*p.joint, p.side);
  return {cm(p.at.x), cm(p.at.y)};
}

Json pair(const SketchPair& p, double factor) {
  if (p[0] == p[1]) return number(p[0] * factor);
  return {number(p[0] * factor), number(p[1] * factor)};
}

void put_optional_pair(Json& object, const char* key,
                       const std::array<std::optional<double>, 2>& p) {
  if (p[0] && p[1]) object[key] = pair({*p[0], *p[1]}, kDegrees);
}

void put_seen(Json& object, const SketchFigure& f) {
  Json seen = Json::object();
  const auto single = [&](const char* key, double share) {
    if (share != 1) seen[key] = number(share);
  };
  const auto both = [&](const char* key, const SketchPair& share) {
    if (share != SketchPair{1, 1}) seen[key] = pair(share, 1);
  };
  single("trunk", f.trunk_seen);
  single("head", f.head_seen);
  single("shoulders", f.shoulders_seen);
  single("hips", f.hips_seen);
  both("upper_arm", f.upper_arm_seen);
  both("forearm", f.forearm_seen);
  both("thigh", f.thigh_seen);
  both("shank", f.shank_seen);
  both("foot", f.foot_seen);
  if (!seen.empty()) object["seen"] = std::move(seen);
}

Json figure(const SketchFigure& f) {
  Json object;
  object["at"] = {
      {"joint", joint_text(f.anchor, f.anchor_side)}, {"x_cm", cm(f.at.x)}, {"y_cm", cm(f.at.y)}};
  object["facing"] = f.facing < 0 ? "left" : "right";
  object["trunk_deg"] = deg(f.trunk);
  if (f.thorax) object["thorax_deg"] = deg(*f.thorax);
  if (f.head) object["head_deg"] = deg(*f.head);
  object["upper_arm_deg"] = pair(f.upper_arm, kDegrees);
  object["forearm_deg"] = pair(f.forearm, kDegrees);
  put_optional_pair(object, "hand_deg", f.hand);
  object["thigh_deg"] = pair(f.thigh, kDegrees);
  object["shank_deg"] = pair(f.shank, kDegrees);
  put_optional_pair(object, "foot_deg", f.foot);
  if (f.shoulder_line) object["shoulder_line_deg"] = deg(*f.shoulder_line);
  if (f.hip_line) object["hip_line_deg"] = deg(*f.hip_line);
  put_seen(object, f);
  const auto layers = [&](const char* key, SketchLayer layer) {
    Json list = Json::array();
    for (std::size_t s = 0; s < 2; ++s) {
      const std::string side = s == 0 ? "near_" : "far_";
      if (f.arm_layer[s] == layer) list.push_back(side + "arm");
      if (f.leg_layer[s] == layer) list.push_back(side + "leg");
    }
    if (!list.empty()) object[key] = std::move(list);
  };
  layers("behind", SketchLayer::Behind);
  layers("before", SketchLayer::Before);
  return object;
}

Json prop(const SketchProp& p) {
  Json object;
  object["kind"] = std::string(sketch_prop_name(p.kind));
  if (p.at.joint) {
    object["at"] = place(p.at);
  } else {
    object["x_cm"] = cm(p.at.at.x);
    object["y_cm"] = cm(p.at.at.y);
  }
  // What the kind asks for is written even when it is nothing.
  const bool is_block = p.kind >= SketchPropKind::Box && p.kind <= SketchPropKind::Scale;
  if (p.width > 0 || is_block || p.kind == SketchPropKind::Wedge) object["width_cm"] = cm(p.width);
  if (p.height > 0 || is_block || p.kind == SketchPropKind::Wedge)
    object["height_cm"] = cm(p.height);
  const bool is_round = p.kind == SketchPropKind::Ball || p.kind == SketchPropKind::Roller ||
                        p.kind == SketchPropKind::Plate;
  if (p.radius > 0 || is_round) object["radius_cm"] = cm(p.radius);
  if (p.length > 0) object["length_cm"] = cm(p.length);
  object["angle_deg"] = deg(p.angle);
  object["side"] = p.on_right ? "right" : "left";
  if (p.from) object["from"] = place(*p.from);
  if (p.to) object["to"] = place(*p.to);
  if (!p.label.empty()) object["label"] = p.label;
  return object;
}

Json mark(const SketchMark& m) {
  Json object;
  object["kind"] = std::string(sketch_mark_name(m.kind));
  const bool is_span = m.kind == SketchMarkKind::Distance || m.kind == SketchMarkKind::Arrow ||
                       m.kind == SketchMarkKind::Line;
  if (is_span) {
    object["from"] = place(m.from);
    object["to"] = place(m.to);
  } else {
    object["at"] = place(m.at);
  }
  if (m.kind == SketchMarkKind::Angle || m.kind == SketchMarkKind::Turn) {
    object["from_deg"] = deg(m.from_angle);
    object["to_deg"] = deg(m.to_angle);
    object["radius_cm"] = cm(m.radius);
  }
  if (m.dashed) object["dashed"] = true;
  if (!m.label.empty() || m.kind == SketchMarkKind::Text) object["label"] = m.label;
  return object;
}

}  // namespace

std::string write_sketch(const Sketch& sketch) {
  static constexpr std::array<const char*, 3> kViews = {"side", "front", "top"};
  Json panels = Json::array();
  for (const SketchPanel& p : sketch.panels) {
    Json panel;
    panel["caption"] = p.caption;
    panel["view"] = kViews[static_cast<std::size_t>(p.view)];
    const auto list = [&panel](const char* key, const auto& parts, auto to_json) {
      Json items = Json::array();
      for (const auto& part : parts) items.push_back(to_json(part));
      if (!items.empty()) panel[key] = std::move(items);
    };
    list("figures", p.figures, figure);
    list("props", p.props, prop);
    list("marks", p.marks, mark);
    panels.push_back(std::move(panel));
  }
  return Json{{"panels", std::move(panels)}}.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace lintel::formats
