#include "formats/fhir_parts.h"

#include "secure/uuid.h"

namespace lintel::formats::fhir {

void put(Json& object, const char* key, const std::string& text) {
  if (!text.empty()) object[key] = text;
}

void put(Json& object, const char* key, Json list_or_object) {
  if (!list_or_object.empty()) object[key] = std::move(list_or_object);
}

Json quantity(double value, const char* ucum) {
  return {{"value", number(value)},
          {"unit", ucum},
          {"system", "http://unitsofmeasure.org"},
          {"code", ucum}};
}

UnitOf unit_of(bool is_length) {
  return is_length ? UnitOf{"cm", kCentimetres} : UnitOf{"deg", kDegrees};
}

UnitOf unit_of(body::ProtocolUnit unit) {
  const double factor = 1.0 / body::si_per_unit(unit);
  switch (unit) {
    case body::ProtocolUnit::Degrees:
      return {"deg", factor};
    case body::ProtocolUnit::Centimetres:
      return {"cm", factor};
    case body::ProtocolUnit::Seconds:
      break;
  }
  return {"s", factor};
}

Json concept_of(const ExchangeCode* code, const std::string& text) {
  Json out = Json::object();
  if (code != nullptr) {
    out["coding"] = Json::array(
        {{{"system", exchange_codes().url}, {"code", code->code}, {"display", code->display}}});
  }
  put(out, "text", text);
  return out;
}

Json concept_named(std::string_view code) {
  const ExchangeCode* known = exchange_codes().find(code);
  LINTEL_CHECK(known != nullptr);
  return concept_of(known, known->display);
}

Json note(const std::string& text) {
  if (text.empty()) return Json::array();
  return Json::array({{{"text", text}}});
}

Bundle::Bundle(const FhirVisit& visit) : visit_(visit) {
  Json codes = Json::parse(exchange_codes().json);
  const std::string url = exchange_codes().url;
  entries_.push_back({{"fullUrl", url}, {"resource", std::move(codes)}});
}

std::string Bundle::id_of(std::string_view type, std::string_view key) const {
  std::string name = "fhir\n" + std::string(type) + "\n" + visit_.athlete->id + "\n";
  // A person is the same at every visit.
  if (type != "Patient") name += visit_.date.iso() + "\n";
  name += key;
  return secure::to_string(secure::named_uuid(secure::kLintelNamespace, name));
}

Json Bundle::add(const char* type, std::string_view key, const Json& content) {
  const std::string id = id_of(type, key);
  Json resource = {{"resourceType", type}, {"id", id}};
  resource.update(content);
  entries_.push_back({{"fullUrl", "urn:uuid:" + id}, {"resource", std::move(resource)}});
  return {{"reference", "urn:uuid:" + id}};
}

Json Bundle::device(const std::string& name, const std::string& version) {
  const auto known = devices_.find(name);
  if (known != devices_.end()) return known->second;
  Json content = {{"deviceName", Json::array({{{"name", name}, {"type", "user-friendly-name"}}})}};
  if (!version.empty()) content["version"] = Json::array({{{"value", version}}});
  return devices_.emplace(name, add("Device", name, content)).first->second;
}

Json Bundle::add_observation(std::string_view key, Date date, const Json& content) {
  Json observation = {
      {"status", "final"},
      {"category",
       Json::array({{{"coding",
                      Json::array({{{"system",
                                     "http://terminology.hl7.org/CodeSystem/observation-category"},
                                    {"code", "exam"}}})}}})},
      {"code", content.at("code")},
      {"subject", patient_},
      {"encounter", encounter_},
      {"effectiveDateTime", date.iso()}};
  observation.update(content);
  Json reference = add("Observation", key, observation);
  observations_.push_back(reference);
  return reference;
}

std::string Bundle::text() && {
  const std::string id = id_of("Bundle", "");
  const Json root = {{"resourceType", "Bundle"},
                     {"id", id},
                     {"identifier", {{"system", "urn:ietf:rfc:3986"}, {"value", "urn:uuid:" + id}}},
                     {"type", "collection"},
                     {"entry", std::move(entries_)}};
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats::fhir
