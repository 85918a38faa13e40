#include "base/text.h"
#include "formats/fhir_parts.h"

namespace lintel::formats::fhir {
namespace {

using body::TestOutcome;
using body::TestSide;

Json component(std::string_view code, Json value) {
  return {{"code", concept_named(code)}, {"valueQuantity", std::move(value)}};
}

Json code_of(const TestOutcome& outcome) {
  const body::TestProtocol& protocol = *outcome.protocol;
  const TestSide side = outcome.entry->side;
  std::string name = protocol.name;
  if (side != TestSide::Both) name += ", " + std::string(body::test_side_name(side));
  const ExchangeCode* known = exchange_codes().find(protocol.id);
  // A protocol of the practitioner's own is no part of our code system, whatever its name.
  if (!protocol.built_in) known = nullptr;
  Json code = concept_of(known, name);
  if (known != nullptr && !known->loinc_of(side).empty()) {
    code["coding"].push_back({{"system", "http://loinc.org"}, {"code", known->loinc_of(side)}});
  }
  return code;
}

Json reference_range(const TestOutcome& outcome, const UnitOf& unit) {
  if (!outcome.pass || !outcome.protocol->pass_line) return Json::array();
  const bool higher = outcome.protocol->better == body::Better::Higher;
  return Json::array(
      {{{higher ? "low" : "high", quantity(outcome.pass->line.value * unit.factor, unit.ucum)},
        {"type", concept_named("pass_line")},
        {"text", "pass line of the protocol: " + outcome.protocol->pass_line->label +
                     "; no range of health"}}});
}

std::string remarks_on(const TestOutcome& outcome) {
  const body::TestEntry& entry = *outcome.entry;
  std::string out = entry.notes;
  const auto add = [&out](const std::string& words) { out += (out.empty() ? "" : "\n") + words; };
  for (const body::WarningSign sign : outcome.done_against) {
    add("Done although this was noted: " + std::string(body::warning_sign_name(sign)) + ".");
  }
  if (entry.photo) {
    add("Photo " + entry.photo->file + ", SHA-256 " + entry.photo->sha256 + ".");
    for (const std::string& point : entry.photo->moved) add("Point put right by hand: " + point);
  }
  add("Standard error from: " + outcome.error_used.source);
  return out;
}

Json components_of(const TestOutcome& outcome, const UnitOf& unit) {
  Json list = Json::array();
  if (outcome.entry->reached) {
    list.push_back(component("estimate", quantity(outcome.result.value * unit.factor, unit.ucum)));
  }
  list.push_back(component("standard_error",
                           quantity(outcome.result.standard_error * unit.factor, unit.ucum)));
  for (const double one : outcome.entry->tries) {
    list.push_back(component("try", quantity(one * unit.factor, unit.ucum)));
  }
  return list;
}

void add_test(Bundle& bundle, const TestOutcome& outcome) {
  const body::TestEntry& entry = *outcome.entry;
  const UnitOf unit = unit_of(outcome.protocol->unit);
  Json content = {{"code", code_of(outcome)}};
  const std::string& tester = bundle.visit().record->tester;
  if (!tester.empty()) content["performer"] = Json::array({{{"display", tester}}});
  if (entry.reached) {
    content["valueBoolean"] = *entry.reached == body::Reached::Yes;
  } else {
    content["valueQuantity"] = quantity(outcome.result.value * unit.factor, unit.ucum);
  }
  if (outcome.pass) {
    content["interpretation"] = Json::array(
        {{{"text", text("%s the pass line; probability that the true value meets it %.2f",
                        outcome.pass->passes ? "meets" : "misses", outcome.pass->probability)}}});
  }
  put(content, "note", note(remarks_on(outcome)));
  const ExchangeCode* known =
      outcome.protocol->built_in ? exchange_codes().find(entry.protocol) : nullptr;
  if (known != nullptr) {
    if (const ExchangeCode* site = exchange_codes().site(*known, entry.side)) {
      content["bodySite"] = concept_of(site, site->display);
    }
  }
  content["method"] = concept_named(entry.photo ? "method_photo" : "method_practitioner");
  if (!entry.device.empty()) content["device"] = bundle.device(entry.device);
  put(content, "referenceRange", reference_range(outcome, unit));
  content["component"] = components_of(outcome, unit);
  const std::string key =
      "test\n" + entry.protocol + "\n" + std::string(body::test_side_name(entry.side));
  bundle.add_observation(key, bundle.visit().record->date, content);
}

void add_entered(Bundle& bundle, const char* code, double value, const char* ucum) {
  if (value <= 0.0) return;
  bundle.add_observation(code, bundle.visit().date,
                         {{"code", concept_named(code)},
                          {"valueQuantity", quantity(value, ucum)},
                          {"method", concept_named("method_entered")}});
}

}  // namespace

void add_athlete_observations(Bundle& bundle) {
  const body::Athlete& athlete = *bundle.visit().athlete;
  add_entered(bundle, "body_height", athlete.stature * kCentimetres, "cm");
  add_entered(bundle, "body_mass", athlete.body_mass, "kg");
  for (const body::WarningSign sign : athlete.warning_signs) {
    const std::string code = "sign_" + std::string(body::warning_sign_name(sign));
    bundle.add_observation(
        code, bundle.visit().date,
        {{"code", concept_named("warning_sign")}, {"valueCodeableConcept", concept_named(code)}});
  }
}

void add_test_observations(Bundle& bundle) {
  if (bundle.visit().record == nullptr || bundle.visit().tests == nullptr) return;
  for (const TestOutcome& outcome : bundle.visit().tests->results) add_test(bundle, outcome);
}

void add_squat_observations(Bundle& bundle) {
  const FhirSquat* squat = bundle.visit().squat;
  if (squat == nullptr) return;
  std::string remark;
  if (!squat->clip.empty()) remark = "Clip " + squat->clip;
  if (!squat->clip_sha256.empty()) {
    remark += (remark.empty() ? "Clip with SHA-256 " : ", SHA-256 ") + squat->clip_sha256;
  }
  const Json device = bundle.device("Lintel", bundle.visit().program_version);
  for (const FhirSquat::Measure& measure : squat->measures) {
    const std::string name = "squat_" + measure.channel;
    const ExchangeCode* code = exchange_codes().find(name);
    const UnitOf unit = unit_of(measure.is_length);
    Json content = {{"code", concept_of(code, code != nullptr ? code->display : measure.label)},
                    {"valueQuantity", quantity(measure.mean.value * unit.factor, unit.ucum)}};
    put(content, "note", note(remark));
    const ExchangeCode* site =
        code == nullptr ? nullptr : exchange_codes().site(*code, TestSide::Both);
    if (site != nullptr) content["bodySite"] = concept_of(site, site->display);
    content["method"] = concept_named("method_clip");
    content["device"] = device;
    content["component"] = Json::array(
        {component("standard_error",
                   quantity(measure.mean.standard_error * unit.factor, unit.ucum)),
         {{"code", concept_named("repetitions")}, {"valueInteger", squat->repetitions}}});
    bundle.add_observation(name, squat->date, content);
  }
}

// The same quantity as that of a clip, told apart by its method: never to be read as measured.
void add_typed_trunk(Bundle& bundle) {
  const std::optional<FhirTypedTrunk>& trunk = bundle.visit().typed_trunk;
  if (!trunk) return;
  const ExchangeCode* code = exchange_codes().find("squat_trunk_inclination");
  LINTEL_CHECK(code != nullptr);
  const UnitOf unit = unit_of(false);
  const bool tool = trunk->method == "inclinometer" || trunk->method == "goniometer";
  Json method = concept_named(tool ? "method_practitioner" : "method_" + trunk->method);
  const std::string how = method.at("text").get<std::string>() + (tool ? ", " + trunk->method : "");
  method["text"] = how + "; typed in, not filmed";
  Json content = {
      {"code", concept_of(code, code->display)},
      {"valueQuantity", quantity(trunk->inclination.value * unit.factor, unit.ucum)},
      {"note", note("Typed in by a person, not measured in a clip: " + how +
                    ". The standard error is the one that the person states.")},
      {"method", std::move(method)},
      {"component", Json::array({component(
                        "standard_error",
                        quantity(trunk->inclination.standard_error * unit.factor, unit.ucum))})}};
  const ExchangeCode* site = exchange_codes().site(*code, TestSide::Both);
  if (site != nullptr) content["bodySite"] = concept_of(site, site->display);
  if (tool) content["device"] = bundle.device(trunk->method);
  bundle.add_observation("typed_trunk_inclination", bundle.visit().date, content);
}

}  // namespace lintel::formats::fhir
