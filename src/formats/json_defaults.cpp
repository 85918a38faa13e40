#include "formats/json_defaults.h"

#include <algorithm>

#include "formats/json_numbers.h"
#include "formats/located_json.h"

namespace lintel::formats {
namespace {

// Offset of a 1-based line and column.
std::size_t offset_of(std::string_view text, const JsonValue& value) {
  std::size_t at = 0;
  for (std::int64_t line = 1; line < value.line; ++line) at = text.find('\n', at) + 1;
  return at + static_cast<std::size_t>(value.column - 1);
}

void put_in(const JsonValue& object, const std::vector<JsonDefault>& defaults,
            std::string_view original, std::vector<std::pair<std::size_t, std::string>>& places) {
  if (object.kind != JsonKind::Object) return;
  std::string missing;
  for (const auto& [name, value] : defaults) {
    if (object.find(name) != nullptr) continue;
    if (!missing.empty()) missing += ",";
    missing += json_text_of(name) + ":" + value;
  }
  if (missing.empty()) return;
  if (!object.members.empty()) missing += ",";
  places.emplace_back(offset_of(original, object) + 1, std::move(missing));
}

}  // namespace

std::string json_text_of(std::string_view text) {
  return Json(text).dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string with_defaults(std::string_view json, std::string_view object,
                          const std::vector<JsonDefault>& defaults) {
  JsonLimits limits;
  limits.bytes = std::size_t{4} << 20;
  limits.values = 400'000;
  const auto root = parse_json(json, limits);
  if (!root || root->kind != JsonKind::Object) return std::string(json);
  std::vector<std::pair<std::size_t, std::string>> places;
  if (object.empty()) {
    put_in(*root, defaults, json, places);
  } else if (object.ends_with("[]")) {
    const JsonValue* list = root->find(object.substr(0, object.size() - 2));
    if (list != nullptr) {
      for (const JsonValue& item : list->items) put_in(item, defaults, json, places);
    }
  } else if (const JsonValue* member = root->find(object)) {
    put_in(*member, defaults, json, places);
  }
  std::string out(json);
  // From the end, so that earlier offsets stay right.
  std::sort(places.begin(), places.end(), std::greater<>());
  for (const auto& [at, missing] : places) out.insert(at, missing);
  return out;
}

}  // namespace lintel::formats
