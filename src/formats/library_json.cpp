#include "formats/library_json.h"

#include "body/tables.h"
#include "formats/field_reader.h"
#include "formats/json_numbers.h"
#include "formats/record_json.h"

namespace lintel::formats {
namespace {

using body::ProtocolError;
using body::TestProtocol;

constexpr const char* kSchema = "lintel-standard-error-1";
constexpr std::size_t kLongestSource = 600;

// A document that was written for another protocol or in another unit would be read wrongly.
void check_same(FieldReader& read, const JsonValue& root, const std::string& key,
                std::string_view expected) {
  const std::string text = read.text(root, "", key, Presence::Required, 60);
  if (text.empty() || text == expected) return;
  read.faults().add(*root.find(key), key,
                    "is \"" + text + "\", but this is about \"" + std::string(expected) + "\"",
                    "leave it out, or give the right one");
}

ProtocolError read_error(FieldReader& read, const JsonValue& root, const TestProtocol& protocol) {
  ProtocolError error;
  if (!read.is_kind(root, "the body", JsonKind::Object)) return error;
  read.check_keys(
      root, "", {"schema", "protocol", "unit", "value", "tries", "share_between_tries", "source"});
  read.check_schema(root, kSchema);
  const std::string unit(body::protocol_unit_name(protocol.unit));
  const double si = body::si_per_unit(protocol.unit);
  check_same(read, root, "protocol", protocol.id);
  check_same(read, root, "unit", unit);
  const NumberRule rule{1e-3, (protocol.highest - protocol.lowest) / si, unit};
  error.value = si * read.number(root, "", "value", Presence::Required, rule).value_or(1.0);
  error.tries = read.whole_number(root, "", "tries", Presence::Required, 1, 10).value_or(1);
  error.share_between_tries =
      read.number(root, "", "share_between_tries", Presence::Optional, {0, 1})
          .value_or(body::test_table().value("share_between_tries"));
  error.source = read.text(root, "", "source", Presence::Required, kLongestSource);
  if (!error.source.empty() && !names_a_source(error.source)) {
    read.faults().add(*root.find("source"), "source", "names neither a year nor its absence",
                      "say who was measured how often and in which year, or write \"common "
                      "practice, no source\"");
  }
  return error;
}

Json error_json(const ProtocolError& error, body::ProtocolUnit unit) {
  return {{"value", number(error.value / body::si_per_unit(unit))},
          {"tries", error.tries},
          {"share_between_tries", number(error.share_between_tries)},
          {"source", error.source}};
}

std::string text_of(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

void add_mark(Json& json, const ChangeMark& mark) {
  json["version"] = mark.version;
  json["changed_at"] = mark.changed_at;
  json["changed_by"] = mark.changed_by;
}

}  // namespace

StandardErrorReading read_standard_error_json(std::string_view text, std::string_view file_name,
                                              const TestProtocol& protocol) {
  StandardErrorReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{16} << 10, 4, 100});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    FieldReader read(faults);
    ProtocolError error = read_error(read, *root, protocol);
    if (faults.empty()) reading.error = std::move(error);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_standard_error_json(const TestProtocol& protocol, const ProtocolError& error) {
  Json json;
  json["schema"] = kSchema;
  json["protocol"] = protocol.id;
  json["unit"] = body::protocol_unit_name(protocol.unit);
  json.update(error_json(error, protocol.unit));
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string protocol_error_json(const ProtocolError& error, body::ProtocolUnit unit) {
  return text_of(error_json(error, unit));
}

std::string own_error_json(const ProtocolError& error, body::ProtocolUnit unit,
                           const ChangeMark& mark) {
  Json json = error_json(error, unit);
  add_mark(json, mark);
  return text_of(json);
}

std::string library_record_json(std::string_view id, std::string_view state, const ChangeMark& mark,
                                std::string_view document) {
  Json json;
  json["id"] = id;
  json["state"] = state;
  add_mark(json, mark);
  return with_members(text_of(json), {{"document", std::string(document)}});
}

}  // namespace lintel::formats
