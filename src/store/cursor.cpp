#include "store/cursor.h"

#include <cstdint>

#include "secure/random.h"

namespace lintel::store {
namespace {

constexpr char kSeparator = '\x1f';
constexpr int kMostRows = 500;

tl::unexpected<Error> bad_field(std::string message, std::string mend, std::string field) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

}  // namespace

std::string write_cursor(const std::vector<std::string>& fields) {
  std::string joined;
  for (const std::string& field : fields) joined += field + kSeparator;
  return secure::base64url({reinterpret_cast<const std::uint8_t*>(joined.data()), joined.size()});
}

Result<std::vector<std::string>> read_cursor(std::string_view cursor, std::size_t fields) {
  const Result<std::string> joined = secure::from_base64url(cursor);
  std::vector<std::string> out;
  std::string field;
  if (joined) {
    for (const char c : *joined) {
      if (c == kSeparator) {
        out.push_back(std::move(field));
        field.clear();
      } else {
        field += c;
      }
    }
  }
  if (!joined || !field.empty() || out.size() != fields) {
    return bad_field("this is not the cursor of a page",
                     "use what \"next\" of the page before says", "after");
  }
  return out;
}

Result<void> check_limit(int limit) {
  if (limit >= 1 && limit <= kMostRows) return {};
  return bad_field("a page has 1 to 500 rows, not " + std::to_string(limit),
                   "ask for 1 to 500 rows", "limit");
}

}  // namespace lintel::store
