#include "formats/located_json.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>

namespace lintel::formats {
namespace {

// Walks over the text and counts what the parser has taken.
class CountingIterator {
 public:
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;

  CountingIterator(const char* at, std::size_t* taken) : at_(at), taken_(taken) {}
  reference operator*() const { return *at_; }
  CountingIterator& operator++() {
    ++at_;
    ++*taken_;
    return *this;
  }
  CountingIterator operator++(int) {
    CountingIterator before = *this;
    ++*this;
    return before;
  }
  bool operator==(const CountingIterator& other) const { return at_ == other.at_; }
  bool operator!=(const CountingIterator& other) const { return at_ != other.at_; }

 private:
  const char* at_;
  std::size_t* taken_;
};

struct Place {
  std::int64_t line = 1;
  std::int64_t column = 1;
};

// Turns offsets into lines and columns; offsets must not fall.
class PlaceFinder {
 public:
  explicit PlaceFinder(std::string_view text) : text_(text) {}
  Place at(std::size_t offset) {
    for (; at_ < offset && at_ < text_.size(); ++at_) {
      if (text_[at_] == '\n') {
        ++place_.line;
        place_.column = 1;
      } else {
        ++place_.column;
      }
    }
    return place_;
  }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
  Place place_;
};

tl::unexpected<Error> fault(ErrorCode code, Place place, std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.line = place.line;
  error.place.column = place.column;
  return fail(std::move(error));
}

// Builds the tree from the parser's events. The start of a token is the first character after
// the end of the one before that is not space, comma or colon.
class Builder {
 public:
  Builder(std::string_view text, const std::size_t* taken, const JsonLimits& limits)
      : text_(text), taken_(taken), limits_(limits), places_(text) {}

  bool null() { return put(JsonKind::Null) != nullptr; }
  bool boolean(bool value) {
    JsonValue* v = put(JsonKind::Boolean);
    if (v != nullptr) v->boolean = value;
    return v != nullptr;
  }
  bool number_integer(std::int64_t value) { return put_number(static_cast<double>(value)); }
  bool number_unsigned(std::uint64_t value) { return put_number(static_cast<double>(value)); }
  bool number_float(double value, const std::string& /*text*/) { return put_number(value); }
  bool string(std::string& value) {
    JsonValue* v = put(JsonKind::String);
    if (v != nullptr) v->text = std::move(value);
    return v != nullptr;
  }
  bool binary(std::vector<std::uint8_t>& /*value*/) { return false; }  // never in text
  bool start_object(std::size_t /*size*/) { return open(JsonKind::Object); }
  bool start_array(std::size_t /*size*/) { return open(JsonKind::Array); }
  bool end_object() { return shut(); }
  bool end_array() { return shut(); }

  bool key(std::string& name) {
    key_place_ = start_of_token();
    JsonValue& object = *open_.back();
    if (object.members.size() >= limits_.keys) {
      error_ = fault(ErrorCode::Limit, key_place_,
                     "more than " + std::to_string(limits_.keys) + " keys in one object", "")
                   .value();
      return false;
    }
    if (object.find(name) != nullptr) {
      error_ = fault(ErrorCode::Invalid, key_place_, "the key \"" + name + "\" occurs twice",
                     "keep one of the two")
                   .value();
      return false;
    }
    key_ = std::move(name);
    return true;
  }

  bool parse_error(std::size_t position, const std::string& /*token*/,
                   const nlohmann::json::exception& what) {
    // The library counts the character that it stumbled over.
    const Place place = places_.at(position > 0 ? position - 1 : 0);
    const bool is_range = what.id == 406;
    error_ = fault(ErrorCode::Invalid, place,
                   is_range ? "a number is too large" : "this is not valid JSON here",
                   is_range ? "" : "check quotation marks, commas and brackets around this place")
                 .value();
    return false;
  }

  std::optional<Error> error_;
  JsonValue root_;

 private:
  Place start_of_token() {
    std::size_t start = previous_end_;
    while (start < text_.size() && is_between_tokens(text_[start])) ++start;
    previous_end_ = *taken_;
    return places_.at(start);
  }
  static bool is_between_tokens(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == ',' || c == ':' || c == '\xEF' ||
           c == '\xBB' || c == '\xBF';  // the last three: byte order mark
  }

