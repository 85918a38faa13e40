#include "formats/visit_json.h"

#include "formats/field_reader.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

constexpr const char* kSchema = "lintel-visit-1";
constexpr std::size_t kLongestPurpose = 200;  // [bytes]
constexpr std::size_t kLongestNotes = 8000;

VisitDocument read_visit(const JsonValue& root, FaultList& faults) {
  FieldReader fields(faults);
  VisitDocument visit;
  if (!fields.is_kind(root, "the file", JsonKind::Object)) return visit;
  fields.check_keys(root, "", {"schema", "date", "purpose", "notes"});
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
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
