// An answer made ready for the line: status, every header, and bytes, a part of a file, or events.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "server/http.h"

namespace lintel::server {

// An open file, closed at the end.
class OpenFile {
 public:
  OpenFile() = default;
  explicit OpenFile(int descriptor) : descriptor_(descriptor) {}
  OpenFile(OpenFile&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}
  OpenFile& operator=(OpenFile&& other) noexcept;
  ~OpenFile();

  bool is_open() const { return descriptor_ >= 0; }
  // Bytes at an offset, fewer at the end. Nothing when the disk refuses.
  std::optional<std::string> read(std::uint64_t offset, std::size_t bytes) const;

 private:
  int descriptor_ = -1;
};

struct Outgoing {
  int status = 200;
  std::vector<std::pair<std::string, std::string>> headers;  // without Date and Connection
  std::string body;
  OpenFile file;  // instead of the body, from `offset`
  std::uint64_t offset = 0;
  std::uint64_t length = 0;
  std::optional<EventSource> events;  // instead of both
  bool head = false;                  // the headers alone
  bool close = false;                 // end the connection after it
};

// Opens the file, chooses the range (Range, If-Range), sets Content-Length, answers If-None-Match
// with 304, adds the safety headers. May wait for the disk.
Outgoing make_outgoing(const Request& request, Response response);

// "HTTP/1.1 200 OK" and the headers, with the empty line. Header values that hold a line break are
// left out.
std::string head_of(const Outgoing& outgoing, bool keep_alive);
std::string_view reason_phrase(int status);

// One event in the text form of a stream; data of several lines is several data fields.
std::string event_text(const Event& event);

// "Sun, 06 Nov 1994 08:49:37 GMT"
std::string http_date(std::int64_t unix_seconds);

}  // namespace lintel::server
