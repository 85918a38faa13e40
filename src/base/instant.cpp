#include "base/instant.h"

#include <cmath>
#include <cstdio>

#include "base/date.h"

namespace lintel {
namespace {

constexpr std::int64_t kMsPerSecond = 1000;
constexpr std::int64_t kMsPerDay = 86'400 * kMsPerSecond;

tl::unexpected<Error> not_an_instant(std::string_view text) {
  return fail(ErrorCode::Invalid, "\"" + std::string(text.substr(0, 40)) + "\" is no instant",
              "write it as 2026-03-09T07:05:30Z");
}

// Two digits at a place, or -1.
int two_digits(std::string_view text, std::size_t at) {
  const char a = text[at];
  const char b = text[at + 1];
  if (a < '0' || a > '9' || b < '0' || b > '9') return -1;
  return (a - '0') * 10 + (b - '0');
}

}  // namespace

Result<std::int64_t> parse_instant(std::string_view text) {
  if (text.size() < 20 || text.size() > 30 || text[10] != 'T' || text[13] != ':' ||
      text[16] != ':' || text.back() != 'Z') {
    return not_an_instant(text);
  }
  const Date day = LINTEL_TRY(Date::parse(text.substr(0, 10)));
  const int hours = two_digits(text, 11);
  const int minutes = two_digits(text, 14);
  const int seconds = two_digits(text, 17);
  if (hours < 0 || hours > 23 || minutes < 0 || minutes > 59 || seconds < 0 || seconds > 59) {
    return not_an_instant(text);
  }
  std::int64_t milliseconds = 0;
  const std::string_view fraction = text.substr(19, text.size() - 20);
  if (!fraction.empty()) {
    if (fraction.size() < 2 || fraction[0] != '.') return not_an_instant(text);
    std::int64_t weight = 100;
    for (const char c : fraction.substr(1)) {
      if (c < '0' || c > '9') return not_an_instant(text);
      milliseconds += weight * (c - '0');
      weight /= 10;
    }
  }
  return day.days() * kMsPerDay +
         (std::int64_t{hours} * 3600 + minutes * 60 + seconds) * kMsPerSecond + milliseconds;
}

std::string instant_text(std::int64_t milliseconds) {
  std::int64_t days = milliseconds / kMsPerDay;
  std::int64_t rest = milliseconds % kMsPerDay;
  if (rest < 0) {
    rest += kMsPerDay;
    --days;
  }
  char time[32];
  const auto seconds = static_cast<int>(rest / kMsPerSecond);
  std::snprintf(time, sizeof time, "T%02d:%02d:%02d.%03dZ", seconds / 3600, seconds / 60 % 60,
                seconds % 60, static_cast<int>(rest % kMsPerSecond));
  return Date::from_days(days).iso() + time;
}

std::string instant_after(std::string_view text, double seconds) {
  const auto instant = parse_instant(text);
  if (!instant) return std::string(text);
  return instant_text(*instant + std::llround(seconds * static_cast<double>(kMsPerSecond)));
}

}  // namespace lintel
