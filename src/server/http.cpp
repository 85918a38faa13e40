#include "server/http.h"

#include "server/request_text.h"

namespace lintel::server {

std::string_view method_name(Method method) {
  switch (method) {
    case Method::Get:
      return "GET";
    case Method::Head:
      return "HEAD";
    case Method::Post:
      return "POST";
    case Method::Put:
      return "PUT";
    case Method::Patch:
      return "PATCH";
    case Method::Delete:
      return "DELETE";
  }
  return "GET";
}

std::string Request::header(const std::string& lower_case_name) const {
  const auto found = headers.find(lower_case_name);
  return found == headers.end() ? std::string{} : found->second;
}

const std::string* Response::header(std::string_view name) const {
  for (const auto& [key, value] : headers) {
    if (lower(key) == lower(name)) return &value;
  }
  return nullptr;
}

Response Response::json(std::string text, int status) {
  return Response{status, {{"content-type", "application/json"}}, std::move(text)};
}

Response Response::text(std::string text, std::string media_type, int status) {
  return Response{status, {{"content-type", std::move(media_type)}}, std::move(text)};
}

Response Response::file(std::filesystem::path path, std::string media_type) {
  return Response{200, {{"content-type", std::move(media_type)}}, FileBody{std::move(path)}};
}

Response Response::empty(int status) {
  return Response{status, {}, std::string{}};
}

Response&& Response::with(std::string name, std::string value) && {
  headers.emplace_back(std::move(name), std::move(value));
  return std::move(*this);
}

}  // namespace lintel::server
