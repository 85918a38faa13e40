// Range and If-Range of a request (RFC 9110, section 14).
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace lintel::server {

struct ByteRange {
  std::uint64_t first = 0;
  std::uint64_t last = 0;  // inclusive
  std::uint64_t length() const { return last - first + 1; }
};

enum class RangeAnswer {
  Whole,        // no range, one we do not serve (other unit, several parts), or a broken one: 200
  Part,         // 206
  Unsatisfied,  // 416
};
struct RangeChoice {
  RangeAnswer answer = RangeAnswer::Whole;
  ByteRange range;  // of a Part
};

// What of `size` bytes the header asks for. Several ranges are answered with the whole, which
// section 14.2 allows and which leaves nothing to amplify.
RangeChoice choose_range(std::string_view range_header, std::uint64_t size);

// Does If-Range (empty = yes) still stand for the file? A tag must be the strong one, a date must
// be the very one of Last-Modified.
bool if_range_holds(std::string_view if_range, std::string_view etag,
                    std::string_view last_modified);

}  // namespace lintel::server
