#include "formats/sketch_json.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/units.h"
#include "formats/field_reader.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

constexpr double kFarthest = 5;  // [m] from the origin; a figure is 1.7 m tall
constexpr double kLeastSeen = 0.05;
constexpr std::size_t kLongestLabel = 120;

using Names = std::vector<std::string>;

template <typename Kind, typename NameOf>
Names names_of(std::size_t count, NameOf name_of) {
  Names names;
  for (std::size_t i = 0; i < count; ++i) names.emplace_back(name_of(static_cast<Kind>(i)));
  return names;
}
const Names& joint_names() {
  static const Names names = names_of<SketchJoint>(kSketchJointCount, sketch_joint_name);
  return names;
}
const Names& prop_names() {
  static const Names names = names_of<SketchPropKind>(kSketchPropCount, sketch_prop_name);
  return names;
}
const Names& mark_names() {
  static const Names names = names_of<SketchMarkKind>(kSketchMarkCount, sketch_mark_name);
  return names;
}
constexpr std::array<const char*, 3> kViews = {"side", "front", "top"};

bool is_paired(SketchJoint joint) {
  return joint != SketchJoint::Crown && joint != SketchJoint::Head && joint != SketchJoint::Neck &&
         joint != SketchJoint::Pelvis;
}

class SketchReader {
 public:
  explicit SketchReader(FaultList& faults) : faults_(faults), fields_(faults) {}

  void read(const JsonValue& value, const std::string& field, Sketch& out) {
    if (!fields_.is_kind(value, field, JsonKind::Object)) return;
    check_keys(value, field, {"panels"});
    const JsonValue* panels = value.find("panels");
    if (panels == nullptr) {
      faults_.add(value, field + ".panels", "is missing", "give the drawing one panel or more");
      return;
    }
    each(*panels, field + ".panels", Sketch::kMostPanels,
         [&](const JsonValue& item, const std::string& path) {
           out.panels.push_back(read_panel(item, path));
         });
    if (panels->kind == JsonKind::Array && panels->items.empty()) {
      faults_.add(*panels, field + ".panels", "is empty", "give the drawing one panel or more");
    }
  }

 private:
  using Pair = std::array<std::optional<double>, 2>;

  void check_keys(const JsonValue& object, const std::string& path, const Names& known) {
    fields_.check_keys(object, path + ".", known);
  }

  template <typename Read>
  void each(const JsonValue& list, const std::string& path, std::size_t most, Read read) {
    if (!fields_.is_kind(list, path, JsonKind::Array)) return;
    if (list.items.size() > most) {
      faults_.add(list, path,
                  "has " + std::to_string(list.items.size()) + " entries; allowed are " +
                      std::to_string(most));
      return;
    }
    for (std::size_t i = 0; i < list.items.size(); ++i) {
      read(list.items[i], path + "[" + std::to_string(i) + "]");
    }
  }

  // May be empty, unlike other texts.
  std::string label(const JsonValue& object, const std::string& path, const char* key) {
    const JsonValue* value =
        fields_.member(object, path + ".", key, JsonKind::String, Presence::Optional);
    if (value == nullptr) return {};
    if (value->text.size() > kLongestLabel) {
      faults_.add(*value, path + "." + key,
                  "is " + std::to_string(value->text.size()) + " bytes long; allowed are " +
                      std::to_string(kLongestLabel),
                  "shorten it");
    }
    return value->text;
  }

  std::optional<double> angle(const JsonValue& value, const std::string& path) {
    const auto degrees = fields_.number_of(value, path, {-720, 720, "degrees"});
    if (!degrees) return {};
    return *degrees / kDegrees;
  }
  std::optional<double> length(const JsonValue& value, const std::string& path, double low) {
    const auto cm =
        fields_.number_of(value, path, {low * kCentimetres, kFarthest * kCentimetres, "cm"});
    if (!cm) return {};
    return *cm / kCentimetres;
  }

  // Sets `out` when the key is there; says whether it is.
  bool set_angle(const JsonValue& object, const std::string& path, const char* key, double& out) {
    const JsonValue* value = object.find(key);
    if (value == nullptr) return false;
    if (const auto number = angle(*value, path + "." + key)) out = *number;
    return true;
  }
  bool set_length(const JsonValue& object, const std::string& path, const char* key, double& out,
                  double low) {
    const JsonValue* value = object.find(key);
    if (value == nullptr) return false;
    if (const auto number = length(*value, path + "." + key, low)) out = *number;
    return true;
  }

