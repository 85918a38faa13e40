#include "server/byte_range.h"

#include <algorithm>
#include <charconv>

#include "server/request_text.h"

namespace lintel::server {
namespace {

// Digits only. A number above 64 bits is as good as the largest one.
std::optional<std::uint64_t> whole_number(std::string_view digits) {
  if (digits.empty() || digits.find_first_not_of("0123456789") != std::string_view::npos) {
    return std::nullopt;
  }
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return error == std::errc::result_out_of_range ? UINT64_MAX : value;
}

}  // namespace

RangeChoice choose_range(std::string_view range_header, std::uint64_t size) {
  const std::string_view header = trimmed(range_header);
  const std::size_t equals = header.find('=');
  if (equals == std::string_view::npos || lower(header.substr(0, equals)) != "bytes") return {};
  const std::string_view spec = trimmed(header.substr(equals + 1));
  if (spec.find(',') != std::string_view::npos) return {};
  const std::size_t dash = spec.find('-');
  if (dash == std::string_view::npos) return {};
  const std::string_view first_text = spec.substr(0, dash);
  const std::string_view last_text = spec.substr(dash + 1);
  const auto first = whole_number(first_text);
  const auto last = whole_number(last_text);
  if (first_text.empty()) {  // the last so many bytes
    if (!last) return {};
    if (*last == 0 || size == 0) return {RangeAnswer::Unsatisfied, {}};
    return {RangeAnswer::Part, {size - std::min(*last, size), size - 1}};
  }
  if (!first || (!last && !last_text.empty()) || (last && *last < *first)) return {};
  if (*first >= size) return {RangeAnswer::Unsatisfied, {}};
  return {RangeAnswer::Part, {*first, std::min(last.value_or(size - 1), size - 1)}};
}

bool if_range_holds(std::string_view if_range, std::string_view etag,
                    std::string_view last_modified) {
  const std::string_view wanted = trimmed(if_range);
  if (wanted.empty()) return true;
  if (wanted.front() == '"') return !etag.empty() && wanted == etag;
  return !last_modified.empty() && wanted == last_modified;  // a weak tag never holds
}

}  // namespace lintel::server
