#include "server/outgoing.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>
#include <algorithm>
#include <ctime>
#include <map>

#include "server/byte_range.h"
#include "server/guard.h"
#include "server/request_text.h"

namespace lintel::server {
namespace {

void add(Outgoing& out, std::string name, std::string value) {
  out.headers.emplace_back(std::move(name), std::move(value));
}

const std::string* find(const std::vector<std::pair<std::string, std::string>>& headers,
                        std::string_view name) {
  for (const auto& [key, value] : headers) {
    if (lower(key) == name) return &value;
  }
  return nullptr;
}

struct OpenedFile {
  OpenFile file;
  std::uint64_t size = 0;
  std::string tag, modified;
};

std::optional<OpenedFile> open_file(const std::filesystem::path& path) {
  OpenedFile out;
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return std::nullopt;
  out.file = OpenFile(descriptor);
  struct stat facts = {};
  if (::fstat(descriptor, &facts) != 0 || !S_ISREG(facts.st_mode)) return std::nullopt;
  out.size = static_cast<std::uint64_t>(facts.st_size);
  out.modified = http_date(facts.st_mtim.tv_sec);
  out.tag = "\"" + std::to_string(facts.st_mtim.tv_sec) + "-" +
            std::to_string(facts.st_mtim.tv_nsec) + "-" + std::to_string(out.size) + "\"";
  return out;
}

bool is_read(const Request& request) {
  return request.method == Method::Get || request.method == Method::Head;
}

// 304 carries what describes the answer, and nothing of it.
bool is_known(const Request& request, int status,
              const std::vector<std::pair<std::string, std::string>>& headers) {
  const std::string* tag = find(headers, "etag");
  const std::string known = request.header("if-none-match");
  return status == 200 && is_read(request) && tag != nullptr && !known.empty() &&
         names_tag(known, *tag);
}

void put_file(Outgoing& out, const Request& request, OpenedFile opened) {
  if (find(out.headers, "etag") == nullptr) add(out, "etag", opened.tag);
  if (find(out.headers, "last-modified") == nullptr) add(out, "last-modified", opened.modified);
  add(out, "accept-ranges", "bytes");
  if (is_known(request, out.status, out.headers)) {
    out.status = 304;
    return;
  }
  out.length = opened.size;
  // Range is defined for GET alone (RFC 9110, section 14.2).
  if (out.status == 200 && request.method == Method::Get &&
      if_range_holds(request.header("if-range"), *find(out.headers, "etag"),
                     *find(out.headers, "last-modified"))) {
    const RangeChoice choice = choose_range(request.header("range"), opened.size);
    const std::string size = std::to_string(opened.size);
    if (choice.answer == RangeAnswer::Part) {
      out.status = 206;
      out.offset = choice.range.first;
      out.length = choice.range.length();
      add(out, "content-range",
          "bytes " + std::to_string(choice.range.first) + "-" + std::to_string(choice.range.last) +
              "/" + size);
    } else if (choice.answer == RangeAnswer::Unsatisfied) {
      Outgoing refused = make_outgoing(
          request, problem(416, "Range Not Satisfiable", "The file has " + size + " bytes."));
      add(refused, "content-range", "bytes */" + size);
      out = std::move(refused);
      return;
    }
  }
  add(out, "content-length", std::to_string(out.length));
  out.file = std::move(opened.file);
}

}  // namespace

OpenFile& OpenFile::operator=(OpenFile&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

OpenFile::~OpenFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

std::optional<std::string> OpenFile::read(std::uint64_t offset, std::size_t bytes) const {
  std::string out(bytes, '\0');
  std::size_t have = 0;
  while (have < bytes) {
    const ssize_t got =
        ::pread(descriptor_, out.data() + have, bytes - have, static_cast<off_t>(offset + have));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return std::nullopt;
    if (got == 0) break;
    have += static_cast<std::size_t>(got);
  }
  out.resize(have);
  return out;
}

Outgoing make_outgoing(const Request& request, Response response) {
  Outgoing out;
  out.head = request.method == Method::Head;
  if (auto* file = std::get_if<FileBody>(&response.body)) {
    std::optional<OpenedFile> opened = open_file(file->path);
    if (!opened) return make_outgoing(request, problem(404, "Not Found", "The file is not there."));
    add_safety_headers(response, request);
    out.status = response.status;
    out.headers = std::move(response.headers);
    put_file(out, request, std::move(*opened));
    return out;
  }
  if (auto* events = std::get_if<EventSource>(&response.body)) {
    if (response.header("content-type") == nullptr) {
      response.headers.emplace_back("content-type", "text/event-stream");
    }
    response.headers.emplace_back("x-accel-buffering", "no");  // a proxy must not hold events back
    out.events = std::move(*events);
  } else {
    out.body = std::move(std::get<std::string>(response.body));
  }
  add_safety_headers(response, request);
  out.status = response.status;
  out.headers = std::move(response.headers);
  if (out.events) return out;
  if (is_known(request, out.status, out.headers)) {
    out.status = 304;
    out.body.clear();
    return out;
  }
  const bool has_length = find(out.headers, "content-length") != nullptr;  // of a HEAD route
  if (out.status != 204 && !has_length) add(out, "content-length", std::to_string(out.body.size()));
  return out;
}

std::string_view reason_phrase(int status) {
  static const std::map<int, std::string_view> kPhrases = {{200, "OK"},
                                                           {201, "Created"},
                                                           {202, "Accepted"},
                                                           {204, "No Content"},
                                                           {206, "Partial Content"},
                                                           {303, "See Other"},
                                                           {304, "Not Modified"},
                                                           {307, "Temporary Redirect"},
                                                           {400, "Bad Request"},
                                                           {401, "Unauthorized"},
                                                           {403, "Forbidden"},
                                                           {404, "Not Found"},
                                                           {405, "Method Not Allowed"},
                                                           {409, "Conflict"},
                                                           {410, "Gone"},
                                                           {412, "Precondition Failed"},
                                                           {413, "Content Too Large"},
                                                           {415, "Unsupported Media Type"},
                                                           {416, "Range Not Satisfiable"},
                                                           {417, "Expectation Failed"},
                                                           {421, "Misdirected Request"},
                                                           {422, "Unprocessable Content"},
                                                           {428, "Precondition Required"},
                                                           {429, "Too Many Requests"},
                                                           {431, "Request Header Fields Too Large"},
                                                           {500, "Internal Server Error"},
                                                           {501, "Not Implemented"},
                                                           {503, "Service Unavailable"},
                                                           {505, "HTTP Version Not Supported"}};
  const auto found = kPhrases.find(status);
  return found == kPhrases.end() ? "Status" : found->second;
}

std::string head_of(const Outgoing& outgoing, bool keep_alive) {
  std::string head = "HTTP/1.1 " + std::to_string(outgoing.status) + " ";
  head += reason_phrase(outgoing.status);
  head += "\r\n";
  for (const auto& [name, value] : outgoing.headers) {
    const bool sound =
        (name + value).find_first_of(std::string_view("\r\n\0", 3)) == std::string::npos;
    if (sound) head += name + ": " + value + "\r\n";
  }
  head += "date: " + http_date(std::time(nullptr)) + "\r\n";
  head += keep_alive ? "connection: keep-alive\r\n\r\n" : "connection: close\r\n\r\n";
  return head;
}

std::string event_text(const Event& event) {
  const auto one_line = [](std::string text) {
    text.erase(std::remove_if(text.begin(), text.end(),
                              [](char c) { return c == '\r' || c == '\n' || c == '\0'; }),
               text.end());
    return text;
  };
  std::string text;
  if (!event.id.empty()) text += "id: " + one_line(event.id) + "\n";
  if (!event.name.empty()) text += "event: " + one_line(event.name) + "\n";
  std::string_view rest = event.data;
  while (true) {
    const std::size_t end = rest.find_first_of("\r\n");
    text += "data: " + std::string(rest.substr(0, end)) + "\n";
    if (end == std::string_view::npos) break;
    const bool both = rest.substr(end, 2) == "\r\n";
    rest.remove_prefix(end + (both ? 2 : 1));
  }
  return text + "\n";
}

std::string http_date(std::int64_t unix_seconds) {
  static constexpr const char* kDays[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  static constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                            "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::time_t seconds = unix_seconds;
  std::tm parts = {};
  gmtime_r(&seconds, &parts);
  char text[64];
  std::snprintf(text, sizeof text, "%s, %02d %s %04d %02d:%02d:%02d GMT", kDays[parts.tm_wday],
                parts.tm_mday, kMonths[parts.tm_mon], parts.tm_year + 1900, parts.tm_hour,
                parts.tm_min, parts.tm_sec);
  return text;
}

}  // namespace lintel::server
