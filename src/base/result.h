// Result, Error and the two macros that every fallible function of Lintel uses.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <utility>
#include <vector>

namespace lintel {

// What kind of failure; one table maps it to an exit status (and, in the server, to HTTP).
enum class ErrorCode : std::uint8_t {
  NotFound,     // a file, record or network that was named does not exist
  Invalid,      // input that breaks its own rules
  Unsupported,  // well-formed, but outside of what Lintel handles
  Conflict,     // somebody else changed or holds it
  Denied,       // not allowed
  Limit,        // larger, longer or deeper than a stated limit
  Cancelled,    // the caller asked to stop
  Io,           // the operating system refused
  Internal,     // a fault in Lintel itself
};

std::string_view error_code_name(ErrorCode code);
int exit_status(ErrorCode code);  // 2..10, distinct for each code; 0 is success, 1 is not used

// Where in the input the fault is. Only the parts that are known are set.
struct ErrorPlace {
  std::string file;
  std::int64_t line = 0;    // 1-based, 0 = not known
  std::int64_t column = 0;  // 1-based, 0 = not known
  std::string field;        // e.g. "body.stature_m"
  std::int64_t frame = -1;  // 0-based frame of a clip, -1 = not known
};

// An error as a value: what happened, where, and what the user can do about it.
struct Error {
  ErrorCode code = ErrorCode::Internal;
  std::string message;
  ErrorPlace place = {};
  std::string mend = {};                // "re-encode the clip as H.264", "enter the stature"
  std::vector<std::string> trail = {};  // outer contexts, innermost first

  Error& with_file(std::string_view file) {
    if (place.file.empty()) place.file = file;
    return *this;
  }
  Error& with_context(std::string context) {
    trail.push_back(std::move(context));
    return *this;
  }
};

// One or a few lines for a person: place, message, mend.
std::string describe(const Error& error);
std::ostream& operator<<(std::ostream& out, const Error& error);

template <typename T>
using Result = tl::expected<T, Error>;

inline tl::unexpected<Error> fail(Error error) {
  return tl::unexpected<Error>(std::move(error));
}
inline tl::unexpected<Error> fail(ErrorCode code, std::string message, std::string mend = {}) {
  return tl::unexpected<Error>(Error{code, std::move(message), {}, std::move(mend), {}});
}

namespace detail {
[[noreturn]] void check_failed(const char* condition, const char* file, int line);
}  // namespace detail

}  // namespace lintel

// Value of a Result, or return its error from the enclosing function.
#define LINTEL_TRY(expression)                                                           \
  (__extension__({                                                                       \
    auto lintel_try_result = (expression);                                               \
    if (!lintel_try_result) return ::lintel::fail(std::move(lintel_try_result).error()); \
    std::move(lintel_try_result).value();                                                \
  }))

// The same for Result<void>.
#define LINTEL_TRY_VOID(expression)                                                      \
  do {                                                                                   \
    auto lintel_try_result = (expression);                                               \
    if (!lintel_try_result) return ::lintel::fail(std::move(lintel_try_result).error()); \
  } while (false)

// A broken invariant is a bug of ours: ends the process with its place. Never reachable from input.
#define LINTEL_CHECK(condition) \
  ((condition) ? void(0) : ::lintel::detail::check_failed(#condition, __FILE__, __LINE__))
