// The files of the web app: built into the program, or from a folder (--web-dir).
#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/embedded_file.h"
#include "server/http.h"

namespace lintel::server {

// Thread-safe. Names are paths from the root: "index.html", "app/main-3fa9c2d1.js". Beside a file
// there may be "<name>.br" and "<name>.gz" with the same content compressed. A name with a dash
// or dot and eight or more hexadecimal digits (or base-32 letters in capitals) before its ending
// never changes and is kept by browsers for a year; all else is asked for again with its ETag.
class StaticFiles {
 public:
  StaticFiles() = default;  // none: every path is 404
  static StaticFiles embedded(std::span<const EmbeddedFile> files, std::string_view prefix);
  // Read at each request, for work on the web app. Errors: NotFound without an index.html.
  static Result<StaticFiles> folder(const std::filesystem::path& folder);

  bool empty() const;
  // GET or HEAD of a path outside of /api. A path without an extension that is no file answers
  // index.html (pages are made in the browser), status 200. Nothing = there is no such file.
  std::optional<Response> find(const Request& request) const;

 private:
  std::optional<std::string> bytes_of(const std::string& name) const;

  std::map<std::string, std::string_view> files_;
  std::filesystem::path folder_;
};

// "application/javascript; charset=utf-8" by the name's ending; unknown: application/octet-stream.
std::string media_type_of(std::string_view file_name);

}  // namespace lintel::server