  JsonValue* put(JsonKind kind) {
    const Place place = start_of_token();
    if (++values_ > limits_.values) {
      error_ = fault(ErrorCode::Limit, place,
                     "more than " + std::to_string(limits_.values) + " values", "")
                   .value();
      return nullptr;
    }
    JsonValue* value = &root_;
    if (!open_.empty()) {
      JsonValue& parent = *open_.back();
      if (parent.kind == JsonKind::Object) {
        parent.members.push_back({std::move(key_), JsonValue{}});
        value = &parent.members.back().value;
        value->key_line = key_place_.line;
        value->key_column = key_place_.column;
      } else {
        value = &parent.items.emplace_back();
      }
    }
    value->kind = kind;
    value->line = place.line;
    value->column = place.column;
    return value;
  }

  bool put_number(double number) {
    JsonValue* value = put(JsonKind::Number);
    if (value == nullptr) return false;
    value->number = number;
    // The parser has looked at the character after the number.
    if (*taken_ > 0 && previous_end_ < text_.size()) --previous_end_;
    return true;
  }

  bool open(JsonKind kind) {
    if (static_cast<int>(open_.size()) >= limits_.depth) {
      error_ = fault(ErrorCode::Limit, start_of_token(),
                     "nested deeper than " + std::to_string(limits_.depth) + " levels", "")
                   .value();
      return false;
    }
    JsonValue* value = put(kind);
    if (value == nullptr) return false;
    open_.push_back(value);
    return true;
  }
  bool shut() {
    previous_end_ = *taken_;
    open_.pop_back();
    return true;
  }

  std::string_view text_;
  const std::size_t* taken_;
  JsonLimits limits_;
  std::size_t values_ = 0;
  PlaceFinder places_;
  std::size_t previous_end_ = 0;
  // Pointers stay good: a parent's list grows only while none of its children is open.
  std::vector<JsonValue*> open_;
  std::string key_;
  Place key_place_;
};

}  // namespace

std::string_view json_kind_name(JsonKind kind) {
  switch (kind) {
    case JsonKind::Null:
      return "null";
    case JsonKind::Boolean:
      return "true or false";
    case JsonKind::Number:
      return "a number";
    case JsonKind::String:
      return "text";
    case JsonKind::Array:
      return "a list";
    case JsonKind::Object:
      return "an object";
  }
  return "";
}

const JsonValue* JsonValue::find(std::string_view key) const {
  for (const auto& [name, value] : members) {
    if (name == key) return &value;
  }
  return nullptr;
}

Result<JsonValue> parse_json(std::string_view text, const JsonLimits& limits) {
  if (text.size() > limits.bytes) {
    return fail(ErrorCode::Limit, "the file has " + std::to_string(text.size()) +
                                      " bytes; allowed are " + std::to_string(limits.bytes));
  }
  std::size_t taken = 0;
  Builder builder(text, &taken, limits);
  bool good = false;
  try {
    good = nlohmann::json::sax_parse(CountingIterator(text.data(), &taken),
                                     CountingIterator(text.data() + text.size(), &taken), &builder);
  } catch (const std::exception&) {
    return fail(ErrorCode::Internal, "the JSON reader failed");
  }
  if (builder.error_) return fail(std::move(*builder.error_));
  if (!good) return fail(ErrorCode::Invalid, "this is not valid JSON");
  return std::move(builder.root_);
}

void FaultList::add(const JsonValue& at, std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.line = at.line;
  error.place.column = at.column;
  error.place.field = std::move(field);
  add(std::move(error));
}

void FaultList::add_key(const JsonValue& at, std::string field, std::string message,
                        std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.line = at.key_line;
  error.place.column = at.key_column;
  error.place.field = std::move(field);
  add(std::move(error));
}

void FaultList::add(Error error) {
  if (faults_.size() < kMost) faults_.push_back(std::move(error));
}

namespace {
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t above = row[j];
      row[j] = std::min({above + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1)});
      diagonal = above;
    }
  }
  return row[b.size()];
}
}  // namespace

std::string_view nearest_word(std::string_view word, const std::vector<std::string>& known) {
  if (word.size() > 64) return {};
  std::string_view best;
  std::size_t best_distance = std::max<std::size_t>(word.size() / 3, 1) + 1;
  for (const std::string& candidate : known) {
    const std::size_t distance = edit_distance(word, candidate);
    if (distance < best_distance) {
      best_distance = distance;
      best = candidate;
    }
  }
  return best;
}

}  // namespace lintel::formats
