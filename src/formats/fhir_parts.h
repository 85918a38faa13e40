// Pieces of FHIR resources and the bundle that is being filled. Inside this module.
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "body/test_record.h"
#include "formats/fhir_codes.h"
#include "formats/fhir_json.h"
#include "formats/json_numbers.h"

namespace lintel::formats::fhir {

// FHIR knows no empty text, list or object: what is empty is left out.
void put(Json& object, const char* key, const std::string& text);
void put(Json& object, const char* key, Json list_or_object);

Json quantity(double value, const char* ucum);
struct UnitOf {
  const char* ucum;
  double factor;  // from SI
};
UnitOf unit_of(bool is_length);  // cm or deg
UnitOf unit_of(body::ProtocolUnit unit);

Json concept_of(const ExchangeCode* code, const std::string& text);
Json concept_named(std::string_view code);  // one of ours, which must be there
Json note(const std::string& text);         // a list with one Annotation; empty for no text

// The bundle with its entries so far.
class Bundle {
 public:
  explicit Bundle(const FhirVisit& visit);
  const FhirVisit& visit() const { return visit_; }
  std::string id_of(std::string_view type, std::string_view key) const;
  // Adds the resource under the UUID of type and key; returns {"reference": "urn:uuid:..."}.
  Json add(const char* type, std::string_view key, const Json& content);
  // A Device by its name, once.
  Json device(const std::string& name, const std::string& version = {});
  void set_patient(Json reference) { patient_ = std::move(reference); }
  void set_encounter(Json reference) { encounter_ = std::move(reference); }
  const Json& patient() const { return patient_; }
  const Json& encounter() const { return encounter_; }
  // With status, category, subject, encounter and day; remembered for the report.
  Json add_observation(std::string_view key, Date date, const Json& content);
  const Json& observations() const { return observations_; }
  std::string text() &&;

 private:
  const FhirVisit& visit_;
  Json entries_ = Json::array();
  Json observations_ = Json::array();
  Json patient_, encounter_;
  std::map<std::string, Json> devices_;
};

void add_athlete_observations(Bundle& bundle);
void add_test_observations(Bundle& bundle);
void add_squat_observations(Bundle& bundle);
void add_typed_trunk(Bundle& bundle);
void add_plan(Bundle& bundle);

}  // namespace lintel::formats::fhir
