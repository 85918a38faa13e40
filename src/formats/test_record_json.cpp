#include "formats/test_record_json.h"

#include "body/tables.h"
#include "formats/field_reader.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"
#include "formats/test_entry_json.h"
#include "formats/test_fields.h"

namespace lintel::formats {
namespace {

using body::OwnError;
using body::Reached;
using body::TestEntry;
using body::TestProtocol;
using body::TestRecord;
using body::TestSide;

constexpr const char* kSchema = "lintel-tests-1";
constexpr std::size_t kMostResults = 200;
constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestNotes = 2000;
constexpr double kCentimetre = 0.01;

class RecordReader {
 public:
  RecordReader(FaultList& faults, const std::vector<TestProtocol>& protocols)
      : read_(faults), faults_(faults), tests_(read_, protocols) {}

  TestRecord read(const JsonValue& root) {
    TestRecord record;
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return record;
    read_.check_keys(root, "",
                     {"schema", "athlete", "date", "tester", "hand_breadth_cm", "notes", "results",
                      "standard_errors"});
    read_.check_schema(root, kSchema);
    record.athlete_id = read_.text(root, "", "athlete", Presence::Required, kLongestName);
    record.tester = read_.text(root, "", "tester", Presence::Optional, kLongestName);
    record.notes = read_.text(root, "", "notes", Presence::Optional, kLongestNotes);
    read_date(root, record);
    const body::Number& hand = body::test_table()["hand_breadth.range"];
    const auto breadth = read_.number(root, "", "hand_breadth_cm", Presence::Optional,
                                      {hand.low * kCentimetres, hand.high * kCentimetres, "cm"});
    if (breadth) {
      record.hand_breadth =
          Estimate{*breadth * kCentimetre, body::test_table().value("hand_breadth.measured_error")};
    }
    each(root, "results", Presence::Required, [&](const JsonValue& item, const std::string& path) {
      if (auto entry = read_entry(item, path)) record.results.push_back(*std::move(entry));
    });
    each(root, "standard_errors", Presence::Optional,
         [&](const JsonValue& item, const std::string& path) {
           if (auto own = tests_.own_error(item, path)) {
             record.standard_errors.push_back(*std::move(own));
           }
         });
    return record;
  }

  std::optional<OwnError> read_report(const JsonValue& root) {
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return {};
    read_.check_schema(root, "lintel-reliability-1");
    const JsonValue* own =
        read_.member(root, "", "own_error", JsonKind::Object, Presence::Required,
                     "make the report with --protocol, and write it with --json");
    if (own == nullptr) return {};
    return tests_.own_error(*own, "own_error.");
  }

 private:
  template <typename Read>
  void each(const JsonValue& root, const std::string& key, Presence presence, Read read) {
    const JsonValue* list = read_.member(root, "", key, JsonKind::Array, presence, "give a list");
    if (list == nullptr) return;
    if (list->items.size() > kMostResults) {
      faults_.add(*list, key, "has more than " + std::to_string(kMostResults) + " entries");
      return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string field = key + "[" + std::to_string(i) + "]";
      if (read_.is_kind(list->items[i], field, JsonKind::Object)) read(list->items[i], field + ".");
    }
  }

  void read_date(const JsonValue& root, TestRecord& record) {
    const std::string text = read_.text(root, "", "date", Presence::Required, 10);
    if (text.empty()) return;
    const auto date = Date::parse(text);
    if (date) {
      record.date = *date;
    } else {
      faults_.add(*root.find("date"), "date",
                  "is \"" + text + "\", which is no day of the calendar", "write it as 2026-11-25");
    }
  }

