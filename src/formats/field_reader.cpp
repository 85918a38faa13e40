#include "formats/field_reader.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace lintel::formats {

std::string joined_words(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& word : words) all += (all.empty() ? "" : ", ") + word;
  return all;
}

std::string short_number(double value) {
  return lintel::text("%.6g", value);
}

bool FieldReader::is_kind(const JsonValue& value, const std::string& field, JsonKind kind) {
  if (value.kind == kind) return true;
  faults_.add(value, field,
              "is " + std::string(json_kind_name(value.kind)) + ", but must be " +
                  std::string(json_kind_name(kind)));
  return false;
}

void FieldReader::check_keys(const JsonValue& object, const std::string& path,
                             const std::vector<std::string>& known) {
  for (const auto& [key, value] : object.members) {
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    const std::string_view nearest = nearest_word(key, known);
    faults_.add_key(value, path + key, "unknown key",
                    nearest.empty() ? "known keys here: " + joined_words(known)
                                    : "did you mean \"" + std::string(nearest) + "\"?");
  }
}

const JsonValue* FieldReader::member(const JsonValue& object, const std::string& path,
                                     const std::string& key, JsonKind kind, Presence presence,
                                     const std::string& mend) {
  const JsonValue* value = object.find(key);
  if (value == nullptr) {
    if (presence == Presence::Required) faults_.add(object, path + key, "is missing", mend);
    return nullptr;
  }
  return is_kind(*value, path + key, kind) ? value : nullptr;
}

bool FieldReader::is_good_text(const JsonValue& value, const std::string& field,
                               std::size_t longest) {
  if (value.text.find_first_not_of(" \t\r\n") == std::string::npos) {
    faults_.add(value, field, "is empty", "write something, or leave the key out");
    return false;
  }
  if (value.text.size() > longest) {
    faults_.add(value, field,
                lintel::text("is %zu bytes long; allowed are %zu", value.text.size(), longest));
    return false;
  }
  return true;
}

std::string FieldReader::text(const JsonValue& object, const std::string& path,
                              const std::string& key, Presence presence, std::size_t longest) {
  const JsonValue* value = member(object, path, key, JsonKind::String, presence, "give it a text");
  if (value == nullptr || !is_good_text(*value, path + key, longest)) return {};
  return value->text;
}

std::optional<double> FieldReader::number_of(const JsonValue& value, const std::string& field,
                                             const NumberRule& rule) {
  if (!is_kind(value, field, JsonKind::Number)) return {};
  constexpr double kRounding = 1e-9;
  if (value.number >= rule.lowest - kRounding && value.number <= rule.highest + kRounding) {
    return value.number;
  }
  const std::string unit = rule.unit.empty() ? "" : " " + rule.unit;
  faults_.add(value, field,
              "is " + short_number(value.number) + "; allowed are " + short_number(rule.lowest) +
                  " to " + short_number(rule.highest) + unit);
  return {};
}

std::optional<double> FieldReader::number(const JsonValue& object, const std::string& path,
                                          const std::string& key, Presence presence,
                                          const NumberRule& rule) {
  const JsonValue* value = member(object, path, key, JsonKind::Number, presence);
  if (value == nullptr) return {};
  return number_of(*value, path + key, rule);
}

std::optional<int> FieldReader::whole_number(const JsonValue& object, const std::string& path,
                                             const std::string& key, Presence presence, int lowest,
                                             int highest) {
  const auto value = number(object, path, key, presence,
                            {static_cast<double>(lowest), static_cast<double>(highest)});
  if (!value) return {};
  if (*value != std::floor(*value)) {
    faults_.add(*object.find(key), path + key, "is " + short_number(*value), "give a whole number");
    return {};
  }
  return static_cast<int>(*value);
}

std::optional<bool> FieldReader::boolean(const JsonValue& object, const std::string& path,
                                         const std::string& key, Presence presence) {
  const JsonValue* value = member(object, path, key, JsonKind::Boolean, presence);
  if (value == nullptr) return {};
  return value->boolean;
}

