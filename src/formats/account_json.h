// Accounts, organizations and the audit trail as JSON, for the API and the command line. Field
// names are those of view/account.h.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "view/account.h"

namespace lintel::formats {

// ---- Documents of records

// {"schema": "lintel-organization-1", "name": "..."}
std::string write_organization_document(std::string_view name);
// {"schema": "lintel-practitioner-1", "name": "...", "role": "owner"}
std::string write_practitioner_document(std::string_view name, std::string_view role);
// "name" of either. Errors: Invalid.
Result<std::string> read_name_of_document(std::string_view document);

// ---- Answers of the API

struct SessionAnswer {
  std::string person, name, login, role, organization, organization_name;
  std::string athlete;     // of the role athlete: its record
  std::string csrf_token;  // empty for an API token
  bool by_token = false;
  std::vector<std::string> permissions;
};
std::string write_session_json(const SessionAnswer& session);

struct StatusAnswer {
  std::string version;
  bool needs_owner = false, tls = false;
};
std::string write_status_json(const StatusAnswer& status);

std::string write_organization_json(std::string_view id, std::string_view name,
                                    std::int64_t version, std::string_view changed_at);

struct Invitation {
  std::string secret, expires_at;  // secret empty = none
};
std::string write_account_json(const view::Account& account, const Invitation& invitation = {});
std::string write_accounts_json(std::span<const view::Account> accounts);
std::string write_invitation_json(std::string_view name, std::string_view login,
                                  std::string_view organization, std::string_view expires_at);

std::string write_sessions_json(std::span<const view::OwnSession> sessions);

// With its secret where it has just been made.
std::string write_api_token_json(const view::ApiToken& token, std::string_view secret = {});
std::string write_api_tokens_json(std::span<const view::ApiToken> tokens);

std::string write_audit_json(const view::AuditPage& page);
std::string write_chain_verdict_json(const view::ChainVerdict& verdict);

}  // namespace lintel::formats