  std::optional<TestEntry> read_entry(const JsonValue& item, const std::string& path) {
    const TestProtocol* protocol = tests_.protocol(item, path);
    if (protocol == nullptr) return {};
    const std::string unit(body::protocol_unit_name(protocol->unit));
    const double si = body::si_per_unit(protocol->unit);
    read_.check_keys(item, path,
                     {"protocol", "side", "tries_" + unit, "tries_error_" + unit, "reached",
                      "device", "photo", "notes"});
    TestEntry entry;
    entry.protocol = protocol->id;
    entry.side = tests_.side(item, path, *protocol);
    entry.device = read_.text(item, path, "device", Presence::Optional, kLongestName);
    entry.notes = read_.text(item, path, "notes", Presence::Optional, kLongestNotes);
    if (item.find(tries_key(*protocol)) != nullptr) {
      entry.tries = tests_.tries(item, path, *protocol);
    }
    if (const auto reached = read_.boolean(item, path, "reached", Presence::Optional)) {
      entry.reached = *reached ? Reached::Yes : Reached::No;
    }
    check_reached(item, path, *protocol, entry, tries_key(*protocol));
    const auto error = read_.number(item, path, "tries_error_" + unit, Presence::Optional,
                                    {0, (protocol->highest - protocol->lowest) / si, unit});
    if (error) entry.tries_error = *error * si;
    read_photo(item, path, entry);
    return entry;
  }

  void check_reached(const JsonValue& item, const std::string& path, const TestProtocol& protocol,
                     const TestEntry& entry, const std::string& key) {
    const bool has_tries = item.find(key) != nullptr;
    if (!entry.reached) {
      if (!has_tries && item.find("reached") == nullptr) {
        faults_.add(item, path + key, "is missing", "enter the tries, or reached true / false");
      }
      return;
    }
    const JsonValue& at = *item.find("reached");
    if (has_tries) {
      faults_.add(at, path + "reached", "is given beside numbers", "leave one of them out");
    } else if (!protocol.reach || !protocol.pass_line) {
      faults_.add(at, path + "reached", "does not fit: this test has no line to reach",
                  "enter its tries as " + key);
    }
  }

  void read_photo(const JsonValue& item, const std::string& path, TestEntry& entry) {
    const JsonValue* photo =
        read_.member(item, path, "photo", JsonKind::Object, Presence::Optional);
    if (photo == nullptr) return;
    const std::string inner = path + "photo.";
    read_.check_keys(*photo, inner, {"file", "sha256", "network", "moved"});
    body::PhotoProvenance from;
    from.file = read_.text(*photo, inner, "file", Presence::Required, kLongestName);
    from.sha256 = read_.text(*photo, inner, "sha256", Presence::Optional, 64);
    from.network = read_.text(*photo, inner, "network", Presence::Optional, 20);
    from.moved = read_.texts(*photo, inner, "moved", 0, 60);
    entry.photo = from;
  }

