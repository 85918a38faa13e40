#include "support/http_client.h"

#include <arpa/inet.h>
#include <curl/curl.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>
#include <cctype>
#include <cstdlib>
#include <mutex>
#include <stdexcept>

namespace lintel::test {
namespace {

std::string lower_case(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

struct Receiving {
  HttpReply reply;
  std::function<bool(std::string_view)> piece;
  bool ended_by_us = false;
};

std::size_t take_body(char* bytes, std::size_t size, std::size_t count, void* where) {
  auto& receiving = *static_cast<Receiving*>(where);
  const std::string_view piece(bytes, size * count);
  receiving.reply.body.append(piece);
  if (receiving.piece && !receiving.piece(piece)) {
    receiving.ended_by_us = true;
    return 0;
  }
  return piece.size();
}

std::size_t take_header(char* bytes, std::size_t size, std::size_t count, void* where) {
  auto& reply = static_cast<Receiving*>(where)->reply;
  std::string line(bytes, size * count);
  while (!line.empty() && (line.back() == '\r' || line.back() == '\n')) line.pop_back();
  if (line.rfind("HTTP/", 0) == 0) {  // also after 100 Continue: begin anew
    reply.headers.clear();
    reply.cookies.clear();
  }
  const std::size_t colon = line.find(':');
  if (colon == std::string::npos) return size * count;
  const std::string name = lower_case(line.substr(0, colon));
  std::size_t start = colon + 1;
  while (start < line.size() && line[start] == ' ') ++start;
  reply.headers[name] = line.substr(start);
  if (name == "set-cookie") reply.cookies.push_back(line.substr(start));
  return size * count;
}

}  // namespace

struct HttpClient::Parts {
  std::string base_url;
  CURL* curl = nullptr;
  std::map<std::string, std::string> headers;
  std::string cookies, certificate;
  long time_limit_ms = 60'000;
  std::function<bool(std::string_view)> piece;

  explicit Parts(std::string url) : base_url(std::move(url)) {
    static std::once_flag once;
    std::call_once(once, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
    curl = curl_easy_init();
    if (curl == nullptr) throw std::runtime_error("libcurl does not start");
  }
  ~Parts() { curl_easy_cleanup(curl); }
  Parts(const Parts&) = delete;
  Parts& operator=(const Parts&) = delete;

  curl_slist* header_list(const Headers& more) const {
    std::map<std::string, std::string> all = headers;
    for (const auto& [name, value] : more) all[name] = value;
    curl_slist* list = nullptr;
    for (const auto& [name, value] : all) {
      list = curl_slist_append(list, (name + (value.empty() ? ":" : ": " + value)).c_str());
    }
    return list;
  }
};

HttpClient::HttpClient(std::string base_url)
    : parts_(std::make_unique<Parts>(std::move(base_url))) {}
HttpClient::~HttpClient() = default;
HttpClient::HttpClient(HttpClient&&) noexcept = default;
HttpClient& HttpClient::operator=(HttpClient&&) noexcept = default;

const std::string& HttpClient::base_url() const {
  return parts_->base_url;
}
void HttpClient::set_header(const std::string& name, const std::string& value) {
  parts_->headers[name] = value;
}
void HttpClient::set_cookie(const std::string& cookies) {
  parts_->cookies = cookies;
}
void HttpClient::trust(const std::string& certificate_file) {
  parts_->certificate = certificate_file;
}
void HttpClient::set_time_limit_ms(long milliseconds) {
  parts_->time_limit_ms = milliseconds;
}

HttpReply HttpClient::send(const std::string& method, const std::string& path,
                           const std::string& body, const Headers& headers) {
  CURL* curl = parts_->curl;
  curl_easy_reset(curl);
  Receiving receiving;
  receiving.piece = parts_->piece;
  Headers all = headers;
  all.emplace_back("Expect", "");  // libcurl adds it by itself otherwise
  curl_slist* list = parts_->header_list(all);
  curl_easy_setopt(curl, CURLOPT_URL, (parts_->base_url + path).c_str());
  curl_easy_setopt(curl, CURLOPT_PATH_AS_IS, 1L);
  curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(curl, CURLOPT_NOPROXY, "*");
  curl_easy_setopt(curl, CURLOPT_TIMEOUT_MS, parts_->time_limit_ms);
  curl_easy_setopt(curl, CURLOPT_HTTPHEADER, list);
  curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, take_body);
  curl_easy_setopt(curl, CURLOPT_WRITEDATA, &receiving);
  curl_easy_setopt(curl, CURLOPT_HEADERFUNCTION, take_header);
  curl_easy_setopt(curl, CURLOPT_HEADERDATA, &receiving);
  if (!parts_->cookies.empty()) curl_easy_setopt(curl, CURLOPT_COOKIE, parts_->cookies.c_str());
  if (!parts_->certificate.empty()) {
    curl_easy_setopt(curl, CURLOPT_CAINFO, parts_->certificate.c_str());
  }
  if (method == "HEAD") {
    curl_easy_setopt(curl, CURLOPT_NOBODY, 1L);
  } else if (method != "GET") {
    curl_easy_setopt(curl, CURLOPT_CUSTOMREQUEST, method.c_str());
    if (!body.empty() || method == "POST" || method == "PUT") {
      curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(body.size()));
      curl_easy_setopt(curl, CURLOPT_POSTFIELDS, body.data());
    }
  }
  const CURLcode code = curl_easy_perform(curl);
  curl_slist_free_all(list);
  long status = 0;
  curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &status);
  receiving.reply.status = static_cast<int>(status);
  if (code != CURLE_OK && !receiving.ended_by_us) receiving.reply.fault = curl_easy_strerror(code);
  return std::move(receiving.reply);
}

