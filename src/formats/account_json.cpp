#include "formats/account_json.h"

#include <nlohmann/json.hpp>

#include "formats/utf8.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::ordered_json;

std::string text_of(const Json& json) {
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

// Nothing rather than an empty text.
Json or_null(const std::string& text) {
  return text.empty() ? Json() : Json(text);
}

const char* state_of(const view::Account& account) {
  if (!account.active) return "inactive";
  return account.has_passphrase ? "active" : "invited";
}

Json account_json(const view::Account& account) {
  return {{"id", account.person},
          {"name", account.name},
          {"login", account.login},
          {"role", account.role},
          {"state", state_of(account)},
          {"athlete", account.role == "athlete" ? Json(account.person) : Json()},
          {"version", account.version},
          {"created_at", account.created_at},
          {"changed_at", account.changed_at},
          {"signed_in_at", or_null(account.signed_in_at)}};
}

Json token_json(const view::ApiToken& token) {
  return {{"id", token.id},
          {"name", token.name},
          {"scopes", token.scopes},
          {"created_at", token.created_at},
          {"expires_at", token.expires_at},
          {"last_used_at", or_null(token.used_at)}};
}

template <typename T, typename F>
Json list_json(std::span<const T> items, F&& one) {
  Json list = Json::array();
  for (const T& item : items) list.push_back(one(item));
  return {{"items", list}, {"next", nullptr}};
}

}  // namespace

std::string write_organization_document(std::string_view name) {
  return text_of({{"schema", "lintel-organization-1"}, {"name", valid_utf8(name)}});
}

std::string write_practitioner_document(std::string_view name, std::string_view role) {
  return text_of({{"schema", "lintel-practitioner-1"}, {"name", valid_utf8(name)}, {"role", role}});
}

Result<std::string> read_name_of_document(std::string_view document) {
  const Json json = Json::parse(document, nullptr, false);
  if (!json.is_object() || !json.contains("name") || !json["name"].is_string()) {
    return fail(ErrorCode::Invalid, "the document has no name");
  }
  return json["name"].get<std::string>();
}

std::string write_session_json(const SessionAnswer& s) {
  return text_of({{"person", s.person},
                  {"name", s.name},
                  {"login", s.login},
                  {"role", s.role},
                  {"organization", {{"id", s.organization}, {"name", s.organization_name}}},
                  {"athlete", or_null(s.athlete)},
                  {"csrf_token", or_null(s.csrf_token)},
                  {"by_token", s.by_token},
                  {"permissions", s.permissions}});
}

std::string write_status_json(const StatusAnswer& status) {
  return text_of(
      {{"version", status.version}, {"needs_owner", status.needs_owner}, {"tls", status.tls}});
}

std::string write_organization_json(std::string_view id, std::string_view name,
                                    std::int64_t version, std::string_view changed_at) {
  return text_of({{"id", id}, {"name", name}, {"version", version}, {"changed_at", changed_at}});
}

std::string write_account_json(const view::Account& account, const Invitation& invitation) {
  Json json = account_json(account);
  if (!invitation.secret.empty()) {
    json["invitation"] = {{"secret", invitation.secret}, {"expires_at", invitation.expires_at}};
  }
  return text_of(json);
}

std::string write_accounts_json(std::span<const view::Account> accounts) {
  return text_of(list_json(accounts, account_json));
}

std::string write_invitation_json(std::string_view name, std::string_view login,
                                  std::string_view organization, std::string_view expires_at) {
  return text_of({{"name", name},
                  {"login", login},
                  {"organization", organization},
                  {"expires_at", expires_at}});
}

std::string write_sessions_json(std::span<const view::OwnSession> sessions) {
  return text_of(list_json(sessions, [](const view::OwnSession& session) {
    return Json{{"id", session.id},
                {"created_at", session.created_at},
                {"last_used_at", session.seen_at},
                {"expires_at", session.expires_at},
                {"idle_until", session.idle_until},
                {"peer", or_null(session.peer)},
                {"current", session.current}};
  }));
}

std::string write_api_token_json(const view::ApiToken& token, std::string_view secret) {
  Json json = token_json(token);
  if (!secret.empty()) json["token"] = secret;
  return text_of(json);
}

std::string write_api_tokens_json(std::span<const view::ApiToken> tokens) {
  return text_of(list_json(tokens, token_json));
}

std::string write_audit_json(const view::AuditPage& page) {
  Json json = list_json(std::span<const view::AuditRow>(page.rows), [](const view::AuditRow& row) {
    return Json{{"sequence", row.sequence},           {"at", row.at},
                {"person", or_null(row.person)},      {"session", or_null(row.session)},
                {"peer", or_null(row.peer)},          {"action", row.action},
                {"record", or_null(row.record)},      {"athlete", or_null(row.athlete)},
                {"detail", or_null(row.detail)},      {"organization", or_null(row.organization)},
                {"previous_hash", row.previous_hash}, {"hash", row.hash}};
  });
  if (!page.next.empty()) json["next"] = page.next;
  return text_of(json);
}

std::string write_chain_verdict_json(const view::ChainVerdict& verdict) {
  return text_of({{"whole", verdict.whole},
                  {"rows", verdict.rows},
                  {"first_broken", verdict.whole ? Json() : Json(verdict.first_broken)},
                  {"fault", or_null(verdict.fault)},
                  {"head_sequence", verdict.head_sequence},
                  {"head_hash", verdict.head_hash}});
}

}  // namespace lintel::formats
