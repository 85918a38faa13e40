#include "server/route_tools.h"

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "server/request_text.h"

namespace lintel::server {
namespace {

using nlohmann::json;
constexpr int kDeepest = 32;

tl::unexpected<Error> wrong(const std::string& field, std::string message, std::string mend) {
  return fail(
      Error{ErrorCode::Invalid, std::move(message), {"", 0, 0, field, -1}, std::move(mend), {}});
}

std::string plain(double number) {
  std::string text = std::to_string(number);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

template <typename Number>
Result<Number> number_of(const Request& request, const std::string& name, Number usual,
                         Number least, Number most) {
  const auto found = request.query.find(name);
  if (found == request.query.end()) return usual;
  const std::string& text = found->second;
  Number value{};
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() ||
      !(value >= least && value <= most)) {
    return wrong(name,
                 "\"" + text + "\" is not a number from " + plain(static_cast<double>(least)) +
                     " to " + plain(static_cast<double>(most)),
                 "give such a number, or leave it out");
  }
  return value;
}

const json* member(const json& object, const char* name) {
  const auto found = object.find(name);
  return found == object.end() || found->is_null() ? nullptr : &*found;
}

// Line and column of a place in a text, from 1.
ErrorPlace place_at(std::string_view text, std::size_t offset) {
  const std::string_view before = text.substr(0, std::min(offset, text.size()));
  const std::size_t line_start = before.rfind('\n');
  ErrorPlace place;
  place.line = 1 + std::count(before.begin(), before.end(), '\n');
  place.column = static_cast<std::int64_t>(
      line_start == std::string_view::npos ? before.size() : before.size() - line_start - 1);
  place.column = std::max<std::int64_t>(place.column, 1);
  return place;
}

}  // namespace

std::string query_text(const Request& request, const std::string& name, std::string usual) {
  const auto found = request.query.find(name);
  return found == request.query.end() ? std::move(usual) : found->second;
}

Result<double> query_number(const Request& request, const std::string& name, double usual,
                            double least, double most) {
  return number_of(request, name, usual, least, most);
}

Result<std::int64_t> query_integer(const Request& request, const std::string& name,
                                   std::int64_t usual, std::int64_t least, std::int64_t most) {
  return number_of(request, name, usual, least, most);
}

Result<bool> query_flag(const Request& request, const std::string& name, bool usual) {
  const auto found = request.query.find(name);
  if (found == request.query.end()) return usual;
  const std::string& text = found->second;
  if (text.empty() || text == "1" || text == "true" || text == "yes") return true;
  if (text == "0" || text == "false" || text == "no") return false;
  return wrong(name, "\"" + text + "\" is neither true nor false", "give true or false");
}

Result<std::string> required_query(const Request& request, const std::string& name) {
  std::string text = query_text(request, name);
  if (text.empty()) return wrong(name, "is missing", "add ?" + name + "= to the address");
  return text;
}

Result<PageQuery> page_query(const Request& request) {
  PageQuery page;
  page.after = query_text(request, "after");
  page.limit = static_cast<int>(LINTEL_TRY(query_integer(request, "limit", 50, 1, 500)));
  return page;
}

std::string content_type(const Request& request) {
  const std::string header = request.header("content-type");
  return lower(trimmed(std::string_view(header).substr(0, header.find(';'))));
}

Result<std::string_view> json_text(const Request& request) {
  const std::string type = content_type(request);
  const bool json_type = type.empty() || type == "application/json" ||
                         (type.size() > 5 && type.substr(type.size() - 5) == "+json");
  if (!json_type) {
    return fail(Error{ErrorCode::Unsupported,
                      "the body is \"" + type + "\", not JSON",
                      {"", 0, 0, "Content-Type", -1},
                      "send application/json",
                      {}});
  }
  if (request.body.empty()) return wrong("body", "is missing", "send a JSON object");
  if (!is_utf8(request.body)) return wrong("body", "is not UTF-8", "send JSON in UTF-8");
  return std::string_view(request.body);
}

Result<json> json_object(const Request& request) {
  const std::string_view text = LINTEL_TRY(json_text(request));
  bool deep = false;
  const json::parser_callback_t watch = [&](int depth, json::parse_event_t, json&) {
    deep = deep || depth > kDeepest;
    return !deep;
  };
  json parsed;
  try {
    parsed = json::parse(text, watch);
  } catch (const json::parse_error& error) {
    return fail(Error{ErrorCode::Invalid,
                      "the body is not JSON",
                      place_at(text, error.byte),
                      "check the place named",
                      {}});
  }
  if (deep) return wrong("body", "is nested too deeply", "nest it less deeply");
  if (!parsed.is_object()) return wrong("body", "is not a JSON object", "send {...}");
  return parsed;
}

Result<std::string> text_member(const json& object, const char* name) {
  const json* found = member(object, name);
  if (found == nullptr) return wrong(name, "is missing", "add it");
  if (!found->is_string()) return wrong(name, "is not text", "put it in quotation marks");
  return found->get<std::string>();
}

std::string text_member_or(const json& object, const char* name, std::string usual) {
  const json* found = member(object, name);
  return found != nullptr && found->is_string() ? found->get<std::string>() : std::move(usual);
}

Result<double> number_member(const json& object, const char* name) {
  const json* found = member(object, name);
  if (found == nullptr) return wrong(name, "is missing", "add it");
  if (!found->is_number()) return wrong(name, "is not a number", "give a number");
  return found->get<double>();
}

Result<double> number_member_or(const json& object, const char* name, double usual) {
  if (member(object, name) == nullptr) return usual;
  return number_member(object, name);
}

Result<std::int64_t> integer_member_or(const json& object, const char* name, std::int64_t usual) {
  const json* found = member(object, name);
  if (found == nullptr) return usual;
  if (!found->is_number_integer())
    return wrong(name, "is not a whole number", "give a whole number");
  return found->get<std::int64_t>();
}

Result<void> only_members(const json& object, std::vector<std::string_view> names) {
  for (const auto& [name, value] : object.items()) {
    if (std::find(names.begin(), names.end(), name) == names.end()) {
      return wrong(name, "is not known here", "leave it out, or mend its spelling");
    }
  }
  return {};
}

std::string etag(std::int64_t version) {
  return "\"" + std::to_string(version) + "\"";
}

Result<std::int64_t> if_match(const Request& request) {
  const std::string header(trimmed(request.header("if-match")));
  if (header.empty()) {
    return fail(Error{ErrorCode::Conflict,
                      "a change must say which version it changes",
                      {"", 0, 0, std::string(kNeedsIfMatch), -1},
                      "read the record and send its ETag as If-Match",
                      {}});
  }
  if (header == "*") return 0;
  std::int64_t version = 0;
  const char* first = header.data() + 1;
  const char* last = header.data() + header.size() - 1;
  const bool quoted = header.size() >= 3 && header.front() == '"' && header.back() == '"';
  if (!quoted) return wrong("If-Match", "is not a version in quotation marks", "send the ETag");
  const auto [end, error] = std::from_chars(first, last, version);
  if (error != std::errc{} || end != last || version < 1) {
    return wrong("If-Match", "is not a version", "send the ETag as it was received");
  }
  return version;
}

Response json_with_version(std::string json, std::int64_t version, int status) {
  return Response::json(std::move(json), status).with("etag", etag(version));
}

Response created(std::string json, const std::string& location, std::int64_t version) {
  Response response = Response::json(std::move(json), 201).with("location", location);
  if (version > 0) response.headers.emplace_back("etag", etag(version));
  return response;
}

bool wants_csv(const Request& request) {
  const std::string format = query_text(request, "format");
  if (!format.empty()) return format == "csv";
  const std::string accept = request.header("accept");
  if (accept.empty()) return false;
  return accept_weight(accept, "text/csv") > accept_weight(accept, "application/json");
}

Response download(Response response, std::string_view file_name) {
  std::string name;
  for (const char c : file_name) {
    const bool plain_sign = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                            (c >= '0' && c <= '9') || c == '-' || c == '_' || c == '.';
    name += plain_sign ? c : '-';
  }
  response.headers.emplace_back("content-disposition", "attachment; filename=\"" + name + "\"");
  return response;
}

Response csv(std::string text, std::string_view file_name) {
  return download(Response::text(std::move(text), "text/csv; charset=utf-8"), file_name);
}

}  // namespace lintel::server
