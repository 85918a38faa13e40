// JSON with the place of every value, so that a reader can say where a fault is. Strict: no
// duplicate keys, no comments, limits on size and depth.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"

namespace lintel::formats {

struct JsonLimits {
  std::size_t bytes = std::size_t{1} << 20;
  int depth = 16;
  std::size_t values = 100'000;  // of all kinds; each takes some 160 bytes of memory
  std::size_t keys = 500;        // in one object; comparing them costs the square of it
};

enum class JsonKind : std::uint8_t { Null, Boolean, Number, String, Array, Object };
std::string_view json_kind_name(JsonKind kind);  // "a number", "text", ...

struct JsonMember;

struct JsonValue {
  JsonKind kind = JsonKind::Null;
  bool boolean = false;
  double number = 0;
  std::string text;
  std::vector<JsonValue> items;     // of an array
  std::vector<JsonMember> members;  // of an object, in file order
  std::int64_t line = 0;            // 1-based, where the value begins
  std::int64_t column = 0;          // 1-based, in bytes
  std::int64_t key_line = 0;        // of its key, in an object
  std::int64_t key_column = 0;

  const JsonValue* find(std::string_view key) const;
};

struct JsonMember {
  std::string name;
  JsonValue value;
};

// Errors: Limit (too large, too deep, too many), Invalid (not JSON, duplicate key) with line and
// column.
Result<JsonValue> parse_json(std::string_view text, const JsonLimits& limits);

// Collects faults, each with field path and place, up to a limit.
class FaultList {
 public:
  static constexpr std::size_t kMost = 100;
  void add(const JsonValue& at, std::string field, std::string message, std::string mend = {});
  void add_key(const JsonValue& at, std::string field, std::string message, std::string mend = {});
  void add(Error error);
  bool empty() const { return faults_.empty(); }
  bool full() const { return faults_.size() >= kMost; }
  std::vector<Error> take() { return std::move(faults_); }

 private:
  std::vector<Error> faults_;
};

// The known word nearest to `word` (fewest edits, at most a third of its length), or empty.
std::string_view nearest_word(std::string_view word, const std::vector<std::string>& known);

}  // namespace lintel::formats
