// The one file that includes valijson: it takes ten seconds to compile.
#include "support/schema_check.h"

#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

namespace lintel::test_support {
namespace {

std::string complaints(const nlohmann::json& schema_json, const nlohmann::json& document,
                       valijson::SchemaParser::Version draft) {
  valijson::Schema schema;
  valijson::SchemaParser parser(draft);
  parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(schema_json), schema);
  valijson::Validator validator;
  valijson::ValidationResults results;
  if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(document), &results)) {
    return "";
  }
  std::string text;
  valijson::ValidationResults::Error error;
  while (results.popError(error) && text.size() < 2000) {
    for (const std::string& part : error.context) text += part;
    text += ": " + error.description + "\n";
  }
  return text.empty() ? "invalid" : text;
}

}  // namespace

std::string schema_complaints(const nlohmann::json& schema_json, const nlohmann::json& document) {
  return complaints(schema_json, document, valijson::SchemaParser::kDraft7);
}

std::string draft4_complaints(const nlohmann::json& schema_json, const nlohmann::json& document) {
  return complaints(schema_json, document, valijson::SchemaParser::kDraft4);
}

}  // namespace lintel::test_support
