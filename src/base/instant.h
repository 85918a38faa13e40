// Instants in UTC as milliseconds, without a clock: RFC 3339 text in and out.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel {

// "2026-03-09T07:05:30.123Z": a day of the years 1900 to 2199, "T", seconds with or without up to
// nine decimals (cut to milliseconds), "Z". Errors: Invalid.
Result<std::int64_t> parse_instant(std::string_view text);  // [ms] since 1970-01-01T00:00Z
// With three decimals; such texts are in the order of time.
std::string instant_text(std::int64_t milliseconds);
// `text` moved on by so many seconds. A text that is no instant comes back as it is.
std::string instant_after(std::string_view text, double seconds);

}  // namespace lintel