  FieldReader read_;
  FaultList& faults_;
  TestFields tests_;
};

Json numbers(const std::vector<double>& values, double si) {
  Json list = Json::array();
  for (const double value : values) list.push_back(number(value / si));
  return list;
}

Json pass_json(const body::TestOutcome& outcome, double si, const std::string& unit) {
  const body::PassLine& line = *outcome.protocol->pass_line;
  return {{"line_" + unit, estimate(outcome.pass->line, 1.0 / si)},
          {"label", line.label},
          {"source", line.source},
          {"passes", outcome.pass->passes},
          {"probability", number(outcome.pass->probability)},
          {"within_error", outcome.pass->within_error}};
}

Json outcome_json(const body::TestOutcome& outcome) {
  const TestProtocol& protocol = *outcome.protocol;
  const double si = body::si_per_unit(protocol.unit);
  const std::string unit(body::protocol_unit_name(protocol.unit));
  Json json = {{"protocol", protocol.id}, {"name", protocol.name}};
  json["side"] = body::test_side_name(outcome.entry->side);
  if (outcome.entry->reached) {
    json["reached"] = *outcome.entry->reached == Reached::Yes;
  } else {
    json["tries_" + unit] = numbers(outcome.entry->tries, si);
    json["standard_deviation_" + unit] =
        outcome.entry->tries.size() > 1 ? number(outcome.standard_deviation / si) : Json();
  }
  json["result_" + unit] = estimate(outcome.result, 1.0 / si);
  json["error_source"] = outcome.error_used.source;
  json["own_error"] = outcome.own_error;
  json["pass"] = outcome.pass ? pass_json(outcome, si, unit) : Json();
  json["informs"] = {
      {"test",
       protocol.informs.test ? Json(body::mobility_test_name(*protocol.informs.test)) : Json()},
      {"grip_width", protocol.informs.grip_width},
      {"text", protocol.informs.text}};
  json["done_against_warning_signs"] = Json::array();
  for (const body::WarningSign sign : outcome.done_against) {
    json["done_against_warning_signs"].push_back(body::warning_sign_name(sign));
  }
  json["cautions"] = protocol.cautions;
  return json;
}

}  // namespace

Json test_entry_json(const TestEntry& entry, const TestProtocol& protocol) {
  const double si = body::si_per_unit(protocol.unit);
  const std::string unit(body::protocol_unit_name(protocol.unit));
  Json json;
  json["protocol"] = entry.protocol;
  if (entry.side != TestSide::Both) json["side"] = body::test_side_name(entry.side);
  if (entry.reached) {
    json["reached"] = *entry.reached == Reached::Yes;
  } else {
    json["tries_" + unit] = numbers(entry.tries, si);
  }
  if (entry.tries_error) json["tries_error_" + unit] = number(*entry.tries_error / si);
  if (!entry.device.empty()) json["device"] = entry.device;
  if (entry.photo) {
    Json& photo = json["photo"];
    photo["file"] = entry.photo->file;
    if (!entry.photo->sha256.empty()) photo["sha256"] = entry.photo->sha256;
    if (!entry.photo->network.empty()) photo["network"] = entry.photo->network;
    if (!entry.photo->moved.empty()) photo["moved"] = entry.photo->moved;
  }
  if (!entry.notes.empty()) json["notes"] = entry.notes;
  return json;
}

TestRecordReading read_test_record_json(std::string_view text, std::string_view file_name,
                                        const std::vector<TestProtocol>& protocols) {
  TestRecordReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 20, 8, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    TestRecord record = RecordReader(faults, protocols).read(*root);
    if (faults.empty()) reading.record = std::move(record);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

OwnErrorReading read_own_error_json(std::string_view text, std::string_view file_name,
                                    const std::vector<TestProtocol>& protocols) {
  OwnErrorReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 20, 8, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    std::optional<OwnError> own = RecordReader(faults, protocols).read_report(*root);
    if (faults.empty()) reading.error = std::move(own);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_test_record_json(const TestRecord& record,
                                   const std::vector<TestProtocol>& protocols) {
  Json json;
  json["schema"] = kSchema;
  json["athlete"] = record.athlete_id;
  json["date"] = record.date.iso();
  if (!record.tester.empty()) json["tester"] = record.tester;
  if (record.hand_breadth) {
    json["hand_breadth_cm"] = number(record.hand_breadth->value * kCentimetres);
  }
  if (!record.notes.empty()) json["notes"] = record.notes;
  json["results"] = Json::array();
  for (const TestEntry& entry : record.results) {
    const TestProtocol* protocol = body::find_protocol(protocols, entry.protocol);
    LINTEL_CHECK(protocol != nullptr);
    json["results"].push_back(test_entry_json(entry, *protocol));
  }
  for (const OwnError& own : record.standard_errors) {
    const TestProtocol* protocol = body::find_protocol(protocols, own.protocol);
    LINTEL_CHECK(protocol != nullptr);
    const std::string key = "value_" + std::string(body::protocol_unit_name(protocol->unit));
    json["standard_errors"].push_back(
        {{"protocol", own.protocol},
         {key, number(own.error.value / body::si_per_unit(protocol->unit))},
         {"tries", own.error.tries},
         {"share_between_tries", number(own.error.share_between_tries)},
         {"source", own.error.source}});
  }
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string write_test_outcome_json(const TestRecord& record, const body::RecordOutcome& outcome) {
  Json json;
  json["schema"] = "lintel-tests-outcome-1";
  json["athlete"] = record.athlete_id;
  json["date"] = record.date.iso();
  json["tester"] = record.tester;
  json["results"] = Json::array();
  for (const auto& result : outcome.results) json["results"].push_back(outcome_json(result));
  json["sides"] = Json::array();
  for (const body::SideComparison& c : outcome.sides) {
    const double si = body::si_per_unit(c.protocol->unit);
    const std::string unit(body::protocol_unit_name(c.protocol->unit));
    json["sides"].push_back({{"protocol", c.protocol->id},
                             {"left_less_right_" + unit, estimate(c.difference, 1.0 / si)},
                             {"detectable_" + unit, number(c.detectable / si)},
                             {"beyond_error", c.beyond_error},
                             {"beyond_usual", c.beyond_usual}});
  }
  json["remarks"] = outcome.remarks;
  json["cautions"] = cautions_json();
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
