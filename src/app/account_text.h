// Accounts and the audit trail for a terminal.
#pragma once

#include <string>
#include <vector>

#include "app/accounts.h"
#include "view/account.h"

namespace lintel::app {

std::string people_text(const std::vector<view::Account>& people);
// One line about somebody who was added or changed; with the secret of an invitation.
std::string person_text(const PersonWithInvitation& person);
std::string audit_text(const view::AuditPage& page);
std::string chain_verdict_text(const view::ChainVerdict& verdict);

}  // namespace lintel::app
