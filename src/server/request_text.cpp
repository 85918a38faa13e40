#include "server/request_text.h"

#include <arpa/inet.h>
#include <charconv>
#include <cstdint>

namespace lintel::server {
namespace {

tl::unexpected<Error> bad(std::string message, std::string mend = "send a valid request") {
  return fail(ErrorCode::Invalid, std::move(message), std::move(mend));
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

bool has_control(std::string_view text) {
  for (const char c : text) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) return true;
  }
  return false;
}

// Calls take(part) for each part between separators, spaces trimmed.
template <typename Take>
void split(std::string_view text, char separator, const Take& take) {
  while (true) {
    const std::size_t end = text.find(separator);
    take(trimmed(text.substr(0, end)));
    if (end == std::string_view::npos) return;
    text.remove_prefix(end + 1);
  }
}

Result<std::string> parse_path(std::string_view raw) {
  for (std::size_t i = 0; i + 2 < raw.size(); ++i) {
    const std::string code = lower(raw.substr(i, 3));
    if (code == "%2f" || code == "%5c") {
      return bad("the path hides a slash behind a percent sign");
    }
  }
  const std::optional<std::string> path = percent_decoded(raw, Plus::Literal);
  if (!path) return bad("a percent sign of the path is not followed by two hexadecimal digits");
  if (has_control(*path) || !is_utf8(*path))
    return bad("the path holds characters that may not be");
  if (path->find('\\') != std::string::npos) return bad("the path holds a backslash");
  std::string_view rest = std::string_view(*path).substr(1);
  bool sound = true;
  while (!rest.empty()) {
    const std::size_t end = rest.find('/');
    const std::string_view segment = rest.substr(0, end);
    if (segment.empty() || segment == "." || segment == "..") sound = false;
    rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
  }
  if (!sound) return bad("the path holds an empty or dot segment");
  return *path;
}

// "text;q=0.5" -> weight; 0 when it is not a number from 0 to 1.
double quality(std::string_view parameters) {
  double weight = 1.0;
  split(parameters, ';', [&](std::string_view parameter) {
    if (parameter.size() < 2 || lower(parameter.substr(0, 2)) != "q=") return;
    const std::string_view digits = parameter.substr(2);
    double value = 0.0;
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value,
                                              std::chars_format::fixed);
    const bool whole = error == std::errc{} && end == digits.data() + digits.size();
    weight = whole && value >= 0.0 && value <= 1.0 ? value : 0.0;
  });
  return weight;
}

}  // namespace

std::string lower(std::string_view ascii) {
  std::string out(ascii);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

bool is_utf8(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  for (std::size_t i = 0; i < text.size();) {
    const unsigned first = byte(i);
    const std::size_t length = first < 0x80 ? 1 : first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : 2;
    if ((first >= 0x80 && first < 0xc2) || first > 0xf4 || i + length > text.size()) return false;
    for (std::size_t k = 1; k < length; ++k) {
      if ((byte(i + k) & 0xc0U) != 0x80U) return false;
    }
    if (length > 2) {  // not longer than needed, no surrogates, not above U+10FFFF
      const unsigned second = byte(i + 1);
      if ((first == 0xe0 && second < 0xa0) || (first == 0xed && second > 0x9f) ||
          (first == 0xf0 && second < 0x90) || (first == 0xf4 && second > 0x8f)) {
        return false;
      }
    }
    i += length;
  }
  return true;
}

bool is_ip_address(const std::string& text) {
  std::uint8_t bytes[16];
  return inet_pton(AF_INET, text.c_str(), bytes) == 1 ||
         inet_pton(AF_INET6, text.c_str(), bytes) == 1;
}

bool is_loopback(const std::string& address) {
  return address.rfind("127.", 0) == 0 || address == "::1" || address.rfind("::ffff:127.", 0) == 0;
}

std::optional<std::string> percent_decoded(std::string_view text, Plus plus) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      if (i + 2 >= text.size()) return std::nullopt;
      const int high = hex_digit(text[i + 1]);
      const int low = hex_digit(text[i + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      out += static_cast<char>(high * 16 + low);
      i += 2;
    } else {
      out += plus == Plus::Space && text[i] == '+' ? ' ' : text[i];
    }
  }
  return out;
}

Result<Target> parse_target(std::string_view target) {
  if (target.empty() || target.front() != '/') return bad("the target is not a path");
  if (has_control(target) || target.find('#') != std::string_view::npos) {
    return bad("the target holds characters that may not be");
  }
  const std::size_t mark = target.find('?');
  Target out;
  out.path = LINTEL_TRY(parse_path(target.substr(0, mark)));
  if (mark == std::string_view::npos) return out;
  std::string fault;
  split(target.substr(mark + 1), '&', [&](std::string_view pair) {
    if (pair.empty()) return;
    const std::size_t equals = pair.find('=');
    const auto name = percent_decoded(pair.substr(0, equals), Plus::Space);
    const auto value = percent_decoded(
        equals == std::string_view::npos ? std::string_view{} : pair.substr(equals + 1),
        Plus::Space);
    if (!name || !value) fault = "a percent sign of the query is not followed by two digits";
    if (!name || !value) return;
    if (!is_utf8(*name) || !is_utf8(*value) || name->find('\0') != std::string::npos ||
        value->find('\0') != std::string::npos) {
      fault = "the query is not text in UTF-8";
      return;
    }
    out.query[*name] = *value;
  });
  if (!fault.empty()) return bad(fault);
  return out;
}

