// People: added, changed, invited.
#include "app/account_rules.h"
#include "app/accounts.h"
#include "app/audit.h"
#include "formats/account_json.h"
#include "secure/random.h"
#include "secure/token.h"
#include "store/records.h"

namespace lintel::app {
namespace {

using store::AccountRow;
using store::Transaction;

// "role reviewer", ", inactive": what stands in the audit trail.
std::string audit_detail(const view::Account& account) {
  return "role " + account.role + (account.active ? "" : ", inactive");
}

AuditNote note_of(std::string_view action, const view::Account& account, std::string_view detail) {
  const bool athlete = account.role == role_name(Role::Athlete);
  return {action, account.person, athlete ? std::string_view(account.person) : "", detail};
}

Error no_such_person() {
  return Error{ErrorCode::NotFound, "there is no such person", {}, "go back to the list", {}};
}

// Errors: NotFound for somebody of another organization.
Result<AccountRow> account_in(Transaction& t, std::string_view organization,
                              std::string_view person) {
  auto row = LINTEL_TRY(store::find_account(t, person));
  if (!row || row->account.organization != organization) return fail(no_such_person());
  return *std::move(row);
}

// The record that an account stands for: an athlete's must be there, a practitioner's is made.
Result<void> write_person_record(Transaction& t, const view::Account& account, Role role,
                                 const store::Author& author) {
  if (role == Role::Athlete) {
    const Result<store::Record> record =
        store::find_record(t, account.organization, account.person);
    if (!record && record.error().code != ErrorCode::NotFound) return fail(record.error());
    if (!record || record->kind != store::RecordKind::Athlete) {
      Error error{
          ErrorCode::NotFound, "there is no such athlete", {}, "choose one of the list", {}};
      error.place.field = "athlete";
      return fail(error);
    }
    return {};
  }
  store::NewRecord record;
  record.kind = store::RecordKind::Practitioner;
  record.id = account.person;
  record.organization = account.organization;
  record.document = formats::write_practitioner_document(account.name, account.role);
  LINTEL_TRY(store::insert_record(t, record, author));
  return {};
}

Result<void> renew_person_record(Transaction& t, const view::Account& account,
                                 const store::Author& author) {
  if (account.role == role_name(Role::Athlete)) return {};
  const store::Record record =
      LINTEL_TRY(store::find_record(t, account.organization, account.person));
  std::string document = formats::write_practitioner_document(account.name, account.role);
  if (document == record.document) return {};
  LINTEL_TRY(
      store::replace_record(t, record.id, record.version, std::move(document), {}, "", author));
  return {};
}

// What a change does besides the columns of the account.
struct Effects {
  std::string new_hash;
  std::optional<NewInvitation> invitation;
  bool end_sessions = false, end_tokens = false;
};

Result<void> apply_role(view::Account& account, Role role) {
  const Role old = role_from(account.role).value_or(Role::Athlete);
  if (old != role && (old == Role::Athlete || role == Role::Athlete)) {
    return fail(invalid_field("role", "an athlete's account stays one, and no other becomes one",
                              "add a new person with that role"));
  }
  account.role = std::string(role_name(role));
  return {};
}

Result<void> apply_change(AccountRow& row, const PersonChange& change, Effects& effects) {
  view::Account& account = row.account;
  if (change.name) account.name = LINTEL_TRY(checked_name(*change.name, "name"));
  if (change.login) account.login = LINTEL_TRY(checked_login(*change.login));
  if (change.role) LINTEL_TRY_VOID(apply_role(account, *change.role));
  if (change.active) account.active = *change.active;
  if (change.expected_version > 0) account.version = change.expected_version;
  if (!effects.new_hash.empty() || effects.invitation) {
    row.passphrase_hash = effects.new_hash;
    effects.end_sessions = effects.end_tokens = true;
  }
  if (!account.active) effects.end_sessions = effects.end_tokens = true;
  return {};
}

Result<void> write_change(Transaction& t, const Practice& practice, const Caller& caller,
                          const AccountRow& row, const Effects& effects) {
  const view::Account& account = row.account;
  LINTEL_TRY_VOID(store::update_account(t, row));
  LINTEL_TRY_VOID(renew_person_record(t, account, {caller.person, account.changed_at}));
  if (effects.end_sessions) LINTEL_TRY(store::end_sessions_of(t, account.person));
  if (effects.end_tokens) LINTEL_TRY_VOID(store::remove_tokens_of(t, account.person));
  if (!effects.new_hash.empty() || !account.active) {
    LINTEL_TRY_VOID(store::remove_invitation_of(t, account.person));
  }
  if (effects.invitation) LINTEL_TRY_VOID(store::put_invitation(t, effects.invitation->row));
  if (!effects.new_hash.empty() || effects.invitation) {
    LINTEL_TRY_VOID(store::clear_attempts(t, login_attempts_key(account.login)));
  }
  std::string detail = audit_detail(account);
  if (!effects.new_hash.empty() || effects.invitation) detail += ", passphrase reset";
  LINTEL_TRY_VOID(note_change(t, practice, caller, note_of("person_changed", account, detail)));
  // After the trail's lock is held, so that two owners cannot both go.
  if (LINTEL_TRY(store::count_active_owners(t, account.organization)) == 0) {
    return fail(ErrorCode::Conflict, "the organization would be left without an owner",
                "make somebody else an owner first");
  }
  return {};
}

Result<view::Account> account_to_add(const Practice& practice, const Caller& caller,
                                     const NewPerson& person) {
  view::Account account;
  account.name = LINTEL_TRY(checked_name(person.name, "name"));
  account.login = LINTEL_TRY(checked_login(person.login.empty() ? account.name : person.login));
  if ((person.role == Role::Athlete) == person.athlete.empty()) {
    return fail(invalid_field(
        "athlete",
        person.athlete.empty() ? "an account with the role athlete belongs to an athlete's record"
                               : "only an account with the role athlete belongs to an athlete",
        "choose the athlete, or another role"));
  }
  account.person = person.athlete.empty() ? secure::random_id() : person.athlete;
  account.organization = caller.organization;
  account.role = std::string(role_name(person.role));
  account.created_at = account.changed_at = practice.now();
  account.has_passphrase = !person.passphrase.empty();
  return account;
}

}  // namespace

Result<PersonWithInvitation> add_person(Practice& practice, const Caller& caller,
                                        const NewPerson& person) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  const view::Account account = LINTEL_TRY(account_to_add(practice, caller, person));
  PersonWithInvitation out{account, "", ""};
  std::string hash;
  std::optional<NewInvitation> invitation;
  if (person.passphrase.empty()) {
    invitation = new_invitation(account.person, account.created_at);
    out.invitation = invitation->secret;
    out.invitation_expires_at = invitation->row.expires_at;
  } else {
    LINTEL_TRY_VOID(check_account_passphrase(person.passphrase, {account.login, account.name}));
    hash = LINTEL_TRY(secure::hash_passphrase(person.passphrase, practice.passphrase_cost));
  }
  const std::string detail = audit_detail(account);
  const auto write = [&](Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(
        write_person_record(t, account, person.role, {caller.person, account.created_at}));
    LINTEL_TRY_VOID(store::insert_account(t, {account, hash}));
    if (invitation) LINTEL_TRY_VOID(store::put_invitation(t, invitation->row));
    return note_change(t, practice, caller, note_of("person_added", account, detail));
  };
  LINTEL_TRY_VOID(practice.database->write(write));
  return out;
}

