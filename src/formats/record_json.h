// Records and lists of them as a program gets them: the document as it was stored, beside who and
// when.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace lintel::formats {

// What stands beside the document. Empty athlete or parent: null.
struct RecordHead {
  std::string id;  // empty = null: nothing was stored yet
  std::string_view kind, state;
  std::int64_t version = 0;
  std::string created_at, created_by, changed_at, changed_by, reason, athlete, parent;
};
// Name and JSON text of a further member.
using RawMember = std::pair<std::string_view, std::string>;

// `document` is JSON and goes in as it is.
std::string write_record_json(const RecordHead& head, std::string_view document,
                              const std::vector<RawMember>& further = {});
// {"items": [...], "next": "..." or null, further}; items are JSON texts.
std::string write_page_json(const std::vector<std::string>& items, std::string_view next,
                            const std::vector<RawMember>& further = {});
// {"items": [...], further}
std::string write_list_json(const std::vector<std::string>& items,
                            const std::vector<RawMember>& further = {});
// The object with further members at its end. The text must be a JSON object.
std::string with_members(std::string_view object, const std::vector<RawMember>& further);
// The cautions as a JSON array.
std::string cautions_json_text();

}  // namespace lintel::formats
