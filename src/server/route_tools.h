// What handlers do alike: numbers of the query, versions, pages, tables, small JSON bodies.
#pragma once

#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/http.h"

namespace lintel::server {

// ---- Query. Errors: Invalid with the parameter's name as field.
std::string query_text(const Request& request, const std::string& name, std::string usual = {});
Result<double> query_number(const Request& request, const std::string& name, double usual,
                            double least, double most);
Result<std::int64_t> query_integer(const Request& request, const std::string& name,
                                   std::int64_t usual, std::int64_t least, std::int64_t most);
// "1", "true", "yes" or empty text = true; "0", "false", "no" = false.
Result<bool> query_flag(const Request& request, const std::string& name, bool usual);
// As above, for what must be there.
Result<std::string> required_query(const Request& request, const std::string& name);

// ?after=&limit= (limit 1 to 500, 50 by itself).
struct PageQuery {
  std::string after;
  int limit = 50;
};
Result<PageQuery> page_query(const Request& request);

// ---- Bodies. The text of a JSON body: media type application/json (or one that ends in +json, or
// none), UTF-8, not empty. Errors: Unsupported (415), Invalid. Give the text to formats/*.
Result<std::string_view> json_text(const Request& request);
// The same, parsed as an object; for the few small bodies that no format reads. At most 32 levels
// deep. Errors: those of json_text, Invalid with line and column.
Result<nlohmann::json> json_object(const Request& request);
// Members of such an object. Errors: Invalid with the member's name as field.
Result<std::string> text_member(const nlohmann::json& object, const char* name);
std::string text_member_or(const nlohmann::json& object, const char* name, std::string usual);
Result<double> number_member(const nlohmann::json& object, const char* name);
Result<double> number_member_or(const nlohmann::json& object, const char* name, double usual);
Result<std::int64_t> integer_member_or(const nlohmann::json& object, const char* name,
                                       std::int64_t usual);
// Every member must be one of these: a misspelt name is told, not dropped.
Result<void> only_members(const nlohmann::json& object, std::vector<std::string_view> names);
// Media type of Content-Type in lower case without parameters; empty = none.
std::string content_type(const Request& request);

// ---- Versions. ETag: "<version>"; If-Match of a change. Errors of if_match: code Conflict with
// kNeedsIfMatch as field (answered with 428) when it is missing; Invalid when it is not a version.
// "*" answers 0 = whatever the version is.
std::string etag(std::int64_t version);
Result<std::int64_t> if_match(const Request& request);
inline constexpr std::string_view kNeedsIfMatch = "If-Match";

// ---- Answers. A record or list as JSON with its ETag. A version conflict on a request that
// carries If-Match is answered with 412 by the router: handlers just pass the Conflict on.
Response json_with_version(std::string json, std::int64_t version, int status = 200);
Response created(std::string json, const std::string& location, std::int64_t version = 0);
// Does the caller want a table (?format=csv, or Accept prefers text/csv)?
bool wants_csv(const Request& request);
// With BOM-free UTF-8, Content-Disposition with this file name (ASCII; others are replaced).
Response csv(std::string text, std::string_view file_name);
Response download(Response response, std::string_view file_name);  // attachment

}  // namespace lintel::server
