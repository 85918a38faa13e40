#include "app/accounts.h"

#include "app/account_rules.h"
#include "app/audit.h"
#include "base/instant.h"
#include "formats/account_json.h"
#include "secure/random.h"
#include "secure/token.h"
#include "store/records.h"

namespace lintel::app {
namespace {

using store::Transaction;

constexpr const char* kWriteTokenPurpose = "lintel-write-token";
// Uses are noted once a minute and not at every request.
constexpr double kNoteUseAgain_s = 60;
// Who stands as the author of what is done on the command line.
constexpr const char* kPersonAtTheMachine = "00000000-0000-0000-0000-000000000000";

Result<Caller> caller_by_cookie(Practice& practice, std::string_view cookie,
                                std::string_view peer) {
  const std::string now = practice.now();
  const std::string idle_since = instant_after(now, -static_cast<double>(kSessionIdle_s));
  const std::string digest = secure::secret_digest(cookie);
  const auto found = LINTEL_TRY(store::read_value<std::optional<store::SessionWithAccount>>(
      *practice.database,
      [&](Transaction& t) { return store::find_session(t, digest, now, idle_since); }));
  if (!found) return Caller::nobody();
  if (found->session.seen_at < instant_after(now, -kNoteUseAgain_s)) {
    LINTEL_TRY_VOID(practice.database->write(
        [&](Transaction& t) { return store::touch_session(t, found->session.id, now); }));
  }
  Caller caller = caller_of(found->account);
  caller.session = found->session.id;
  caller.write_token = csrf_token_of(cookie);
  caller.peer = std::string(peer);
  return caller;
}

Result<Caller> caller_by_token(Practice& practice, std::string_view bearer, std::string_view peer) {
  const std::string now = practice.now();
  const std::string digest = secure::secret_digest(bearer);
  const auto found = LINTEL_TRY(store::read_value<std::optional<store::TokenWithAccount>>(
      *practice.database, [&](Transaction& t) { return store::find_token(t, digest, now); }));
  if (!found) return Caller::nobody();
  Caller caller = caller_of(found->account);
  for (const std::string& scope : found->token.scopes) {
    if (const auto permission = permission_from(scope)) caller.scopes.push_back(*permission);
  }
  // No scope means all of the role; scopes that a later program no longer knows must not.
  if (caller.scopes.empty() && !found->token.scopes.empty()) return Caller::nobody();
  if (found->token.used_at < instant_after(now, -kNoteUseAgain_s)) {
    LINTEL_TRY_VOID(practice.database->write(
        [&](Transaction& t) { return store::touch_token(t, found->token.id, now); }));
  }
  caller.session = found->token.id;
  caller.by_token = true;
  caller.peer = std::string(peer);
  return caller;
}

// What a new organization is made of, checked and hashed, before anything is written.
struct Founding {
  view::Account owner;
  std::string organization_name, passphrase_hash;
  NewSession session;
};

Result<Founding> prepare_founding(const Practice& practice, const NewOwner& owner) {
  Founding founding;
  view::Account& account = founding.owner;
  account.name = LINTEL_TRY(checked_name(owner.name, "name"));
  founding.organization_name = LINTEL_TRY(checked_name(owner.organization, "organization"));
  account.login = LINTEL_TRY(checked_login(!owner.login.empty()   ? owner.login
                                           : !owner.email.empty() ? owner.email
                                                                  : account.name));
  LINTEL_TRY_VOID(check_account_passphrase(
      owner.passphrase, {account.login, account.name, founding.organization_name}));
  founding.passphrase_hash =
      LINTEL_TRY(secure::hash_passphrase(owner.passphrase, practice.passphrase_cost));
  account.person = secure::random_id();
  account.organization = secure::random_id();
  account.role = std::string(role_name(Role::Owner));
  account.created_at = account.changed_at = practice.now();
  founding.session = new_session(account, account.created_at, owner.peer);
  return founding;
}

enum class Which : std::uint8_t { OnlyTheFirst, AnyMore };

Result<void> write_founding(Transaction& t, const Practice& practice, const Founding& founding,
                            Which which) {
  const view::Account& owner = founding.owner;
  // The trail's head is a lock between writers: what is counted below stays so.
  LINTEL_TRY_VOID(note_change(t, practice, founding.session.signed_in.caller,
                              {"organization_founded", owner.organization}));
  if (which == Which::OnlyTheFirst && LINTEL_TRY(store::count_accounts(t)) > 0) {
    return fail(ErrorCode::Conflict, "this workplace has an owner already", "sign in instead");
  }
  const store::Author author{owner.person, owner.created_at};
  store::NewRecord organization;
  organization.kind = store::RecordKind::Organization;
  organization.id = organization.organization = owner.organization;
  organization.document = formats::write_organization_document(founding.organization_name);
  LINTEL_TRY(store::insert_record(t, organization, author));
  store::NewRecord person;
  person.kind = store::RecordKind::Practitioner;
  person.id = owner.person;
  person.organization = owner.organization;
  person.document = formats::write_practitioner_document(owner.name, owner.role);
  LINTEL_TRY(store::insert_record(t, person, author));
  LINTEL_TRY_VOID(store::insert_account(t, {owner, founding.passphrase_hash}));
  LINTEL_TRY_VOID(store::insert_session(t, founding.session.row));
  return store::note_sign_in(t, owner.person, owner.created_at);
}

Result<SignedIn> found(Practice& practice, const NewOwner& owner, Which which) {
  const Founding founding = LINTEL_TRY(prepare_founding(practice, owner));
  LINTEL_TRY_VOID(practice.database->write(
      [&](Transaction& t) { return write_founding(t, practice, founding, which); }));
  return founding.session.signed_in;
}

Result<OrganizationInfo> info_of(const store::Record& record) {
  OrganizationInfo info;
  info.id = record.id;
  info.name = LINTEL_TRY(formats::read_name_of_document(record.document));
  info.version = record.version;
  info.changed_at = record.changed_at;
  return info;
}

}  // namespace

Result<Caller> authenticate(Practice& practice, std::string_view cookie, std::string_view bearer,
                            std::string_view peer) {
  // With a bearer the cookie must not count: such a request needs no write token.
  if (!bearer.empty()) return caller_by_token(practice, bearer, peer);
  if (!cookie.empty()) return caller_by_cookie(practice, cookie, peer);
  return Caller::nobody();
}

std::string csrf_token_of(std::string_view cookie) {
  return secure::derived_secret(cookie, kWriteTokenPurpose);
}

bool csrf_token_fits(std::string_view cookie, std::string_view token) {
  return !cookie.empty() && secure::same_secret(csrf_token_of(cookie), token);
}

Result<bool> needs_owner(Practice& practice) {
  return store::read_value<bool>(*practice.database, [](Transaction& t) -> Result<bool> {
    return LINTEL_TRY(store::count_accounts(t)) == 0;
  });
}

Result<SignedIn> create_first_owner(Practice& practice, const NewOwner& owner) {
  if (!owner.loopback) {
    return fail(ErrorCode::Denied, "the first owner can only be made on the machine itself",
                "open Lintel on that machine at its own address (127.0.0.1)");
  }
  // Asked again inside the transaction; here it spares a useless hash.
  if (!LINTEL_TRY(needs_owner(practice))) {
    return fail(ErrorCode::Conflict, "this workplace has an owner already", "sign in instead");
  }
  return found(practice, owner, Which::OnlyTheFirst);
}

Result<SignedIn> found_organization(Practice& practice, const NewOwner& owner) {
  return found(practice, owner, Which::AnyMore);
}

Result<OrganizationInfo> organization_of(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::SignedIn));
  const store::Record record =
      LINTEL_TRY(store::read_value<store::Record>(*practice.database, [&](Transaction& t) {
        return store::find_record(t, caller.organization, caller.organization);
      }));
  return info_of(record);
}