  // One number for both, or [first, second].
  template <typename ReadOne>
  Pair pair(const JsonValue* value, const std::string& path, ReadOne read_one) {
    if (value == nullptr) return {};
    if (value->kind == JsonKind::Number) {
      const auto both = read_one(*value, path);
      return {both, both};
    }
    if (value->kind != JsonKind::Array || value->items.size() != 2) {
      faults_.add(
          *value, path, "is neither a number nor a list of two numbers",
          "write one number for both sides, or [near, far], or [left, right] of the picture");
      return {};
    }
    return {read_one(value->items[0], path + "[0]"), read_one(value->items[1], path + "[1]")};
  }
  Pair angles(const JsonValue& object, const std::string& path, const char* key) {
    return pair(object.find(key), path + "." + key,
                [this](const JsonValue& v, const std::string& p) { return angle(v, p); });
  }

  SketchPanel read_panel(const JsonValue& value, const std::string& path);
  SketchFigure read_figure(const JsonValue& value, const std::string& path);
  void read_anchor(const JsonValue& value, const std::string& path, SketchFigure& figure);
  void read_seen(const JsonValue& value, const std::string& path, SketchFigure& figure);
  void read_layers(const JsonValue& figure_value, const std::string& path, const char* key,
                   SketchLayer layer, SketchFigure& figure);
  bool read_joint(const JsonValue& value, const std::string& path, SketchPlace& place);
  SketchPlace read_place(const JsonValue& value, const std::string& path);
  SketchProp read_prop(const JsonValue& value, const std::string& path);
  void require_prop_parts(const JsonValue& value, const std::string& path, const SketchProp& prop);
  SketchMark read_mark(const JsonValue& value, const std::string& path);

  FaultList& faults_;
  FieldReader fields_;
};

SketchPanel SketchReader::read_panel(const JsonValue& value, const std::string& path) {
  SketchPanel panel;
  if (!fields_.is_kind(value, path, JsonKind::Object)) return panel;
  check_keys(value, path, {"caption", "view", "figure", "figures", "props", "marks"});
  panel.caption = label(value, path, "caption");
  if (const JsonValue* view = value.find("view")) {
    const auto found = fields_.word_of(*view, path + ".view", {kViews.begin(), kViews.end()});
    if (found) panel.view = static_cast<SketchView>(*found);
  }
  if (const JsonValue* figure = value.find("figure")) {
    panel.figures.push_back(read_figure(*figure, path + ".figure"));
  }
  if (const JsonValue* figures = value.find("figures")) {
    each(*figures, path + ".figures", 3, [&](const JsonValue& item, const std::string& at) {
      panel.figures.push_back(read_figure(item, at));
    });
  }
  if (const JsonValue* props = value.find("props")) {
    each(*props, path + ".props", Sketch::kMostParts,
         [&](const JsonValue& item, const std::string& at) {
           panel.props.push_back(read_prop(item, at));
         });
  }
  if (const JsonValue* marks = value.find("marks")) {
    each(*marks, path + ".marks", Sketch::kMostParts,
         [&](const JsonValue& item, const std::string& at) {
           panel.marks.push_back(read_mark(item, at));
         });
  }
  if (panel.figures.empty() && panel.props.empty() && panel.marks.empty()) {
    faults_.add(value, path, "shows nothing", "give it a figure, props or marks");
  }
  return panel;
}

