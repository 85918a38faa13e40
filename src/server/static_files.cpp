#include "server/static_files.h"

#include <fstream>
#include <iterator>

#include "server/request_text.h"

namespace lintel::server {
namespace {

// FNV-1a: tells versions of a file apart; nothing hangs on nobody being able to forge it.
std::string tag_of(std::string_view bytes, std::string_view coding) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c : bytes) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 1099511628211ULL;
  }
  char text[24];
  std::snprintf(text, sizeof text, "%016llx", static_cast<unsigned long long>(hash));
  std::string tag = "\"" + std::string(text);
  if (!coding.empty()) tag += "-" + std::string(coding);
  return tag + "\"";
}

bool is_hash_sign(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'Z');
}

// "main-3FA9C2D1.js": the name changes with the content.
bool is_hashed(std::string_view name) {
  name = name.substr(name.rfind('/') + 1);
  const std::size_t dot = name.rfind('.');
  if (dot == std::string_view::npos) return false;
  const std::string_view stem = name.substr(0, dot);
  const std::size_t start = stem.find_last_of("-.");
  if (start == std::string_view::npos || stem.size() - start - 1 < 8) return false;
  bool digit = false;
  for (const char c : stem.substr(start + 1)) {
    if (!is_hash_sign(c)) return false;
    digit = digit || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z');
  }
  return digit;
}

}  // namespace

std::string media_type_of(std::string_view file_name) {
  static const std::map<std::string_view, std::string_view> kTypes = {
      {"html", "text/html; charset=utf-8"},
      {"js", "text/javascript; charset=utf-8"},
      {"mjs", "text/javascript; charset=utf-8"},
      {"css", "text/css; charset=utf-8"},
      {"json", "application/json"},
      {"map", "application/json"},
      {"webmanifest", "application/manifest+json"},
      {"svg", "image/svg+xml"},
      {"png", "image/png"},
      {"jpg", "image/jpeg"},
      {"jpeg", "image/jpeg"},
      {"webp", "image/webp"},
      {"ico", "image/x-icon"},
      {"woff2", "font/woff2"},
      {"txt", "text/plain; charset=utf-8"},
      {"pdf", "application/pdf"},
      {"ics", "text/calendar; charset=utf-8"},
      {"csv", "text/csv; charset=utf-8"},
      {"mp4", "video/mp4"},
      {"mov", "video/quicktime"},
      {"webm", "video/webm"},
      {"zip", "application/zip"},
  };
  const std::size_t dot = file_name.rfind('.');
  if (dot == std::string_view::npos) return "application/octet-stream";
  const auto found = kTypes.find(lower(file_name.substr(dot + 1)));
  return found == kTypes.end() ? "application/octet-stream" : std::string(found->second);
}

StaticFiles StaticFiles::embedded(std::span<const EmbeddedFile> files, std::string_view prefix) {
  StaticFiles out;
  for (const EmbeddedFile& file : files) {
    std::string_view name = file.name;
    if (name.substr(0, prefix.size()) == prefix) name.remove_prefix(prefix.size());
    out.files_.emplace(name, *file.text);
  }
  return out;
}

Result<StaticFiles> StaticFiles::folder(const std::filesystem::path& folder) {
  std::error_code error;
  StaticFiles out;
  out.folder_ = std::filesystem::canonical(folder, error);
  if (error || !std::filesystem::is_regular_file(out.folder_ / "index.html", error)) {
    return fail(Error{ErrorCode::NotFound,
                      "holds no index.html",
                      {folder.string(), 0, 0, "", -1},
                      "name the folder that the web app was built into",
                      {}});
  }
  return out;
}

bool StaticFiles::empty() const {
  return files_.empty() && folder_.empty();
}

std::optional<std::string> StaticFiles::bytes_of(const std::string& name) const {
  if (folder_.empty()) {
    const auto found = files_.find(name);
    if (found == files_.end()) return std::nullopt;
    return std::string(found->second);
  }
  // The path of a request holds no dot segments (parse_target); a link may still lead out.
  std::error_code error;
  const std::filesystem::path file = std::filesystem::canonical(folder_ / name, error);
  if (error || !std::filesystem::is_regular_file(file, error)) return std::nullopt;
  const std::string inside = folder_.string() + "/";
  if (file.string().compare(0, inside.size(), inside) != 0) return std::nullopt;
  std::ifstream in(file, std::ios::binary);
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

std::optional<Response> StaticFiles::find(const Request& request) const {
  if (empty()) return std::nullopt;
  std::string name = request.path.substr(1);
  const std::string last = name.substr(name.rfind('/') + 1);
  std::optional<std::string> bytes;
  if (!name.empty()) bytes = bytes_of(name);
  if (!bytes) {
    if (last.find('.') != std::string::npos) return std::nullopt;
    // The one-time page of a phone is a page of its own; all others are made in the browser.
    name = name.starts_with("u/") && bytes_of("upload.html") ? "upload.html" : "index.html";
    bytes = bytes_of(name);
  }
  if (!bytes) return std::nullopt;

  std::string coding;
  const std::string accepted = request.header("accept-encoding");
  bool varies = false;
  for (const std::string candidate : {"br", "gzip"}) {
    std::optional<std::string> small = bytes_of(name + (candidate == "br" ? ".br" : ".gz"));
    if (!small) continue;
    varies = true;
    if (!coding.empty() || encoding_weight(accepted, candidate) <= 0.0) continue;
    coding = candidate;
    bytes = std::move(small);
  }
  Response response;
  response.headers = {
      {"content-type", media_type_of(name)},
      {"etag", tag_of(*bytes, coding)},
      {"cache-control", is_hashed(name) ? "public, max-age=31536000, immutable" : "no-cache"}};
  if (varies) response.headers.emplace_back("vary", "accept-encoding");
  if (!coding.empty()) response.headers.emplace_back("content-encoding", coding);
  response.body = std::move(*bytes);
  return response;
}

}  // namespace lintel::server
