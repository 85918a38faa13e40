#include "formats/json_place.h"

#include <charconv>

namespace lintel::formats {

const JsonValue& value_at(const JsonValue& root, std::string_view field) {
  const JsonValue* at = &root;
  while (!field.empty()) {
    if (field.front() == '[') {
      const std::size_t end = field.find(']');
      std::size_t index = 0;
      if (end == std::string_view::npos ||
          std::from_chars(field.data() + 1, field.data() + end, index).ec != std::errc{} ||
          index >= at->items.size()) {
        return *at;
      }
      at = &at->items[index];
      field.remove_prefix(end + 1);
    } else {
      const std::string_view key = field.substr(0, field.find_first_of(".["));
      const JsonValue* next = at->find(key);
      if (next == nullptr) return *at;
      at = next;
      field.remove_prefix(key.size());
    }
    if (!field.empty() && field.front() == '.') field.remove_prefix(1);
  }
  return *at;
}

void add_with_places(const JsonValue& root, std::vector<Error> errors, FaultList& faults) {
  for (Error& error : errors) {
    const JsonValue& at = value_at(root, error.place.field);
    error.place.line = at.line;
    error.place.column = at.column;
    faults.add(std::move(error));
  }
}

}  // namespace lintel::formats