SketchFigure SketchReader::read_figure(const JsonValue& value, const std::string& path) {
  SketchFigure figure;
  if (!fields_.is_kind(value, path, JsonKind::Object)) return figure;
  check_keys(value, path,
             {"at", "facing", "trunk_deg", "thorax_deg", "head_deg", "upper_arm_deg", "forearm_deg",
              "hand_deg", "thigh_deg", "shank_deg", "foot_deg", "shoulder_line_deg", "hip_line_deg",
              "seen", "behind", "before"});
  if (const JsonValue* at = value.find("at")) read_anchor(*at, path + ".at", figure);
  if (const JsonValue* facing = value.find("facing")) {
    const auto found = fields_.word_of(*facing, path + ".facing", {"right", "left"});
    if (found) figure.facing = *found == 0 ? 1 : -1;
  }
  const auto optional_angle = [&](const char* key, std::optional<double>& out) {
    double number = 0;
    if (set_angle(value, path, key, number)) out = number;
  };
  set_angle(value, path, "trunk_deg", figure.trunk);
  optional_angle("thorax_deg", figure.thorax);
  optional_angle("head_deg", figure.head);
  optional_angle("shoulder_line_deg", figure.shoulder_line);
  optional_angle("hip_line_deg", figure.hip_line);
  const Pair upper_arm = angles(value, path, "upper_arm_deg");
  const Pair forearm = angles(value, path, "forearm_deg");
  const Pair thigh = angles(value, path, "thigh_deg");
  const Pair shank = angles(value, path, "shank_deg");
  figure.hand = angles(value, path, "hand_deg");
  figure.foot = angles(value, path, "foot_deg");
  for (std::size_t s = 0; s < 2; ++s) {
    figure.upper_arm[s] = upper_arm[s].value_or(180 / kDegrees);
    figure.forearm[s] = forearm[s].value_or(figure.upper_arm[s]);
    figure.thigh[s] = thigh[s].value_or(180 / kDegrees);
    figure.shank[s] = shank[s].value_or(figure.thigh[s]);
  }
  if (const JsonValue* seen = value.find("seen")) read_seen(*seen, path + ".seen", figure);
  read_layers(value, path, "behind", SketchLayer::Behind, figure);
  read_layers(value, path, "before", SketchLayer::Before, figure);
  return figure;
}

void SketchReader::read_anchor(const JsonValue& value, const std::string& path,
                               SketchFigure& figure) {
  if (!fields_.is_kind(value, path, JsonKind::Object)) return;
  check_keys(value, path, {"joint", "x_cm", "y_cm"});
  if (const JsonValue* joint = value.find("joint")) {
    SketchPlace place;
    if (read_joint(*joint, path + ".joint", place)) {
      figure.anchor = *place.joint;
      figure.anchor_side = place.side;
    }
  }
  set_length(value, path, "x_cm", figure.at.x, -kFarthest);
  set_length(value, path, "y_cm", figure.at.y, -kFarthest);
}

void SketchReader::read_seen(const JsonValue& value, const std::string& path,
                             SketchFigure& figure) {
  if (!fields_.is_kind(value, path, JsonKind::Object)) return;
  const std::array<std::pair<const char*, double*>, 4> singles = {
      {{"trunk", &figure.trunk_seen},
       {"head", &figure.head_seen},
       {"shoulders", &figure.shoulders_seen},
       {"hips", &figure.hips_seen}}};
  const std::array<std::pair<const char*, SketchPair*>, 5> pairs = {
      {{"upper_arm", &figure.upper_arm_seen},
       {"forearm", &figure.forearm_seen},
       {"thigh", &figure.thigh_seen},
       {"shank", &figure.shank_seen},
       {"foot", &figure.foot_seen}}};
  Names known;
  for (const auto& single : singles) known.emplace_back(single.first);
  for (const auto& one : pairs) known.emplace_back(one.first);
  check_keys(value, path, known);
  const auto share = [this](const JsonValue& v, const std::string& p) {
    return fields_.number_of(v, p, {kLeastSeen, 1, ""});
  };
  for (const auto& [key, out] : singles) {
    const JsonValue* number = value.find(key);
    if (number != nullptr) *out = share(*number, path + "." + key).value_or(1);
  }
  for (const auto& [key, out] : pairs) {
    const Pair numbers = pair(value.find(key), path + "." + key, share);
    for (std::size_t s = 0; s < 2; ++s) (*out)[s] = numbers[s].value_or(1);
  }
}

constexpr std::array<const char*, 8> kLimbs = {"near_arm", "far_arm",   "near_leg", "far_leg",
                                               "left_arm", "right_arm", "left_leg", "right_leg"};

