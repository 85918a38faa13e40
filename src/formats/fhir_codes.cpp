#include "formats/fhir_codes.h"

#include "base/result.h"
#include "formats/located_json.h"

namespace lintel::embedded {
extern const std::string_view exchange_codes_json;
}

namespace lintel::formats {
namespace {

std::string text_at(const JsonValue& object, std::string_view key) {
  const JsonValue* value = object.find(key);
  return value == nullptr ? std::string() : value->text;
}

void add_property(const JsonValue& property, ExchangeCode& code) {
  const std::string name = text_at(property, "code");
  if (name == "site") {
    code.site = text_at(property, "valueCode");
    return;
  }
  const JsonValue* coding = property.find("valueCoding");
  LINTEL_CHECK(coding != nullptr && text_at(*coding, "system") == "http://loinc.org");
  std::string& loinc = name == "loinc_left"    ? code.loinc_left
                       : name == "loinc_right" ? code.loinc_right
                                               : code.loinc;
  loinc = text_at(*coding, "code");
}

ExchangeCodes read_codes(std::string_view text) {
  const auto root = parse_json(text, {});
  LINTEL_CHECK(root.has_value());
  ExchangeCodes out;
  out.url = text_at(*root, "url");
  out.json = text;
  const JsonValue* concepts = root->find("concept");
  LINTEL_CHECK(concepts != nullptr && !out.url.empty());
  for (const JsonValue& entry : concepts->items) {
    ExchangeCode code{text_at(entry, "code"), text_at(entry, "display"), {}, {}, {}, {}};
    if (const JsonValue* properties = entry.find("property")) {
      for (const JsonValue& property : properties->items) add_property(property, code);
    }
    const std::string name = code.code;
    LINTEL_CHECK(!name.empty() && !code.display.empty());
    LINTEL_CHECK(out.codes.emplace(name, std::move(code)).second);
  }
  return out;
}

}  // namespace

const std::string& ExchangeCode::loinc_of(body::TestSide side) const {
  if (side == body::TestSide::Left && !loinc_left.empty()) return loinc_left;
  if (side == body::TestSide::Right && !loinc_right.empty()) return loinc_right;
  return loinc;
}

const ExchangeCode* ExchangeCodes::find(std::string_view code) const {
  const auto found = codes.find(code);
  return found == codes.end() ? nullptr : &found->second;
}

const ExchangeCode* ExchangeCodes::site(const ExchangeCode& measure, body::TestSide side) const {
  if (measure.site.empty()) return nullptr;
  std::string name = measure.site;
  if (side != body::TestSide::Both) name += "_" + std::string(body::test_side_name(side));
  return find(name);
}

const ExchangeCodes& exchange_codes() {
  static const ExchangeCodes kCodes = read_codes(embedded::exchange_codes_json);
  return kCodes;
}

}  // namespace lintel::formats
