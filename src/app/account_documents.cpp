#include "app/account_documents.h"

#include "app/version.h"
#include "formats/account_json.h"

namespace lintel::app {

Result<std::string> status_document(Practice& practice, bool tls) {
  const bool without_owner = LINTEL_TRY(needs_owner(practice));
  return formats::write_status_json({std::string(version()), without_owner, tls});
}

Result<std::string> session_document(Practice& practice, const Caller& caller) {
  const SessionInfo info = LINTEL_TRY(session_info(practice, caller));
  formats::SessionAnswer answer;
  answer.person = caller.person;
  answer.name = info.account.name;
  answer.login = info.account.login;
  answer.role = info.account.role;
  answer.organization = caller.organization;
  answer.organization_name = info.organization_name;
  if (caller.role == Role::Athlete) answer.athlete = caller.person;
  answer.csrf_token = caller.write_token;
  answer.by_token = caller.by_token;
  answer.permissions = info.permissions;
  return formats::write_session_json(answer);
}

Result<std::string> people_document(Practice& practice, const Caller& caller) {
  return formats::write_accounts_json(LINTEL_TRY(list_people(practice, caller)));
}

std::string person_document(const PersonWithInvitation& person) {
  return formats::write_account_json(person.account,
                                     {person.invitation, person.invitation_expires_at});
}

Result<std::string> invitation_document(Practice& practice, std::string_view secret) {
  const InvitationInfo info = LINTEL_TRY(look_at_invitation(practice, secret));
  return formats::write_invitation_json(info.name, info.login, info.organization, info.expires_at);
}

Result<std::string> sessions_document(Practice& practice, const Caller& caller) {
  return formats::write_sessions_json(LINTEL_TRY(list_own_sessions(practice, caller)));
}

Result<std::string> tokens_document(Practice& practice, const Caller& caller) {
  return formats::write_api_tokens_json(LINTEL_TRY(list_tokens(practice, caller)));
}

std::string token_document(const TokenWithSecret& token) {
  return formats::write_api_token_json(token.token, token.secret);
}

std::string organization_document(const OrganizationInfo& organization) {
  return formats::write_organization_json(organization.id, organization.name, organization.version,
                                          organization.changed_at);
}

std::string audit_page_document(const view::AuditPage& page) {
  return formats::write_audit_json(page);
}

std::string chain_verdict_document(const view::ChainVerdict& verdict) {
  return formats::write_chain_verdict_json(verdict);
}

Result<std::string> audit_document(Practice& practice, const Caller& caller,
                                   const AuditQuery& query) {
  return formats::write_audit_json(LINTEL_TRY(list_audit(practice, caller, query)));
}

Result<std::string> audit_verdict_document(Practice& practice, const Caller& caller,
                                           const ExpectedHead& expected) {
  return formats::write_chain_verdict_json(LINTEL_TRY(verify_audit(practice, caller, expected)));
}

}  // namespace lintel::app