void SketchReader::read_layers(const JsonValue& figure_value, const std::string& path,
                               const char* key, SketchLayer layer, SketchFigure& figure) {
  const JsonValue* list = figure_value.find(key);
  if (list == nullptr) return;
  each(*list, path + "." + key, kLimbs.size(), [&](const JsonValue& item, const std::string& at) {
    const auto limb = fields_.word_of(item, at, {kLimbs.begin(), kLimbs.end()});
    if (!limb) return;
    const std::size_t side = *limb % 2;
    (*limb % 4 < 2 ? figure.arm_layer : figure.leg_layer)[side] = layer;
  });
}

bool SketchReader::read_joint(const JsonValue& value, const std::string& path, SketchPlace& place) {
  if (!fields_.is_kind(value, path, JsonKind::String)) return false;
  std::string_view name = value.text;
  std::string_view side;
  if (const std::size_t bar = name.find('_'); bar != std::string_view::npos) {
    side = name.substr(0, bar);
    name.remove_prefix(bar + 1);
  }
  if (name == "hands") name = "hand";
  const auto found = std::find(joint_names().begin(), joint_names().end(), name);
  const bool side_is_known =
      side.empty() || side == "near" || side == "far" || side == "left" || side == "right";
  if (found == joint_names().end() || !side_is_known) {
    const std::string_view nearest = nearest_word(name, joint_names());
    faults_.add(value, path, "is \"" + value.text + "\", which is no joint",
                nearest.empty() || !side_is_known
                    ? "known are: " + joined_words(joint_names()) +
                          ", with near_, far_, left_ or right_ before those that come in pairs"
                    : "did you mean \"" + std::string(nearest) + "\"?");
    return false;
  }
  place.joint = static_cast<SketchJoint>(found - joint_names().begin());
  const bool second = side == "far" || side == "right";
  place.side = second && is_paired(*place.joint) ? SketchSide::Second : SketchSide::First;
  return true;
}

SketchPlace SketchReader::read_place(const JsonValue& value, const std::string& path) {
  SketchPlace place;
  if (value.kind == JsonKind::String) {
    read_joint(value, path, place);
  } else if (value.kind == JsonKind::Array && value.items.size() == 2) {
    place.at.x = length(value.items[0], path + "[0]", -kFarthest).value_or(0);
    place.at.y = length(value.items[1], path + "[1]", -kFarthest).value_or(0);
  } else {
    faults_.add(value, path, "is no place", "write [x, y] in cm or the name of a joint");
  }
  return place;
}

SketchProp SketchReader::read_prop(const JsonValue& value, const std::string& path) {
  SketchProp prop;
  if (!fields_.is_kind(value, path, JsonKind::Object)) return prop;
  check_keys(value, path,
             {"kind", "at", "x_cm", "y_cm", "width_cm", "height_cm", "radius_cm", "length_cm",
              "angle_deg", "side", "from", "to", "label"});
  const JsonValue* kind = value.find("kind");
  if (kind == nullptr) {
    faults_.add(value, path + ".kind", "is missing", "known are: " + joined_words(prop_names()));
    return prop;
  }
  const auto found = fields_.word_of(*kind, path + ".kind", prop_names());
  if (!found) return prop;
  prop.kind = static_cast<SketchPropKind>(*found);
  if (const JsonValue* at = value.find("at")) prop.at = read_place(*at, path + ".at");
  set_length(value, path, "x_cm", prop.at.at.x, -kFarthest);
  set_length(value, path, "y_cm", prop.at.at.y, -kFarthest);
  set_length(value, path, "width_cm", prop.width, 0);
  set_length(value, path, "height_cm", prop.height, 0);
  set_length(value, path, "radius_cm", prop.radius, 0);
  set_length(value, path, "length_cm", prop.length, 0);
  prop.angle = 90 / kDegrees;
  set_angle(value, path, "angle_deg", prop.angle);
  prop.on_right = prop.kind != SketchPropKind::Wedge;  // heels on the left by default
  if (const JsonValue* side = value.find("side")) {
    const auto right = fields_.word_of(*side, path + ".side", {"left", "right"});
    if (right) prop.on_right = *right == 1;
  }
  if (const JsonValue* from = value.find("from")) prop.from = read_place(*from, path + ".from");
  if (const JsonValue* to = value.find("to")) prop.to = read_place(*to, path + ".to");
  prop.label = label(value, path, "label");
  require_prop_parts(value, path, prop);
  return prop;
}

