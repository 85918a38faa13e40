#include "formats/record_json.h"

#include "formats/json_cautions.h"
#include "formats/json_defaults.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

Json or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.back() == '\n' || text.back() == ' ')) text.remove_suffix(1);
  return text;
}

void append(const std::vector<RawMember>& further, std::string& out) {
  for (const auto& [name, value] : further) {
    out += "," + json_text_of(name) + ":";
    out += trimmed(value);
  }
}

void append_items(const std::vector<std::string>& items, std::string& out) {
  out += "{\"items\":[";
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) out += ",";
    out += trimmed(items[i]);
  }
  out += "]";
}

}  // namespace

std::string write_record_json(const RecordHead& head, std::string_view document,
                              const std::vector<RawMember>& further) {
  const Json json = {{"id", or_null(head.id)},
                     {"kind", head.kind},
                     {"version", head.version},
                     {"state", head.state},
                     {"created_at", or_null(head.created_at)},
                     {"created_by", or_null(head.created_by)},
                     {"changed_at", or_null(head.changed_at)},
                     {"changed_by", or_null(head.changed_by)},
                     {"reason", head.reason},
                     {"athlete", or_null(head.athlete)},
                     {"parent", or_null(head.parent)}};
  std::string out = json.dump(-1, ' ', false, Json::error_handler_t::replace);
  out.pop_back();
  out += ",\"document\":";
  out += trimmed(document);
  append(further, out);
  return out + "}";
}

std::string write_page_json(const std::vector<std::string>& items, std::string_view next,
                            const std::vector<RawMember>& further) {
  std::string out;
  append_items(items, out);
  out += ",\"next\":" + (next.empty() ? std::string("null") : json_text_of(next));
  append(further, out);
  return out + "}";
}

std::string write_list_json(const std::vector<std::string>& items,
                            const std::vector<RawMember>& further) {
  std::string out;
  append_items(items, out);
  append(further, out);
  return out + "}";
}

std::string with_members(std::string_view object, const std::vector<RawMember>& further) {
  std::string out(trimmed(object));
  LINTEL_CHECK(!out.empty() && out.back() == '}');
  out.pop_back();
  while (!out.empty() && (out.back() == '\n' || out.back() == ' ')) out.pop_back();
  const bool is_empty = !out.empty() && out.back() == '{';
  std::string members;
  append(further, members);
  if (is_empty && !members.empty()) members.erase(0, 1);
  return out + members + "}";
}

std::string cautions_json_text() {
  return cautions_json().dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace lintel::formats
