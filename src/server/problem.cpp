// Faults as answers: problem+json (RFC 9457).
#include <nlohmann/json.hpp>

#include "server/http.h"
#include "server/route_tools.h"

namespace lintel::server {
namespace {

using Json = nlohmann::ordered_json;

struct Kind {
  int status;
  const char* title;
};

Kind kind_of(const Error& error) {
  switch (error.code) {
    case ErrorCode::NotFound:
      return {404, "not found"};
    case ErrorCode::Invalid:
      return {422, "the input does not hold"};
    case ErrorCode::Unsupported:
      return {415, "not supported"};
    case ErrorCode::Conflict:
      if (error.place.field == kNeedsIfMatch) return {428, "the version is missing"};
      return {409, "somebody else was faster"};
    case ErrorCode::Denied:
      return {403, "not allowed"};
    case ErrorCode::Limit:
      return {413, "too large"};
    case ErrorCode::Cancelled:
      return {409, "stopped"};
    case ErrorCode::Io:
      return {503, "not at the moment"};
    case ErrorCode::Internal:
      return {500, "a fault in the program"};
  }
  return {500, "a fault in the program"};
}

std::string type_of(const Error& error) {
  std::string name(error_code_name(error.code));
  for (char& c : name) {
    if (c == ' ' || c == '/') c = '-';
  }
  return "urn:lintel:problem:" + name;
}

Response with_problem(const Json& json, int status) {
  return Response{status,
                  {{"content-type", "application/problem+json"}},
                  json.dump(-1, ' ', false, Json::error_handler_t::replace)};
}

Json place_json(const ErrorPlace& place) {
  Json json = Json::object();
  if (!place.field.empty()) json["field"] = place.field;
  // Of a file its name alone: the folder says how the machine is arranged.
  if (!place.file.empty()) json["file"] = place.file.substr(place.file.rfind('/') + 1);
  if (place.line > 0) json["line"] = place.line;
  if (place.column > 0) json["column"] = place.column;
  if (place.frame >= 0) json["frame"] = place.frame;
  return json;
}

Json error_json(const Error& error, int status, const std::string& title) {
  Json json;
  json["type"] = type_of(error);
  json["title"] = title;
  json["status"] = status;
  // What went wrong inside is ours to read (log), not the other side's.
  json["detail"] = error.code == ErrorCode::Internal
                       ? "Lintel could not do this; nothing was changed by the part that failed."
                       : error.message;
  const Json place = place_json(error.place);
  if (!place.empty() && error.code != ErrorCode::Internal) json["place"] = place;
  if (!error.mend.empty()) json["mend"] = error.mend;
  return json;
}

Json list_of(const std::vector<Error>& faults) {
  Json list = Json::array();
  for (const Error& fault : faults) {
    Json one = place_json(fault.place);
    one["detail"] = fault.message;
    if (!fault.mend.empty()) one["mend"] = fault.mend;
    list.push_back(std::move(one));
  }
  return list;
}

}  // namespace

std::string faults_json(const std::vector<Error>& faults) {
  return list_of(faults).dump(-1, ' ', false, Json::error_handler_t::replace);
}

Response problem(const Error& error) {
  const Kind kind = kind_of(error);
  return problem(error, kind.status, kind.title);
}

Response problem(const Error& error, int status, std::string title) {
  return with_problem(error_json(error, status, title), status);
}

Response problem(const Error& error, const std::vector<Error>& faults) {
  const Kind kind = kind_of(error);
  Json json = error_json(error, kind.status, kind.title);
  json["faults"] = list_of(faults);
  return with_problem(json, kind.status);
}

Response problem(int status, std::string title, std::string detail) {
  Json json;
  json["type"] = "about:blank";
  json["title"] = std::move(title);
  json["status"] = status;
  json["detail"] = std::move(detail);
  return with_problem(json, status);
}

}  // namespace lintel::server