Result<OrganizationInfo> rename_organization(Practice& practice, const Caller& caller,
                                             std::int64_t expected_version, std::string_view name) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  const std::string checked = LINTEL_TRY(checked_name(name, "name"));
  const std::string document = formats::write_organization_document(checked);
  const store::Author author{caller.person, practice.now()};
  const auto write = [&](Transaction& t) -> Result<store::Record> {
    const std::string& id = caller.organization;
    std::int64_t version = expected_version;
    if (version == 0) version = LINTEL_TRY(store::find_record(t, id, id)).version;
    store::Record changed =
        LINTEL_TRY(store::replace_record(t, id, version, document, {}, "", author));
    LINTEL_TRY_VOID(note_change(t, practice, caller, {"organization_changed", id}));
    return changed;
  };
  const store::Record record =
      LINTEL_TRY(store::write_value<store::Record>(*practice.database, write));
  return info_of(record);
}

Result<SessionInfo> session_info(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::SignedIn));
  const OrganizationInfo organization = LINTEL_TRY(organization_of(practice, caller));
  const auto row = LINTEL_TRY(store::read_value<std::optional<store::AccountRow>>(
      *practice.database, [&](Transaction& t) { return store::find_account(t, caller.person); }));
  if (!row) return fail(ErrorCode::NotFound, "there is no such person");
  SessionInfo info{row->account, organization.name, {}};
  for (int i = 1; i < kPermissionCount; ++i) {
    const auto permission = static_cast<Permission>(i);
    if (caller.has(permission)) info.permissions.emplace_back(permission_name(permission));
  }
  return info;
}

Result<Caller> caller_at_the_machine(Practice& practice, std::string_view organization) {
  const auto known = LINTEL_TRY(store::read_value<std::vector<std::string>>(
      *practice.database, [](Transaction& t) { return store::list_organizations(t); }));
  if (known.empty()) {
    return fail(ErrorCode::NotFound, "this workplace has no organization yet",
                "start \"lintel serve\", open it and create the owner");
  }
  Caller caller;
  caller.role = Role::Owner;
  caller.person = kPersonAtTheMachine;
  caller.name = caller.session = caller.peer = "cli";
  for (const std::string& id : known) {
    if (id == organization || (organization.empty() && known.size() == 1)) {
      caller.organization = id;
      return caller;
    }
  }
  return fail(
      ErrorCode::NotFound,
      organization.empty() ? "there are several organizations" : "there is no such organization",
      "name one by its id with --organization");
}

}  // namespace lintel::app