std::optional<std::size_t> FieldReader::word_of(const JsonValue& value, const std::string& field,
                                                const std::vector<std::string>& words) {
  if (!is_kind(value, field, JsonKind::String)) return {};
  const auto found = std::find(words.begin(), words.end(), value.text);
  if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
  const std::string_view nearest = nearest_word(value.text, words);
  faults_.add(value, field, "is \"" + value.text + "\", which is not known",
              nearest.empty() ? "known are: " + joined_words(words)
                              : "did you mean \"" + std::string(nearest) + "\"?");
  return {};
}

std::optional<std::size_t> FieldReader::word(const JsonValue& object, const std::string& path,
                                             const std::string& key, Presence presence,
                                             const std::vector<std::string>& words) {
  const JsonValue* value =
      member(object, path, key, JsonKind::String, presence, "known are: " + joined_words(words));
  if (value == nullptr) return {};
  return word_of(*value, path + key, words);
}

std::vector<std::string> FieldReader::texts(const JsonValue& object, const std::string& path,
                                            const std::string& key, std::size_t fewest,
                                            std::size_t longest) {
  constexpr std::size_t kMost = 40;
  std::vector<std::string> all;
  const JsonValue* list =
      member(object, path, key, JsonKind::Array,
             fewest > 0 ? Presence::Required : Presence::Optional, "give a list of texts");
  if (list == nullptr) return all;
  if (list->items.size() < fewest || list->items.size() > kMost) {
    faults_.add(
        *list, path + key,
        lintel::text("has %zu entries; allowed are %zu to %zu", list->items.size(), fewest, kMost));
    return all;
  }
  for (std::size_t i = 0; i < list->items.size(); ++i) {
    const std::string field = path + key + "[" + std::to_string(i) + "]";
    if (!is_kind(list->items[i], field, JsonKind::String)) continue;
    if (is_good_text(list->items[i], field, longest)) all.push_back(list->items[i].text);
  }
  return all;
}

void FieldReader::check_plain(const JsonValue& value, const std::string& field) {
  const auto is_control = [](char c) {
    return (static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != '\t') || c == 0x7f;
  };
  if (std::any_of(value.text.begin(), value.text.end(), is_control)) {
    faults_.add(value, field, "holds a control character", "write it without");
  }
  for (std::size_t i = 0; i < value.items.size(); ++i) {
    check_plain(value.items[i], field + "[" + std::to_string(i) + "]");
  }
  for (const JsonMember& member : value.members) {
    check_plain(member.value, field.empty() ? member.name : field + "." + member.name);
  }
}

void FieldReader::check_schema(const JsonValue& root, const std::string& schema) {
  const std::string mend = "write \"schema\": \"" + schema + "\"";
  const JsonValue* value = member(root, "", "schema", JsonKind::String, Presence::Required, mend);
  if (value != nullptr && value->text != schema) {
    faults_.add(*value, "schema", "is \"" + value->text + "\", which this version cannot read",
                mend);
  }
}

bool owns_up_to_no_source(std::string_view source) {
  return source.find("common practice, no source") != std::string_view::npos ||
         source.find("from memory") != std::string_view::npos;
}

bool names_a_source(std::string_view source) {
  constexpr std::size_t kShortest = 8;
  if (source.size() < kShortest) return false;
  if (owns_up_to_no_source(source)) return true;
  const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
  for (std::size_t i = 0; i + 4 <= source.size(); ++i) {
    const std::string_view year = source.substr(i, 4);
    if ((year.starts_with("19") || year.starts_with("20")) && is_digit(year[2]) &&
        is_digit(year[3])) {
      return true;
    }
  }
  return false;
}

std::vector<Error> sorted_faults(FaultList& faults, std::string_view file_name) {
  std::vector<Error> all = faults.take();
  for (Error& error : all) error.with_file(file_name);
  std::stable_sort(all.begin(), all.end(), [](const Error& a, const Error& b) {
    return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
  });
  return all;
}

}  // namespace lintel::formats
