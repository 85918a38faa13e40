#include "formats/athlete_json.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "body/tables.h"
#include "formats/athlete_fields.h"
#include "formats/located_json.h"

namespace lintel::formats {
namespace {

using body::Athlete;

constexpr const char* kSchema = "lintel-athlete-1";
constexpr std::size_t kLongestId = 64;
constexpr std::size_t kLongestName = 200;
constexpr int kWarningSigns = static_cast<int>(body::WarningSign::BladderOrBowelChange) + 1;
constexpr int kBarPositions = static_cast<int>(body::BarPosition::None) + 1;

std::string number_text(double value) {
  char buffer[40];
  std::snprintf(buffer, sizeof buffer, "%.6g", value);
  return buffer;
}

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
  return text;
}

std::vector<std::string> bar_positions() {
  std::vector<std::string> names;
  for (int i = 0; i < kBarPositions; ++i) {
    names.emplace_back(body::bar_position_name(static_cast<body::BarPosition>(i)));
  }
  return names;
}

std::vector<std::string> warning_signs() {
  std::vector<std::string> names;
  for (int i = 0; i < kWarningSigns; ++i) {
    names.emplace_back(body::warning_sign_name(static_cast<body::WarningSign>(i)));
  }
  return names;
}

class Reader {
 public:
  explicit Reader(FaultList& faults) : faults_(faults) {}

  Athlete read(const JsonValue& root) {
    if (!is_kind(root, "the file", JsonKind::Object)) return {};
    check_keys(root, "",
               {"schema", "id", "name", "sex", "body", "setup", "tests", "warning_signs"});
    read_schema(root);
    athlete_.id = text(root, "id", Presence::Required, kLongestId);
    athlete_.name = text(root, "name", Presence::Optional, kLongestName);
    read_sex(root);
    read_section(root, "body", Presence::Required, {});
    read_section(root, "setup", Presence::Optional, {"bar_position"});
    read_bar_position(root);
    read_section(root, "tests", Presence::Optional, {});
    read_warning_signs(root);
    return std::move(athlete_);
  }

 private:
  bool is_kind(const JsonValue& value, const std::string& field, JsonKind kind) {
    if (value.kind == kind) return true;
    faults_.add(value, field,
                "is " + std::string(json_kind_name(value.kind)) + ", but must be " +
                    std::string(json_kind_name(kind)));
    return false;
  }

  void check_keys(const JsonValue& object, const std::string& path,
                  const std::vector<std::string>& known) {
    for (const auto& [key, value] : object.members) {
      if (std::find(known.begin(), known.end(), key) != known.end()) continue;
      const std::string_view nearest = nearest_word(key, known);
      faults_.add_key(value, path + key, "unknown key",
                      nearest.empty() ? "known keys here: " + joined(known)
                                      : "did you mean \"" + std::string(nearest) + "\"?");
    }
  }

  const JsonValue* require(const JsonValue& object, const std::string& path, const std::string& key,
                           Presence presence, const std::string& mend) {
    const JsonValue* value = object.find(key);
    if (value == nullptr && presence == Presence::Required) {
      faults_.add(object, path + key, "is missing", mend);
    }
    return value;
  }

  void read_schema(const JsonValue& root) {
    const std::string mend = std::string("write \"schema\": \"") + kSchema + "\"";
    const JsonValue* schema = require(root, "", "schema", Presence::Required, mend);
    if (schema == nullptr || !is_kind(*schema, "schema", JsonKind::String)) return;
    if (schema->text != kSchema) {
      faults_.add(*schema, "schema", "is \"" + schema->text + "\", which this version cannot read",
                  mend);
    }
  }

  std::string text(const JsonValue& root, const std::string& key, Presence presence,
                   std::size_t longest) {
    const JsonValue* value = require(root, "", key, presence, "give it a text");
    if (value == nullptr || !is_kind(*value, key, JsonKind::String)) return {};
    if (value->text.empty() && presence == Presence::Required) {
      faults_.add(*value, key, "is empty", "give it a text");
    }
    if (value->text.size() > longest) {
      faults_.add(*value, key,
                  "is " + std::to_string(value->text.size()) + " bytes long; allowed are " +
                      std::to_string(longest));
    }
    return value->text;
  }