Result<std::vector<view::Account>> list_people(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  return store::read_value<std::vector<view::Account>>(*practice.database, [&](Transaction& t) {
    return store::list_accounts(t, caller.organization);
  });
}

Result<view::Account> find_person(Practice& practice, const Caller& caller,
                                  std::string_view person) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  return store::read_value<view::Account>(
      *practice.database, [&](Transaction& t) -> Result<view::Account> {
        return LINTEL_TRY(account_in(t, caller.organization, person)).account;
      });
}

Result<view::Account> find_person_by_login(Practice& practice, const Caller& caller,
                                           std::string_view login) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  return store::read_value<view::Account>(
      *practice.database, [&](Transaction& t) -> Result<view::Account> {
        const auto row = LINTEL_TRY(store::find_account_by_login(t, login_form(login)));
        if (!row || row->account.organization != caller.organization) return fail(no_such_person());
        return row->account;
      });
}

Result<PersonWithInvitation> change_person(Practice& practice, const Caller& caller,
                                           std::string_view person, const PersonChange& change) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  const view::Account before = LINTEL_TRY(find_person(practice, caller, person));
  const std::string now = practice.now();
  Effects prepared;
  if (!change.passphrase.empty()) {
    LINTEL_TRY_VOID(require_session(caller));
    LINTEL_TRY_VOID(check_account_passphrase(change.passphrase, {before.login, before.name}));
    prepared.new_hash =
        LINTEL_TRY(secure::hash_passphrase(change.passphrase, practice.passphrase_cost));
  } else if (change.reset_passphrase) {
    LINTEL_TRY_VOID(require_session(caller));
    prepared.invitation = new_invitation(person, now);
  }
  PersonWithInvitation out;
  const auto write = [&](Transaction& t) -> Result<view::Account> {
    AccountRow row = LINTEL_TRY(account_in(t, caller.organization, person));
    Effects effects = prepared;
    LINTEL_TRY_VOID(apply_change(row, change, effects));
    row.account.changed_at = now;
    LINTEL_TRY_VOID(write_change(t, practice, caller, row, effects));
    return LINTEL_TRY(account_in(t, caller.organization, person)).account;
  };
  out.account = LINTEL_TRY(store::write_value<view::Account>(*practice.database, write));
  if (prepared.invitation) {
    out.invitation = prepared.invitation->secret;
    out.invitation_expires_at = prepared.invitation->row.expires_at;
  }
  return out;
}

