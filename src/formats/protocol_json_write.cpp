#include "formats/json_cautions.h"
#include "formats/json_numbers.h"
#include "formats/protocol_json.h"
#include "formats/protocol_words.h"
#include "formats/sketch_json.h"

namespace lintel::formats {
namespace {

using body::TestProtocol;

template <typename Enum>
const std::string& word_of(const words::Words& list, Enum value) {
  return list[static_cast<std::size_t>(value)];
}

Json line_json(const body::PhotoLine& line, bool of_distance) {
  if (line.axis != body::PhotoAxis::Free || of_distance) return word_of(words::axes(), line.axis);
  return Json::array({line.from, line.to});
}

Json photo_json(const body::PhotoRecipe& photo, double si) {
  Json json;
  json["view"] = word_of(words::views(), photo.view);
  json["camera"] = photo.camera;
  json["measure"] = word_of(words::measures(), photo.measure);
  json["first"] = line_json(photo.first, false);
  const bool distance = photo.measure == body::PhotoMeasure::Distance;
  json["second"] = line_json(photo.second, distance && photo.second.from.empty());
  if (!photo.positive_towards.empty()) json["positive_towards"] = photo.positive_towards;
  if (!photo.by_hand.empty()) json["by_hand"] = photo.by_hand;
  json["factor"] = number(photo.factor);
  json["offset"] = number(photo.offset / si);
  json["standard_error"] = number(photo.standard_error / si);
  json["source"] = photo.source;
  return json;
}

Json informs_json(const body::Informs& informs, double si) {
  Json json;
  if (informs.test) json["test"] = body::mobility_test_name(*informs.test);
  if (informs.grip_width) json["grip_width"] = true;
  json["factor"] = number(informs.factor);
  json["offset"] = number(informs.offset / si);
  json["text"] = informs.text;
  json["source"] = informs.source;
  return json;
}

void add_judgement(const TestProtocol& p, double si, Json& json) {
  if (p.pass_line) {
    const bool absolute = p.pass_line->relative_to == body::PassReference::Absolute;
    json["pass_line"] = {
        {"relative_to", word_of(words::pass_references(), p.pass_line->relative_to)},
        {"value", number(p.pass_line->value / (absolute ? si : 1.0))},
        {"label", p.pass_line->label},
        {"source", p.pass_line->source}};
  }
  if (!p.norms_note.empty()) json["norms_note"] = p.norms_note;
  json["norms"] = Json::array();
  for (const body::Norm& norm : p.norms) {
    Json item = {{"population", norm.population}, {"mean", number(norm.mean / si)}};
    if (norm.standard_deviation > 0) {
      item["standard_deviation"] = number(norm.standard_deviation / si);
    }
    item["source"] = norm.source;
    json["norms"].push_back(std::move(item));
  }
  json["standard_error"] = {{"value", number(p.standard_error.value / si)},
                            {"tries", p.standard_error.tries},
                            {"share_between_tries", number(p.standard_error.share_between_tries)},
                            {"source", p.standard_error.source}};
  if (p.side_difference) {
    json["side_difference"] = {{"value", number(p.side_difference->value / si)},
                               {"source", p.side_difference->source}};
  }
  if (p.reach) {
    json["reach"] = {{"mean", number(p.reach->mean / si)},
                     {"spread", number(p.reach->spread / si)},
                     {"source", p.reach->source}};
  }
}

Json protocol_json(const TestProtocol& p) {
  const double si = body::si_per_unit(p.unit);
  Json json;
  json["schema"] = "lintel-protocol-1";
  json["id"] = p.id;
  json["name"] = p.name;
  json["purpose"] = p.purpose;
  json["position"] = p.position;
  json["steps"] = p.steps;
  if (!p.equipment.empty()) json["equipment"] = p.equipment;
  json["unit"] = body::protocol_unit_name(p.unit);
  json["sides"] = word_of(words::sides(), p.sides);
  json["better"] = word_of(words::better(), p.better);
  json["tries"] = p.tries;
  json["minutes"] = number(p.minutes);
  json["allowed_range"] = {{"low", number(p.lowest / si)}, {"high", number(p.highest / si)}};
  add_judgement(p, si, json);
  json["informs"] = informs_json(p.informs, si);
  json["cautions"] = p.cautions;
  json["not_with"] = Json::array();
  for (const body::WarningSign sign : p.not_with) {
    json["not_with"].push_back(body::warning_sign_name(sign));
  }
  if (p.photo) json["photo"] = photo_json(*p.photo, si);
  json["drawing"] = Json::parse(write_sketch(p.sketch), nullptr, false);
  return json;
}

std::string dump(const Json& json) {
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace

std::string write_protocol_json(const TestProtocol& protocol) {
  return dump(protocol_json(protocol));
}

std::string write_protocol_card_json(const TestProtocol& protocol) {
  Json json;
  json["schema"] = "lintel-protocol-card-1";
  json["built_in"] = protocol.built_in;
  json["protocol"] = protocol_json(protocol);
  json["cautions"] = cautions_json();
  return dump(json);
}

std::string write_protocol_list_json(const std::vector<TestProtocol>& protocols) {
  Json json;
  json["schema"] = "lintel-protocol-list-1";
  json["protocols"] = Json::array();
  for (const TestProtocol& p : protocols) {
    json["protocols"].push_back(
        {{"id", p.id},
         {"name", p.name},
         {"unit", body::protocol_unit_name(p.unit)},
         {"sides", word_of(words::sides(), p.sides)},
         {"tries", p.tries},
         {"minutes", number(p.minutes)},
         {"informs", p.informs.test ? Json(body::mobility_test_name(*p.informs.test)) : Json()},
         {"reach_allowed", p.reach.has_value()},
         {"photo_allowed", p.photo.has_value()},
         {"built_in", p.built_in},
         {"state", p.archived ? "archived" : "active"},
         {"own_error", p.own_error}});
  }
  json["cautions"] = cautions_json();
  return dump(json);
}

}  // namespace lintel::formats
