#include "formats/question_json.h"

#include <cmath>

#include "formats/athlete_json.h"
#include "formats/field_reader.h"
#include "formats/json_cautions.h"

namespace lintel::formats {
namespace {

using reasoning::Lever;
using view::FigureJoint;

constexpr std::size_t kMostChanges = reasoning::kLeverCount;
constexpr int kMostDraws = 20000;

std::vector<std::string> lever_words() {
  std::vector<std::string> words;
  for (int i = 0; i < reasoning::kLeverCount; ++i) {
    words.emplace_back(reasoning::lever_name(static_cast<Lever>(i)));
  }
  return words;
}

class Reader {
 public:
  explicit Reader(FaultList& faults) : fields_(faults), faults_(faults) {}

  Question read(const JsonValue& root, ChangesInQuestion changes) {
    Question out;
    if (!fields_.is_kind(root, "the question", JsonKind::Object)) return out;
    std::vector<std::string> keys = {"athlete", "observed_deg", "observed_error_deg", "draws",
                                     "seed"};
    if (changes == ChangesInQuestion::Expected) keys.emplace_back("changes");
    fields_.check_keys(root, "", keys);
    read_athlete(root, out);
    const auto observed =
        fields_.number(root, "", "observed_deg", Presence::Optional, {-10.0, 90.0, "deg"});
    if (observed) out.observed = *observed * kRadiansPerDegree;
    const auto error =
        fields_.number(root, "", "observed_error_deg", Presence::Optional, {0.0, 30.0, "deg"});
    if (error) out.observed_error = *error * kRadiansPerDegree;
    out.draws = fields_.whole_number(root, "", "draws", Presence::Optional, 1, kMostDraws)
                    .value_or(out.draws);
    out.seed = static_cast<std::uint64_t>(
        fields_.whole_number(root, "", "seed", Presence::Optional, 0, 1'000'000'000).value_or(1));
    if (changes == ChangesInQuestion::Expected) read_changes(root, out);
    return out;
  }

 private:
  void read_athlete(const JsonValue& root, Question& out) {
    const JsonValue* value = fields_.member(root, "", "athlete", JsonKind::Object,
                                            Presence::Required, "give it a lintel-athlete-1");
    if (value == nullptr) return;
    FaultList inner;
    out.athlete = read_athlete_value(*value, inner);
    for (Error& fault : inner.take()) {
      fault.place.field = "athlete." + fault.place.field;
      faults_.add(std::move(fault));
    }
  }

  void read_changes(const JsonValue& root, Question& out) {
    const JsonValue* list = fields_.member(root, "", "changes", JsonKind::Array, Presence::Required,
                                           "give a list, empty for none");
    if (list == nullptr) return;
    if (list->items.size() > kMostChanges) {
      faults_.add(*list, "changes", "has more than " + std::to_string(kMostChanges) + " entries",
                  "one for each lever");
      return;
    }
    std::array<bool, reasoning::kLeverCount> seen{};
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string field = "changes[" + std::to_string(i) + "]";
      const JsonValue& item = list->items[i];
      if (!fields_.is_kind(item, field, JsonKind::Object)) continue;
      const auto change = read_change(item, field + ".");
      if (!change) continue;
      bool& before = seen[static_cast<std::size_t>(change->lever)];
      if (before) faults_.add(item, field + ".lever", "occurs twice", "keep one of the two");
      before = true;
      out.changes.push_back(*change);
    }
  }

  std::optional<Question::Change> read_change(const JsonValue& item, const std::string& path) {
    fields_.check_keys(item, path, {"lever", "to", "unit"});
    const auto lever = fields_.word(item, path, "lever", Presence::Required, lever_words());
    const auto to = fields_.number(item, path, "to", Presence::Required, {-1000.0, 1000.0});
    if (!lever || !to) return {};
    const auto which = static_cast<Lever>(*lever);
    const std::string unit(lever_unit(which));
    const JsonValue* said = fields_.member(item, path, "unit", JsonKind::String, Presence::Required,
                                           "write \"" + unit + "\"");
    if (said == nullptr) return {};
    if (said->text != unit) {
      faults_.add(*said, path + "unit", "is \"" + said->text + "\"", "write \"" + unit + "\"");
      return {};
    }
    return Question::Change{which, *to / lever_factor(which)};
  }

  FieldReader fields_;
  FaultList& faults_;
};

Json point_json(const view::FigurePoint& p) {
  // Tenths of a millimetre: more would only lengthen the answer.
  const auto round = [](double v) { return std::round(v * 1e4) / 1e4 + 0.0; };
  return Json::array({round(p.x), round(p.y)});
}

Json figure_json(const view::Figure& figure) {
  Json segments = Json::array();
  for (const view::FigureSegment& segment : figure.segments) {
    Json points = Json::array();
    for (const view::FigurePoint& p : segment.points) points.push_back(point_json(p));
    segments.push_back({{"name", segment.name}, {"points", std::move(points)}});
  }
  Json joints = Json::object();
  for (int i = 0; i < view::kFigureJointCount; ++i) {
    const auto joint = static_cast<FigureJoint>(i);
    joints[std::string(view::figure_joint_name(joint))] = point_json(figure.at(joint));
  }
  return {
      {"trunk_deg", number(figure.trunk_inclination * kDegrees)},
      {"shank_deg", number(figure.shank_inclination * kDegrees)},
      {"depth_cm", number(figure.depth * kCentimetres)},
      {"shoulder_elevation_deg", number(figure.shoulder_elevation * kDegrees)},
      {"segments", std::move(segments)},
      {"joints", std::move(joints)},
      {"disc_radius_m", number(figure.disc_radius)},
      {"plumb_x_m", number(figure.at(FigureJoint::Bar).x)},
      {"base_m", {number(figure.at(FigureJoint::Heel).x), number(figure.at(FigureJoint::Toe).x)}}};
}

// Where an error comes from: "test" or "population" with the limit, "lengths" or "couplings".
Json error_part_json(const reasoning::ErrorPart& part, const WhatIfAnswer& answer) {
  Json out = {
      {"source", "lengths"}, {"limit", nullptr}, {"error_deg", number(part.error * kDegrees)}};
  if (part.source == reasoning::ErrorSource::Couplings) out["source"] = "couplings";
  if (part.source == reasoning::ErrorSource::Range) {
    const auto source = answer.sources[static_cast<std::size_t>(part.limit)];
    out["source"] = source == posture::LimitSource::Default ? "population" : "test";
    out["limit"] = posture::limit_name(part.limit);
  }
  return out;
}

Json optional_figure(const std::optional<view::Figure>& figure) {
  return figure ? figure_json(*figure) : Json(nullptr);
}

}  // namespace

std::string_view lever_unit(Lever lever) {
  switch (lever) {
    case Lever::Stance:
    case Lever::Heel:
    case Lever::Grip:
    case Lever::Depth:
    case Lever::Surface:
      return "cm";
    case Lever::BarMass:
      return "kg";
    default:
      return "deg";
  }
}

double lever_factor(Lever lever) {
  const std::string_view unit = lever_unit(lever);
  return unit == "cm" ? kCentimetres : unit == "kg" ? 1.0 : kDegrees;
}

QuestionReading read_question_json(std::string_view text, ChangesInQuestion changes) {
  QuestionReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 20, 9, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    Question question = Reader(faults).read(*root, changes);
    if (faults.empty()) reading.question = std::move(question);
  }
  reading.faults = sorted_faults(faults, "");
  return reading;
}

std::string write_question_json(const Question& question) {
  Json root = {{"athlete", Json::parse(write_athlete_json(question.athlete))}};
  if (question.observed) root["observed_deg"] = number(*question.observed * kDegrees);
  if (question.observed_error) {
    root["observed_error_deg"] = number(*question.observed_error * kDegrees);
  }
  return root.dump();
}

std::string write_what_if_answer_json(const WhatIfAnswer& answer) {
  Json root;
  root["today"] = figure_json(answer.today);
  root["after"] = figure_json(answer.after);
  root["trunk_change_deg"] = number(answer.trunk_change * kDegrees);
  root["trunk_change_error_deg"] = number(answer.errors.change * kDegrees);
  root["today_trunk_error_deg"] = number(answer.errors.today * kDegrees);
  root["after_trunk_error_deg"] = number(answer.errors.after * kDegrees);
  root["distinguishable"] =
      reasoning::is_distinguishable(answer.trunk_change, answer.errors.change);
  root["error_parts"] = Json::array();
  for (const reasoning::ErrorPart& part : answer.errors.parts) {
    root["error_parts"].push_back(error_part_json(part, answer));
  }
  root["draws"] = answer.draws;
  root["possible"] = answer.possible;
  root["costs"] = Json::array();
  for (const reasoning::Cost cost : answer.costs) {
    root["costs"].push_back(
        {{"code", reasoning::cost_name(cost)}, {"text", reasoning::cost_sentence(cost)}});
  }
  root["levers"] = Json::array();
  for (const LeverRange& range : answer.levers) {
    const double factor = lever_factor(range.lever);
    root["levers"].push_back({{"lever", reasoning::lever_name(range.lever)},
                              {"label", reasoning::lever_label(range.lever)},
                              {"unit", lever_unit(range.lever)},
                              {"now", number(range.now * factor)},
                              {"low", number(range.low * factor)},
                              {"high", number(range.high * factor)}});
  }
  root["words"] = answer.words;
  root["cautions"] = cautions_json();
  return root.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string write_figure_json(const view::Figure& figure) {
  return figure_json(figure).dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string write_figures_json(const FigureSet& figures) {
  const Json root = {{"seen", optional_figure(figures.seen)},
                     {"upright", optional_figure(figures.upright)},
                     {"after_best", optional_figure(figures.after_best)}};
  return root.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace lintel::formats