HttpReply HttpClient::get(const std::string& path, const Headers& headers) {
  return send("GET", path, {}, headers);
}
HttpReply HttpClient::head(const std::string& path, const Headers& headers) {
  return send("HEAD", path, {}, headers);
}
HttpReply HttpClient::post(const std::string& path, const std::string& json,
                           const Headers& headers) {
  Headers all{{"Content-Type", "application/json"}};
  all.insert(all.end(), headers.begin(), headers.end());
  return send("POST", path, json, all);
}
HttpReply HttpClient::put(const std::string& path, const std::string& json,
                          const Headers& headers) {
  Headers all{{"Content-Type", "application/json"}};
  all.insert(all.end(), headers.begin(), headers.end());
  return send("PUT", path, json, all);
}
HttpReply HttpClient::remove(const std::string& path, const Headers& headers) {
  return send("DELETE", path, {}, headers);
}
HttpReply HttpClient::stream(const std::string& path,
                             const std::function<bool(std::string_view)>& piece,
                             const Headers& headers) {
  parts_->piece = piece;
  HttpReply reply = send("GET", path, {}, headers);
  parts_->piece = nullptr;
  return reply;
}

std::string raw_exchange(std::uint16_t port, std::string_view bytes) {
  const int line = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address = {};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  const timeval limit{20, 0};
  ::setsockopt(line, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
  ::setsockopt(line, SOL_SOCKET, SO_SNDTIMEO, &limit, sizeof limit);
  std::string answer;
  if (::connect(line, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(line, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) break;
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
    char piece[16 * 1024];
    ssize_t got = 0;
    while ((got = ::recv(line, piece, sizeof piece, 0)) > 0) {
      answer.append(piece, static_cast<std::size_t>(got));
    }
    if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) answer += "TIMEOUT";
  }
  ::close(line);
  return answer;
}

int raw_status(std::string_view answer) {
  if (answer.substr(0, 9) != "HTTP/1.1 " || answer.size() < 12) return 0;
  return std::atoi(std::string(answer.substr(9, 3)).c_str());
}

}  // namespace lintel::test