void SketchReader::require_prop_parts(const JsonValue& value, const std::string& path,
                                      const SketchProp& prop) {
  const auto require = [&](const char* key, const char* mend) {
    if (value.find(key) == nullptr) {
      faults_.add(value, path + "." + key, "is missing", mend);
    }
  };
  const std::string name(sketch_prop_name(prop.kind));
  switch (prop.kind) {
    case SketchPropKind::Wall:
      require("x_cm", "say where the face of the wall is");
      break;
    case SketchPropKind::Box:
    case SketchPropKind::Bench:
    case SketchPropKind::Chair:
    case SketchPropKind::Wedge:
      require("width_cm", "give width_cm and height_cm");
      require("height_cm", "give width_cm and height_cm");
      break;
    case SketchPropKind::Mat:
    case SketchPropKind::Scale:
      require("width_cm", "give its width");
      break;
    case SketchPropKind::Ball:
    case SketchPropKind::Roller:
    case SketchPropKind::Plate:
      require("radius_cm", "give its radius");
      break;
    case SketchPropKind::Tape:
    case SketchPropKind::Band:
      require("from", "give from and to");
      require("to", "give from and to");
      break;
    default:
      break;
  }
}

SketchMark SketchReader::read_mark(const JsonValue& value, const std::string& path) {
  SketchMark mark;
  if (!fields_.is_kind(value, path, JsonKind::Object)) return mark;
  check_keys(value, path,
             {"kind", "at", "from", "to", "from_deg", "to_deg", "radius_cm", "label", "dashed"});
  const JsonValue* kind = value.find("kind");
  if (kind == nullptr) {
    faults_.add(value, path + ".kind", "is missing", "known are: " + joined_words(mark_names()));
    return mark;
  }
  const auto found = fields_.word_of(*kind, path + ".kind", mark_names());
  if (!found) return mark;
  mark.kind = static_cast<SketchMarkKind>(*found);
  const bool is_span = mark.kind == SketchMarkKind::Distance ||
                       mark.kind == SketchMarkKind::Arrow || mark.kind == SketchMarkKind::Line;
  const bool has_angles = mark.kind == SketchMarkKind::Angle || mark.kind == SketchMarkKind::Turn;
  Names needed = is_span ? Names{"from", "to"} : Names{"at"};
  if (has_angles) needed.insert(needed.end(), {"from_deg", "to_deg"});
  if (mark.kind == SketchMarkKind::Text) needed.emplace_back("label");
  for (const std::string& key : needed) {
    if (value.find(key) == nullptr) {
      faults_.add(value, path + "." + key, "is missing",
                  "this mark needs: " + joined_words(needed));
    }
  }
  if (const JsonValue* at = value.find("at")) mark.at = read_place(*at, path + ".at");
  if (const JsonValue* from = value.find("from")) mark.from = read_place(*from, path + ".from");
  if (const JsonValue* to = value.find("to")) mark.to = read_place(*to, path + ".to");
  set_angle(value, path, "from_deg", mark.from_angle);
  set_angle(value, path, "to_deg", mark.to_angle);
  set_length(value, path, "radius_cm", mark.radius, 0.01);
  if (const JsonValue* dashed = value.find("dashed")) {
    if (fields_.is_kind(*dashed, path + ".dashed", JsonKind::Boolean))
      mark.dashed = dashed->boolean;
  }
  mark.label = label(value, path, "label");
  return mark;
}

}  // namespace

void read_sketch(const JsonValue& value, std::string_view field, FaultList& faults, Sketch& out) {
  SketchReader(faults).read(value, std::string(field), out);
}

std::optional<Sketch> read_drawing(const JsonValue& root, FieldReader& read,
                                   const std::string& mend) {
  const JsonValue* value =
      read.member(root, "", "drawing", JsonKind::Object, Presence::Required, mend);
  if (value == nullptr) return std::nullopt;
  FaultList own;
  Sketch sketch;
  read_sketch(*value, "drawing", own, sketch);
  if (own.empty()) return sketch;
  for (Error& fault : own.take()) read.faults().add(std::move(fault));
  return std::nullopt;
}

}  // namespace lintel::formats
