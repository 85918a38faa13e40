#include "base/cautions.h"

#include <vector>

namespace lintel {
namespace embedded {
extern const std::string_view cautions_toml;
}

namespace {

tl::unexpected<Error> fault(std::int64_t line, std::string message) {
  Error error{ErrorCode::Invalid, std::move(message), {}, {}, {}};
  error.place.line = line;
  return fail(std::move(error));
}

std::string_view* member(Caution& caution, std::string_view key) {
  if (key == "code") return &caution.code;
  if (key == "title") return &caution.title;
  if (key == "text") return &caution.text;
  if (key == "brief") return &caution.brief;
  return nullptr;
}

// key = "string", nothing after it.
Result<void> parse_line(std::string_view line, std::int64_t number, Caution& caution) {
  const std::size_t equals = line.find(" = \"");
  if (equals == std::string_view::npos || line.back() != '"' || line.size() < equals + 5) {
    return fault(number, "expected key = \"text\"");
  }
  const std::string_view key = line.substr(0, equals);
  const std::string_view value = line.substr(equals + 4, line.size() - equals - 5);
  if (value.empty() || value.find_first_of("\\\"") != std::string_view::npos) {
    return fault(number, "empty text, or a quotation mark or backslash in it");
  }
  std::string_view* target = member(caution, key);
  if (target == nullptr) return fault(number, "unknown key " + std::string(key));
  if (!target->empty()) return fault(number, "key given twice: " + std::string(key));
  *target = value;
  return {};
}

const std::vector<Caution>& built_in() {
  static const std::vector<Caution> list = [] {
    auto parsed = detail::parse_cautions(embedded::cautions_toml);
    LINTEL_CHECK(parsed.has_value());  // the build embeds a file that the tests have read
    return std::move(parsed).value();
  }();
  return list;
}

}  // namespace

namespace detail {

Result<std::vector<Caution>> parse_cautions(std::string_view text) {
  std::vector<Caution> list;
  std::int64_t number = 0;
  while (!text.empty()) {
    ++number;
    const std::size_t end = text.find('\n');
    const std::string_view line = text.substr(0, end);
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
    if (line.empty() || line.front() == '#') continue;
    if (line == "[[caution]]") {
      list.emplace_back();
      continue;
    }
    if (list.empty()) return fault(number, "a key before the first [[caution]]");
    LINTEL_TRY_VOID(parse_line(line, number, list.back()));
  }
  for (const Caution& caution : list) {
    if (caution.code.empty() || caution.title.empty() || caution.text.empty() ||
        caution.brief.empty()) {
      return fault(number, "a caution lacks code, title, text or brief");
    }
  }
  if (list.empty()) return fault(number, "no caution at all");
  return list;
}

}  // namespace detail

std::span<const Caution> cautions() {
  return built_in();
}

const std::string& cautions_text() {
  static const std::string text = [] {
    std::string all;
    for (const Caution& caution : built_in()) all.append(caution.text).append("\n");
    return all;
  }();
  return text;
}

const std::string& cautions_brief() {
  static const std::string text = [] {
    std::string all;
    for (const Caution& caution : built_in()) {
      if (!all.empty()) all += ' ';
      all += caution.brief;
    }
    return all;
  }();
  return text;
}

}  // namespace lintel
