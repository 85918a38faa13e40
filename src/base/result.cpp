#include "base/result.h"

#include <cstdio>
#include <cstdlib>
#include <ostream>
#include <sstream>

namespace lintel {

std::string_view error_code_name(ErrorCode code) {
  switch (code) {
    case ErrorCode::NotFound:
      return "not found";
    case ErrorCode::Invalid:
      return "invalid";
    case ErrorCode::Unsupported:
      return "unsupported";
    case ErrorCode::Conflict:
      return "conflict";
    case ErrorCode::Denied:
      return "denied";
    case ErrorCode::Limit:
      return "limit";
    case ErrorCode::Cancelled:
      return "cancelled";
    case ErrorCode::Io:
      return "input/output";
    case ErrorCode::Internal:
      return "internal";
  }
  return "internal";
}

int exit_status(ErrorCode code) {
  return 2 + static_cast<int>(code);
}

std::string describe(const Error& error) {
  std::ostringstream out;
  if (!error.place.file.empty()) {
    out << error.place.file;
    if (error.place.line > 0) out << ':' << error.place.line;
    if (error.place.column > 0) out << ':' << error.place.column;
    out << ": ";
  }
  if (!error.place.field.empty()) out << error.place.field << ": ";
  if (error.place.frame >= 0) out << "frame " << error.place.frame << ": ";
  out << error.message;
  for (const std::string& context : error.trail) out << "\n  while " << context;
  if (!error.mend.empty()) out << "\n  mend: " << error.mend;
  return out.str();
}

std::ostream& operator<<(std::ostream& out, const Error& error) {
  return out << describe(error);
}

namespace detail {

void check_failed(const char* condition, const char* file, int line) {
  std::fprintf(stderr, "lintel: internal fault: %s does not hold (%s:%d)\n", condition, file, line);
  std::abort();
}

}  // namespace detail
}  // namespace lintel
