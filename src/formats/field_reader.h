// Fields of a JSON document, each fault with its path and place. Inside this module.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "formats/athlete_fields.h"  // Presence
#include "formats/located_json.h"

namespace lintel::formats {

struct NumberRule {
  double lowest = 0.0;
  double highest = 0.0;
  std::string unit = {};  // for messages
};

std::string joined_words(const std::vector<std::string>& words);  // "a, b, c"
std::string short_number(double value);                           // six significant digits

// Every function that finds a fault adds it to the list and gives back nothing. `path` is that of
// the object with its point ("photo."), or empty for the root.
class FieldReader {
 public:
  explicit FieldReader(FaultList& faults) : faults_(faults) {}
  FaultList& faults() { return faults_; }

  bool is_kind(const JsonValue& value, const std::string& field, JsonKind kind);
  // Unknown keys are faults that name the nearest known one.
  void check_keys(const JsonValue& object, const std::string& path,
                  const std::vector<std::string>& known);
  // The member of this kind, or nullptr (a fault when it is required or of another kind).
  const JsonValue* member(const JsonValue& object, const std::string& path, const std::string& key,
                          JsonKind kind, Presence presence, const std::string& mend = {});
  // Text with something in it, at most `longest` bytes; empty when it is missing.
  std::string text(const JsonValue& object, const std::string& path, const std::string& key,
                   Presence presence, std::size_t longest);
  std::optional<double> number(const JsonValue& object, const std::string& path,
                               const std::string& key, Presence presence, const NumberRule& rule);
  std::optional<double> number_of(const JsonValue& value, const std::string& field,
                                  const NumberRule& rule);
  std::optional<int> whole_number(const JsonValue& object, const std::string& path,
                                  const std::string& key, Presence presence, int lowest,
                                  int highest);
  std::optional<bool> boolean(const JsonValue& object, const std::string& path,
                              const std::string& key, Presence presence);
  // Index into `words`.
  std::optional<std::size_t> word(const JsonValue& object, const std::string& path,
                                  const std::string& key, Presence presence,
                                  const std::vector<std::string>& words);
  std::optional<std::size_t> word_of(const JsonValue& value, const std::string& field,
                                     const std::vector<std::string>& words);
  // Texts with something in them; at least `fewest`, at most 40.
  std::vector<std::string> texts(const JsonValue& object, const std::string& path,
                                 const std::string& key, std::size_t fewest, std::size_t longest);
  void check_schema(const JsonValue& root, const std::string& schema);
  // No text anywhere holds a control character but line feed and tab. For what others will read.
  void check_plain(const JsonValue& value, const std::string& field = {});

 private:
  bool is_good_text(const JsonValue& value, const std::string& field, std::size_t longest);

  FaultList& faults_;
};

// A source is a citation with its year, or owns up to there being none ("common practice, no
// source", "from memory").
bool owns_up_to_no_source(std::string_view source);
bool names_a_source(std::string_view source);

// Faults in file order, each with the file's name.
std::vector<Error> sorted_faults(FaultList& faults, std::string_view file_name);

}  // namespace lintel::formats