  void read_sex(const JsonValue& root) {
    const std::string mend = "write \"female\" or \"male\" (for the body tables)";
    const JsonValue* sex = require(root, "", "sex", Presence::Required, mend);
    if (sex == nullptr || !is_kind(*sex, "sex", JsonKind::String)) return;
    if (sex->text == "female" || sex->text == "male") {
      athlete_.sex = sex->text == "female" ? body::Sex::Female : body::Sex::Male;
    } else {
      faults_.add(*sex, "sex", "is \"" + sex->text + "\"", mend);
    }
  }

  void read_section(const JsonValue& root, const std::string& name, Presence presence,
                    std::vector<std::string> known) {
    const JsonValue* section = require(root, "", name, presence, "");
    if (section == nullptr || !is_kind(*section, name, JsonKind::Object)) return;
    for (const AthleteField& field : athlete_fields()) {
      if (field.section == name) known.push_back(field.key);
    }
    check_keys(*section, name + ".", known);
    for (const AthleteField& field : athlete_fields()) {
      if (field.section == name) read_number(*section, field);
    }
  }

  static std::string allowed(const AthleteField& field) {
    const body::Number& range = body::range_table()[field.range_key];
    return number_text(range.low / field.si_per_unit) + " to " +
           number_text(range.high / field.si_per_unit) + " " + field.unit;
  }

  void read_number(const JsonValue& section, const AthleteField& field) {
    const std::string path = field.section + "." + field.key;
    const JsonValue* value = require(section, field.section + ".", field.key, field.presence,
                                     "allowed are " + allowed(field));
    if (value == nullptr) return;
    Estimate estimate;
    if (value->kind == JsonKind::Object && field.error_of_value == ErrorOfValue::Allowed) {
      if (!read_estimate(*value, path, field, estimate)) return;
    } else if (is_kind(*value, path, JsonKind::Number)) {
      estimate.value = in_range(*value, path, field);
    } else {
      return;
    }
    field.set(athlete_, estimate);
  }

  bool read_estimate(const JsonValue& value, const std::string& path, const AthleteField& field,
                     Estimate& estimate) {
    check_keys(value, path + ".", {"value", "standard_error"});
    const JsonValue* number =
        require(value, path + ".", "value", Presence::Required, "allowed are " + allowed(field));
    if (number == nullptr || !is_kind(*number, path + ".value", JsonKind::Number)) return false;
    estimate.value = in_range(*number, path + ".value", field);
    const JsonValue* error = value.find("standard_error");
    if (error == nullptr) return true;
    const std::string error_path = path + ".standard_error";
    if (!is_kind(*error, error_path, JsonKind::Number)) return false;
    const body::Number& range = body::range_table()[field.range_key];
    estimate.standard_error = error->number * field.si_per_unit;
    if (!(estimate.standard_error >= 0 && estimate.standard_error <= range.high - range.low)) {
      faults_.add(*error, error_path,
                  "is " + number_text(error->number) + "; allowed are 0 to " +
                      number_text((range.high - range.low) / field.si_per_unit) + " " + field.unit);
    }
    return true;
  }

  // The number in SI; a fault when it lies outside of the allowed range.
  double in_range(const JsonValue& value, const std::string& path, const AthleteField& field) {
    const body::Number& range = body::range_table()[field.range_key];
    const double si = value.number * field.si_per_unit;
    constexpr double kRounding = 1e-9;  // so that the ends of the range themselves pass
    if (!(si >= range.low - kRounding && si <= range.high + kRounding)) {
      faults_.add(value, path,
                  "is " + number_text(value.number) + "; allowed are " + allowed(field),
                  "measure again or correct the entry");
    }
    return std::clamp(si, range.low, range.high);
  }

  void read_bar_position(const JsonValue& root) {
    const JsonValue* setup = root.find("setup");
    const JsonValue* position = setup == nullptr ? nullptr : setup->find("bar_position");
    if (position == nullptr) return;
    if (!is_kind(*position, "setup.bar_position", JsonKind::String)) return;
    const auto names = bar_positions();
    const auto found = std::find(names.begin(), names.end(), position->text);
    if (found == names.end()) {
      faults_.add(*position, "setup.bar_position", "is \"" + position->text + "\"",
                  "allowed are: " + joined(names));
      return;
    }
    athlete_.setup.bar_position = static_cast<body::BarPosition>(found - names.begin());
  }

