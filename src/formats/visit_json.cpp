#include "formats/visit_json.h"

#include "base/units.h"
#include "formats/field_reader.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

constexpr const char* kSchema = "lintel-visit-1";
constexpr std::size_t kLongestPurpose = 200;  // [bytes]
constexpr std::size_t kLongestNotes = 8000;

// How a trunk can be told without a clip.
const std::vector<std::string>& trunk_methods() {
  static const std::vector<std::string> methods = {"eye", "still", "inclinometer", "goniometer"};
  return methods;
}

std::optional<TypedTrunk> read_trunk(const JsonValue& root, FieldReader& fields) {
  const JsonValue* object = fields.member(
      root, "", "trunk", JsonKind::Object, Presence::Optional,
      "write {\"inclination_deg\": 42, \"standard_error_deg\": 3, \"method\": \"eye\"}");
  if (object == nullptr) return {};
  fields.check_keys(*object, "trunk.", {"inclination_deg", "standard_error_deg", "method"});
  const auto angle = fields.number(*object, "trunk.", "inclination_deg", Presence::Required,
                                   {-10.0, 90.0, "degrees"});
  const auto error = fields.number(*object, "trunk.", "standard_error_deg", Presence::Required,
                                   {0.5, 20.0, "degrees"});
  const auto method = fields.word(*object, "trunk.", "method", Presence::Required, trunk_methods());
  if (!angle || !error || !method) return {};
  return TypedTrunk{*angle * kRadiansPerDegree, *error * kRadiansPerDegree,
                    trunk_methods()[*method]};
}

VisitDocument read_visit(const JsonValue& root, FaultList& faults) {
  FieldReader fields(faults);
  VisitDocument visit;
  if (!fields.is_kind(root, "the file", JsonKind::Object)) return visit;
  fields.check_keys(root, "", {"schema", "date", "purpose", "notes", "trunk"});
  fields.check_schema(root, kSchema);
  const JsonValue* date = fields.member(root, "", "date", JsonKind::String, Presence::Required,
                                        "write the day as 2026-11-25");
  if (date != nullptr) {
    if (const auto day = Date::parse(date->text)) {
      visit.date = *day;
    } else {
      faults.add(*date, "date", "is \"" + date->text + "\", which is no day of the calendar",
                 "write it as 2026-11-25");
    }
  }
  visit.purpose = fields.text(root, "", "purpose", Presence::Optional, kLongestPurpose);
  visit.notes = fields.text(root, "", "notes", Presence::Optional, kLongestNotes);
  visit.trunk = read_trunk(root, fields);
  return visit;
}

}  // namespace

VisitReading read_visit_json(std::string_view text, std::string_view file_name) {
  VisitReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{64} << 10, 4, 200});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    VisitDocument visit = read_visit(*root, faults);
    if (faults.empty()) reading.visit = std::move(visit);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_visit_json(const VisitDocument& visit) {
  Json root = {{"schema", kSchema}, {"date", visit.date.iso()}};
  if (!visit.purpose.empty()) root["purpose"] = visit.purpose;
  if (!visit.notes.empty()) root["notes"] = visit.notes;
  if (visit.trunk) {
    root["trunk"] = {
        {"inclination_deg", number(visit.trunk->inclination * kDegreesPerRadian)},
        {"standard_error_deg", number(visit.trunk->standard_error * kDegreesPerRadian)},
        {"method", visit.trunk->method}};
  }
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
