// Where one is signed in, and ending that.
#include <algorithm>

#include "app/account_rules.h"
#include "app/accounts.h"
#include "app/audit.h"
#include "base/instant.h"

namespace lintel::app {
namespace {

using store::Transaction;

Result<std::vector<store::SessionRow>> open_sessions(Transaction& t, const Caller& caller,
                                                     const std::string& now) {
  return store::list_sessions(t, caller.person, now,
                              instant_after(now, -static_cast<double>(kSessionIdle_s)));
}

}  // namespace

Result<std::vector<view::OwnSession>> list_own_sessions(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require_session(caller));
  using Rows = std::vector<store::SessionRow>;
  const std::string now = practice.now();
  const Rows rows = LINTEL_TRY(store::read_value<Rows>(
      *practice.database, [&](Transaction& t) { return open_sessions(t, caller, now); }));
  std::vector<view::OwnSession> sessions;
  for (const store::SessionRow& row : rows) {
    const std::string idle_until = instant_after(row.seen_at, static_cast<double>(kSessionIdle_s));
    sessions.push_back({row.id, row.created_at, row.seen_at, row.expires_at,
                        std::min(idle_until, row.expires_at), row.peer, row.id == caller.session});
  }
  return sessions;
}

Result<void> end_own_session(Practice& practice, const Caller& caller, std::string_view session) {
  LINTEL_TRY_VOID(require_session(caller));
  return practice.database->write([&](Transaction& t) -> Result<void> {
    if (!LINTEL_TRY(store::end_session_of(t, caller.person, session))) {
      return fail(ErrorCode::NotFound, "there is no such session", "look at the list again");
    }
    return note_change(t, practice, caller, {"session_ended", session});
  });
}

Result<std::int64_t> end_other_sessions(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require_session(caller));
  const std::string now = practice.now();
  const auto write = [&](Transaction& t) -> Result<std::int64_t> {
    // Each that was still open is a row of its own; what was over already is only swept out.
    std::int64_t ended = 0;
    for (const store::SessionRow& row : LINTEL_TRY(open_sessions(t, caller, now))) {
      if (row.id == caller.session) continue;
      LINTEL_TRY_VOID(note_change(t, practice, caller, {"session_ended", row.id}));
      ++ended;
    }
    LINTEL_TRY(store::end_sessions_of(t, caller.person, caller.session));
    return ended;
  };
  return store::write_value<std::int64_t>(*practice.database, write);
}

}  // namespace lintel::app