  void read_warning_signs(const JsonValue& root) {
    const JsonValue* list = root.find("warning_signs");
    if (list == nullptr || !is_kind(*list, "warning_signs", JsonKind::Array)) return;
    const auto names = warning_signs();
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const JsonValue& item = list->items[i];
      const std::string path = "warning_signs[" + std::to_string(i) + "]";
      if (!is_kind(item, path, JsonKind::String)) continue;
      const auto found = std::find(names.begin(), names.end(), item.text);
      if (found == names.end()) {
        const std::string_view nearest = nearest_word(item.text, names);
        faults_.add(item, path, "is \"" + item.text + "\", which is not a known warning sign",
                    nearest.empty() ? "known are: " + joined(names)
                                    : "did you mean \"" + std::string(nearest) + "\"?");
        continue;
      }
      const auto sign = static_cast<body::WarningSign>(found - names.begin());
      auto& signs = athlete_.warning_signs;
      if (std::find(signs.begin(), signs.end(), sign) != signs.end()) {
        faults_.add(item, path, "occurs twice", "keep one of the two");
        continue;
      }
      signs.push_back(sign);
    }
  }

  FaultList& faults_;
  Athlete athlete_;
};

// Rules across several fields (a grip narrower than the shoulders), found by body/; the place is
// that of the field in the file where the file has it.
void check_together(const Athlete& athlete, const JsonValue& root, FaultList& faults) {
  for (Error& error : body::find_faults(athlete)) {
    const std::string stem = error.place.field;
    for (const AthleteField& field : athlete_fields()) {
      const std::string path = field.section + "." + field.key;
      const bool is_same = path.rfind(stem + "_", 0) == 0;
      if (!is_same) continue;
      error.place.field = path;
      const JsonValue* section = root.find(field.section);
      const JsonValue* value = section == nullptr ? nullptr : section->find(field.key);
      if (value == nullptr) value = section;
      if (value != nullptr) {
        error.place.line = value->line;
        error.place.column = value->column;
      }
      break;
    }
    faults.add(std::move(error));
  }
}

// Ten significant digits: enough for any tape, and 35 degrees stay 35.
double tidy(double value) {
  char buffer[40];
  std::snprintf(buffer, sizeof buffer, "%.10g", value);
  return std::strtod(buffer, nullptr);
}

using Json = nlohmann::ordered_json;

Json number_json(double value) {
  const double tidied = tidy(value);
  // Whole numbers without a point, as a person would write them.
  if (tidied == std::floor(tidied) && std::abs(tidied) < 1e9) {
    return static_cast<std::int64_t>(tidied);
  }
  return tidied;
}

}  // namespace

Athlete read_athlete_value(const JsonValue& value, FaultList& faults) {
  Athlete athlete = Reader(faults).read(value);
  if (faults.empty()) check_together(athlete, value, faults);
  return athlete;
}

AthleteReading read_athlete_json(std::string_view text, std::string_view file_name) {
  AthleteReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 20, 8, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    Athlete athlete = read_athlete_value(*root, faults);
    if (faults.empty()) reading.athlete = std::move(athlete);
  }
  reading.faults = faults.take();
  for (Error& error : reading.faults) error.with_file(file_name);
  std::stable_sort(
      reading.faults.begin(), reading.faults.end(), [](const Error& a, const Error& b) {
        return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
      });
  return reading;
}

std::string write_athlete_json(const Athlete& athlete) {
  Json root;
  root["schema"] = kSchema;
  root["id"] = athlete.id;
  root["name"] = athlete.name;
  root["sex"] = athlete.sex == body::Sex::Female ? "female" : "male";
  root["body"] = Json::object();
  root["setup"] = Json::object();
  root["tests"] = Json::object();
  for (const AthleteField& field : athlete_fields()) {
    const auto estimate = field.get(athlete);
    if (!estimate || !std::isfinite(estimate->value)) continue;
    Json& place = root[field.section][field.key];
    if (estimate->standard_error > 0 && std::isfinite(estimate->standard_error)) {
      place["value"] = number_json(estimate->value / field.si_per_unit);
      place["standard_error"] = number_json(estimate->standard_error / field.si_per_unit);
    } else {
      place = number_json(estimate->value / field.si_per_unit);
    }
  }
  root["setup"]["bar_position"] = body::bar_position_name(athlete.setup.bar_position);
  root["warning_signs"] = Json::array();
  for (const body::WarningSign sign : athlete.warning_signs) {
    root["warning_signs"].push_back(body::warning_sign_name(sign));
  }
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
