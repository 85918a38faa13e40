// What the API and the command line say about accounts and the audit trail, as JSON.
#pragma once

#include <string>
#include <string_view>

#include "app/accounts.h"
#include "app/audit.h"
#include "base/result.h"

namespace lintel::app {

Result<std::string> status_document(Practice& practice, bool tls);
Result<std::string> session_document(Practice& practice, const Caller& caller);
Result<std::string> people_document(Practice& practice, const Caller& caller);
std::string person_document(const PersonWithInvitation& person);
Result<std::string> invitation_document(Practice& practice, std::string_view secret);
Result<std::string> sessions_document(Practice& practice, const Caller& caller);
Result<std::string> tokens_document(Practice& practice, const Caller& caller);
std::string token_document(const TokenWithSecret& token);
std::string organization_document(const OrganizationInfo& organization);
std::string audit_page_document(const view::AuditPage& page);
std::string chain_verdict_document(const view::ChainVerdict& verdict);
Result<std::string> audit_document(Practice& practice, const Caller& caller,
                                   const AuditQuery& query);
Result<std::string> audit_verdict_document(Practice& practice, const Caller& caller,
                                           const ExpectedHead& expected);

}  // namespace lintel::app
