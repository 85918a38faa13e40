// The texts of a request, taken apart strictly: target, query, cookies, host. Fuzzed.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "server/http.h"

namespace lintel::server {

struct Target {
  std::string path;  // decoded; begins with '/', no "//", no "." or ".." segment, no NUL, UTF-8
  std::map<std::string, std::string> query;
};

// Origin form only ("/a/b?c=d"). Errors: Invalid for anything that two readers could understand
// differently: broken percent signs, %2F and %5C in the path, dot segments, control characters.
Result<Target> parse_target(std::string_view target);

// "%41+b" -> "A b" with `plus` as space. Nothing when a percent sign is broken.
enum class Plus { Literal, Space };
std::optional<std::string> percent_decoded(std::string_view text, Plus plus);

// "a=1; b=2" (RFC 6265, section 4.2); what is no pair is passed over, the first of two equal names
// counts.
std::map<std::string, std::string> parse_cookies(std::string_view header);

// "name:port" of a Host header.
struct HostName {
  std::string name;  // lower case, without port and trailing dot; an IPv6 address without brackets
  int port = 0;      // 0 = none given
  bool address = false;  // an IP address, not a name
};
// Errors: Invalid.
Result<HostName> parse_host(std::string_view host);
// "https://name:port" -> the same with the scheme's port when none is given. Errors: Invalid, also
// for "null".
struct Origin {
  std::string scheme;
  HostName host;
};
Result<Origin> parse_origin(std::string_view origin);

// The last address of X-Forwarded-For; empty = none that is an address.
std::string last_forwarded(std::string_view header);

// Weight of a media type in Accept (RFC 9110, section 12.5.1): 0 to 1; 1 for an empty header.
double accept_weight(std::string_view accept, std::string_view media_type);
// The same for one content coding in Accept-Encoding; 0 when it is not named there (nor by "*").
double encoding_weight(std::string_view accept_encoding, std::string_view coding);
// Does If-None-Match (or If-Match) name this tag? Weak comparison; "*" names every tag.
bool names_tag(std::string_view header, std::string_view tag);

bool is_utf8(std::string_view text);
bool is_ip_address(const std::string& text);
// 127.0.0.0/8, ::1, ::ffff:127.0.0.0/104.
bool is_loopback(const std::string& address);
std::string lower(std::string_view ascii);
std::string_view trimmed(std::string_view text);  // of spaces and tabs

}  // namespace lintel::server