// ---- Invitations

namespace {

struct Invited {
  AccountRow account;
  std::string organization_name, expires_at;
};

Result<Invited> find_invited(Transaction& t, std::string_view secret, std::string_view now) {
  const auto invitation = LINTEL_TRY(store::find_invitation(t, secure::secret_digest(secret), now));
  const auto row = invitation ? LINTEL_TRY(store::find_account(t, invitation->person))
                              : std::optional<AccountRow>();
  if (!row) {
    return fail(ErrorCode::NotFound, "this invitation is not valid any more",
                "ask the person who sent it for a new one");
  }
  const std::string& organization = row->account.organization;
  const store::Record record = LINTEL_TRY(store::find_record(t, organization, organization));
  return Invited{*row, LINTEL_TRY(formats::read_name_of_document(record.document)),
                 invitation->expires_at};
}

}  // namespace

Result<InvitationInfo> look_at_invitation(Practice& practice, std::string_view secret) {
  const std::string now = practice.now();
  const Invited invited = LINTEL_TRY(store::read_value<Invited>(
      *practice.database, [&](Transaction& t) { return find_invited(t, secret, now); }));
  return InvitationInfo{invited.account.account.name, invited.account.account.login,
                        invited.organization_name, invited.expires_at};
}

Result<SignedIn> accept_invitation(Practice& practice, std::string_view secret,
                                   std::string_view passphrase, std::string_view peer) {
  const std::string now = practice.now();
  const Invited invited = LINTEL_TRY(store::read_value<Invited>(
      *practice.database, [&](Transaction& t) { return find_invited(t, secret, now); }));
  const view::Account& account = invited.account.account;
  LINTEL_TRY_VOID(check_account_passphrase(
      passphrase, {account.login, account.name, invited.organization_name}));
  const std::string hash =
      LINTEL_TRY(secure::hash_passphrase(passphrase, practice.passphrase_cost));
  const NewSession session = new_session(account, now, peer);
  const auto write = [&](Transaction& t) -> Result<void> {
    // Read again: of two that come at once, one finds it used up.
    AccountRow row = LINTEL_TRY(find_invited(t, secret, now)).account;
    row.passphrase_hash = hash;
    row.account.changed_at = now;
    LINTEL_TRY_VOID(store::update_account(t, row));
    LINTEL_TRY_VOID(store::remove_invitation_of(t, account.person));
    LINTEL_TRY_VOID(store::insert_session(t, session.row));
    LINTEL_TRY_VOID(store::note_sign_in(t, account.person, now));
    return note_change(t, practice, session.signed_in.caller,
                       note_of("invitation_accepted", account, ""));
  };
  LINTEL_TRY_VOID(practice.database->write(write));
  return session.signed_in;
}

}  // namespace lintel::app
