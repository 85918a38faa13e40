#include "formats/test_fields.h"

#include <algorithm>

#include "base/text.h"
#include "body/tables.h"

namespace lintel::formats {
namespace {

using body::TestProtocol;
using body::TestSide;

constexpr std::size_t kMostTries = 20;
constexpr std::size_t kLongestSource = 600;
constexpr const char* kListThem = "list the protocols with: lintel tests list";

}  // namespace

std::string tries_key(const TestProtocol& protocol) {
  return "tries_" + std::string(body::protocol_unit_name(protocol.unit));
}

TestFields::TestFields(FieldReader& read, const std::vector<TestProtocol>& protocols)
    : read_(read), protocols_(protocols) {
  for (const TestProtocol& protocol : protocols) ids_.push_back(protocol.id);
}

const TestProtocol* TestFields::protocol(const JsonValue& item, const std::string& path) {
  const JsonValue* value =
      read_.member(item, path, "protocol", JsonKind::String, Presence::Required, kListThem);
  if (value == nullptr) return nullptr;
  const TestProtocol* protocol = body::find_protocol(protocols_, value->text);
  if (protocol != nullptr) return protocol;
  const std::string_view nearest = nearest_word(value->text, ids_);
  read_.faults().add(
      *value, path + "protocol", "is \"" + value->text + "\", which is not known",
      nearest.empty() ? kListThem : "did you mean \"" + std::string(nearest) + "\"?");
  return nullptr;
}

TestSide TestFields::side(const JsonValue& item, const std::string& path,
                          const TestProtocol& protocol) {
  const auto word = read_.word(item, path, "side", Presence::Optional, {"left", "right", "both"});
  const TestSide side = word ? static_cast<TestSide>(*word) : TestSide::Both;
  const JsonValue* value = item.find("side");
  if (value != nullptr && !word) return side;  // the fault is there already
  const bool sided = protocol.sides == body::Sides::Each;
  if (sided == (side == TestSide::Both)) {
    read_.faults().add(value == nullptr ? item : *value, path + "side",
                       sided ? "must be \"left\" or \"right\": this test is done on each side"
                             : "does not fit: this test has no sides",
                       sided ? "" : "leave it out");
  }
  return side;
}

std::vector<double> TestFields::tries(const JsonValue& item, const std::string& path,
                                      const TestProtocol& protocol) {
  const std::string key = tries_key(protocol);
  const JsonValue* list = read_.member(item, path, key, JsonKind::Array, Presence::Required,
                                       "a list of one or more numbers in the unit of the protocol");
  if (list == nullptr) return {};
  if (list->items.empty() || list->items.size() > kMostTries) {
    read_.faults().add(
        *list, path + key,
        text("holds %zu tries; allowed are 1 to %zu", list->items.size(), kMostTries));
    return {};
  }
  const double si = body::si_per_unit(protocol.unit);
  const NumberRule rule{protocol.lowest / si, protocol.highest / si,
                        std::string(body::protocol_unit_name(protocol.unit))};
  std::vector<double> tries;
  for (std::size_t i = 0; i < list->items.size(); ++i) {
    const auto value = read_.number_of(list->items[i], path + key + text("[%zu]", i), rule);
    if (value) tries.push_back(std::clamp(*value * si, protocol.lowest, protocol.highest));
  }
  return tries;
}

std::optional<body::OwnError> TestFields::own_error(const JsonValue& item,
                                                    const std::string& path) {
  const TestProtocol* of = protocol(item, path);
  if (of == nullptr) return {};
  const std::string unit(body::protocol_unit_name(of->unit));
  const double si = body::si_per_unit(of->unit);
  const std::string key = "value_" + unit;
  read_.check_keys(item, path, {"protocol", key, "tries", "share_between_tries", "source"});
  body::OwnError own;
  own.protocol = of->id;
  const NumberRule rule{1e-3, (of->highest - of->lowest) / si, unit};
  own.error.value = si * read_.number(item, path, key, Presence::Required, rule).value_or(1.0);
  own.error.tries = read_.whole_number(item, path, "tries", Presence::Required, 1, 10).value_or(1);
  own.error.share_between_tries =
      read_.number(item, path, "share_between_tries", Presence::Optional, {0, 1})
          .value_or(body::test_table().value("share_between_tries"));
  own.error.source = read_.text(item, path, "source", Presence::Required, kLongestSource);
  return own;
}

}  // namespace lintel::formats
