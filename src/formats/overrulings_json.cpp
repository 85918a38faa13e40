#include "formats/overrulings_json.h"

#include <nlohmann/json.hpp>

#include "formats/field_reader.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

using reasoning::Overruling;
using reasoning::Verdict;

constexpr const char* kSchema = "lintel-overrulings-1";
constexpr std::size_t kMostEntries = 500;
constexpr std::size_t kLongestId = 64;
constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestReason = 2000;  // [bytes]
constexpr double kLargestSize = 90.0;         // [deg]

std::vector<std::string> verdict_words() {
  std::vector<std::string> words;
  for (const Verdict v : {Verdict::Rejected, Verdict::Asserted, Verdict::Withdrawn}) {
    words.emplace_back(reasoning::verdict_name(v));
  }
  return words;
}

class Reader {
 public:
  explicit Reader(FaultList& faults) : fields_(faults), ids_(reasoning::finding_ids()) {}

  OverrulingsFile read(const JsonValue& root) {
    OverrulingsFile file;
    if (!fields_.is_kind(root, "the file", JsonKind::Object)) return file;
    fields_.check_keys(root, "", {"schema", "athlete", "overrulings"});
    fields_.check_schema(root, kSchema);
    file.athlete_id = fields_.text(root, "", "athlete", Presence::Required, kLongestId);
    const JsonValue* list =
        fields_.member(root, "", "overrulings", JsonKind::Array, Presence::Required);
    if (list == nullptr) return file;
    if (list->items.size() > kMostEntries) {
      fields_.faults().add(*list, "overrulings",
                           "has " + std::to_string(list->items.size()) + " entries; allowed are " +
                               std::to_string(kMostEntries));
      return file;
    }
    for (std::size_t i = 0; i < list->items.size() && !fields_.faults().full(); ++i) {
      file.overrulings.push_back(entry(list->items[i], "overrulings[" + std::to_string(i) + "]"));
    }
    return file;
  }

 private:
  Overruling entry(const JsonValue& value, const std::string& field) {
    Overruling o;
    if (!fields_.is_kind(value, field, JsonKind::Object)) return o;
    const std::string path = field + ".";
    fields_.check_keys(value, path, {"finding", "verdict", "size_deg", "reason", "who", "date"});
    if (const auto id = fields_.word(value, path, "finding", Presence::Required, ids_)) {
      o.finding = ids_[*id];
    }
    if (const auto word =
            fields_.word(value, path, "verdict", Presence::Required, verdict_words())) {
      o.verdict = static_cast<Verdict>(*word);
    }
    const NumberRule rule{0.0, kLargestSize, "deg"};
    if (const auto size = fields_.number(value, path, "size_deg", Presence::Optional, rule)) {
      o.size = *size * kRadiansPerDegree;
      if (o.verdict != Verdict::Asserted) {
        fields_.faults().add(value, path + "size_deg", "stands beside a verdict without a size",
                             "give a size only with \"asserted\"");
      }
    }
    o.reason = fields_.text(value, path, "reason", Presence::Required, kLongestReason);
    o.who = fields_.text(value, path, "who", Presence::Required, kLongestName);
    read_date(value, path, o);
    return o;
  }

  void read_date(const JsonValue& value, const std::string& path, Overruling& o) {
    const JsonValue* date = fields_.member(value, path, "date", JsonKind::String,
                                           Presence::Required, "write it as YYYY-MM-DD");
    if (date == nullptr) return;
    const auto parsed = Date::parse(date->text);
    if (parsed) {
      o.date = *parsed;
    } else {
      fields_.faults().add(*date, path + "date", parsed.error().message, "write it as YYYY-MM-DD");
    }
  }

  FieldReader fields_;
  std::vector<std::string> ids_;
};

}  // namespace

OverrulingsReading read_overrulings_json(std::string_view text, std::string_view file_name) {
  OverrulingsReading reading;
  FaultList faults;
  JsonLimits limits;
  limits.depth = 6;
  auto root = parse_json(text, limits);
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    OverrulingsFile file = Reader(faults).read(*root);
    if (faults.empty()) reading.file = std::move(file);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_overrulings_json(const OverrulingsFile& file) {
  Json root = {{"schema", kSchema}, {"athlete", file.athlete_id}};
  root["overrulings"] = Json::array();
  for (const Overruling& o : file.overrulings) {
    Json entry = {{"finding", o.finding}, {"verdict", reasoning::verdict_name(o.verdict)}};
    if (o.size) entry["size_deg"] = number(*o.size * kDegrees);
    entry["reason"] = o.reason;
    entry["who"] = o.who;
    entry["date"] = o.date.iso();
    root["overrulings"].push_back(std::move(entry));
  }
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