std::map<std::string, std::string> parse_cookies(std::string_view header) {
  std::map<std::string, std::string> out;
  split(header, ';', [&](std::string_view pair) {
    const std::size_t equals = pair.find('=');
    if (equals == std::string_view::npos || equals == 0) return;
    std::string_view value = trimmed(pair.substr(equals + 1));
    if (value.size() >= 2 && value.front() == '"' && value.back() == '"') {
      value = value.substr(1, value.size() - 2);
    }
    out.emplace(std::string(trimmed(pair.substr(0, equals))), std::string(value));
  });
  return out;
}

Result<HostName> parse_host(std::string_view host) {
  HostName out;
  std::string_view name = host;
  std::string_view port;
  if (!host.empty() && host.front() == '[') {
    const std::size_t end = host.find(']');
    if (end == std::string_view::npos) return bad("the host has no closing bracket");
    name = host.substr(1, end - 1);
    const std::string_view rest = host.substr(end + 1);
    if (!rest.empty() && rest.front() != ':') return bad("the host is not a name and a port");
    if (!rest.empty()) port = rest.substr(1);
    out.name = lower(name);
    out.address = name.find(':') != std::string_view::npos && is_ip_address(out.name);
    if (!out.address) return bad("the host is not an address");
  } else {
    const std::size_t colon = host.find(':');
    name = host.substr(0, colon);
    if (colon != std::string_view::npos) port = host.substr(colon + 1);
    if (!name.empty() && name.back() == '.') name.remove_suffix(1);
    if (name.empty() || name.size() > 253) return bad("the host has no name");
    for (const char c : name) {
      const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                          (c >= '0' && c <= '9') || c == '-' || c == '.' || c == '_';
      if (!letter) return bad("the host holds characters that may not be");
    }
    out.name = lower(name);
    out.address = is_ip_address(out.name);
  }
  if (!port.empty()) {
    const auto [end, error] = std::from_chars(port.data(), port.data() + port.size(), out.port);
    if (error != std::errc{} || end != port.data() + port.size() || out.port < 1 ||
        out.port > 65535) {
      return bad("the port of the host is not a number from 1 to 65535");
    }
  }
  return out;
}

Result<Origin> parse_origin(std::string_view origin) {
  const std::size_t mark = origin.find("://");
  if (mark == std::string_view::npos) return bad("the origin has no scheme");
  Origin out;
  out.scheme = lower(origin.substr(0, mark));
  if (out.scheme != "http" && out.scheme != "https") return bad("the origin is not of the web");
  out.host = LINTEL_TRY(parse_host(origin.substr(mark + 3)));
  if (out.host.port == 0) out.host.port = out.scheme == "https" ? 443 : 80;
  return out;
}

std::string last_forwarded(std::string_view header) {
  std::string last;
  split(header, ',', [&](std::string_view part) { last = std::string(part); });
  return is_ip_address(last) ? last : std::string{};
}

double accept_weight(std::string_view accept, std::string_view media_type) {
  if (trimmed(accept).empty()) return 1.0;
  const std::string wanted = lower(media_type);
  const std::string group = wanted.substr(0, wanted.find('/')) + "/*";
  double weight = 0.0;
  int closeness = 0;  // the most exact range counts
  split(accept, ',', [&](std::string_view range) {
    const std::size_t semicolon = range.find(';');
    const std::string name = lower(trimmed(range.substr(0, semicolon)));
    const int close = name == wanted ? 3 : name == group ? 2 : name == "*/*" ? 1 : 0;
    if (close <= closeness) return;
    closeness = close;
    weight = semicolon == std::string_view::npos ? 1.0 : quality(range.substr(semicolon + 1));
  });
  return weight;
}

double encoding_weight(std::string_view accept_encoding, std::string_view coding) {
  double weight = 0.0;
  bool exact = false;
  split(accept_encoding, ',', [&](std::string_view part) {
    const std::size_t semicolon = part.find(';');
    const std::string name = lower(trimmed(part.substr(0, semicolon)));
    if (exact || (name != coding && name != "*")) return;
    exact = name == coding;
    weight = semicolon == std::string_view::npos ? 1.0 : quality(part.substr(semicolon + 1));
  });
  return weight;
}

bool names_tag(std::string_view header, std::string_view tag) {
  const auto strong = [](std::string_view text) {
    return text.substr(0, 2) == "W/" ? text.substr(2) : text;
  };
  bool named = false;
  split(header, ',', [&](std::string_view part) {
    if (part == "*" || (!part.empty() && strong(part) == strong(tag))) named = true;
  });
  return named;
}

}  // namespace lintel::server
