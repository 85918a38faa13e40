// Plain data about people who sign in and about the audit trail, for the store that keeps it and
// the writers that print it. Times are ISO 8601 in UTC with milliseconds. No secret is in here.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lintel::view {

struct Account {
  std::string person;  // id of the practitioner's or the athlete's record
  std::string organization;
  std::string name, login, role;
  bool active = true;
  bool has_passphrase = false;  // false: invited, not yet taken up
  std::int64_t version = 1;
  std::string created_at, changed_at, signed_in_at;  // the last may be empty
};

// Somebody is signed in on a device. Nothing of the device is kept but its address.
struct OwnSession {
  std::string id;
  std::string created_at, seen_at;  // signed in; last used, to the minute
  std::string expires_at;           // at the latest
  std::string idle_until;           // unless it is used before
  std::string peer;                 // from where: the address
  bool current = false;             // the one that asks
};

struct ApiToken {
  std::string id, person, name;
  std::vector<std::string> scopes;              // names of permissions; empty = all of the role
  std::string created_at, expires_at, used_at;  // the last may be empty
};

struct AuditRow {
  std::int64_t sequence = 0;  // 1, 2, ... without gaps over the whole database
  std::string organization;   // may be empty: a sign-in with a login that nobody has
  std::string at;
  std::string person;   // who; empty = nobody was signed in, or the person at the machine
  std::string session;  // session or API token
  std::string peer;     // from where: the address, "cli" for the person at the machine
  std::string action;   // "record_seen", "record_changed", "sign_in", ...
  std::string record;   // which, may be empty
  std::string athlete;  // whose, may be empty
  std::string detail;   // one or two words of ours, never a name
  std::string previous_hash, hash;
};

struct AuditPage {
  std::vector<AuditRow> rows;  // the newest first
  std::string next;            // cursor; empty = that was all
};

struct ChainVerdict {
  std::int64_t rows = 0;  // that were checked
  bool whole = false;
  std::int64_t first_broken = 0;  // sequence of the first row that does not fit; 0 = none
  std::string fault;              // in plain words; empty = none
  std::int64_t head_sequence = 0;
  std::string head_hash;  // note it down: verifying later against it finds a chain made anew
};

}  // namespace lintel::view
