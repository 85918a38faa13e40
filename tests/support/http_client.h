// A client of the server in tests: libcurl, a reader of HTTP that is not ours; and a raw socket for
// requests that no library would send.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace lintel::test {

struct HttpReply {
  int status = 0;                              // 0 = no answer (see `fault`)
  std::map<std::string, std::string> headers;  // names in lower case; the last of two
  std::vector<std::string> cookies;            // every Set-Cookie
  std::string body;
  std::string fault;  // libcurl's words when there was no whole answer

  std::string header(const std::string& lower_case_name) const {
    const auto found = headers.find(lower_case_name);
    return found == headers.end() ? std::string() : found->second;
  }
};

using Headers = std::vector<std::pair<std::string, std::string>>;

// One connection that is kept alive. For one thread at a time.
class HttpClient {
 public:
  explicit HttpClient(std::string base_url);  // "http://127.0.0.1:41234"
  ~HttpClient();
  HttpClient(HttpClient&&) noexcept;
  HttpClient& operator=(HttpClient&&) noexcept;

  // Headers sent with every request (the last call of a name counts; empty value = not sent).
  void set_header(const std::string& name, const std::string& value);
  void set_cookie(const std::string& cookies);      // "a=1; b=2"
  void trust(const std::string& certificate_file);  // TLS: this certificate, host checked
  void set_time_limit_ms(long milliseconds);        // for one request; 60 s by itself

  HttpReply send(const std::string& method, const std::string& path, const std::string& body = {},
                 const Headers& headers = {});
  HttpReply get(const std::string& path, const Headers& headers = {});
  HttpReply head(const std::string& path, const Headers& headers = {});
  HttpReply post(const std::string& path, const std::string& json, const Headers& headers = {});
  HttpReply put(const std::string& path, const std::string& json, const Headers& headers = {});
  HttpReply remove(const std::string& path, const Headers& headers = {});
  // Reads the body piece by piece until `piece` answers false (event streams).
  HttpReply stream(const std::string& path, const std::function<bool(std::string_view)>& piece,
                   const Headers& headers = {});

  const std::string& base_url() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// Sends the bytes as they are to 127.0.0.1 and answers all that comes back until the server closes
// (or 20 s without a byte have gone: then "TIMEOUT" stands at the end).
std::string raw_exchange(std::uint16_t port, std::string_view bytes);
// The status of such an answer; 0 = none.
int raw_status(std::string_view answer);

}  // namespace lintel::test
