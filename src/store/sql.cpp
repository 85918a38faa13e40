#include "store/sql.h"

#include <soci/postgresql/soci-postgresql.h>
#include <soci/sqlite3/soci-sqlite3.h>

namespace lintel::store {
namespace {

Error refused(ErrorCode code, std::string_view doing, std::string why, std::string mend = {}) {
  return Error{code, std::string(doing) + " failed: " + std::move(why), {}, std::move(mend), {}};
}

Error lost_connection(Transaction& t, std::string_view doing) {
  t.set_wish(Transaction::Wish::Reconnect);
  return refused(ErrorCode::Io, doing, "the database cannot be reached",
                 "check that the database server runs, then try again");
}

// Result codes: https://www.sqlite.org/rescode.html
Error sqlite_error(Transaction& t, int code, std::string_view doing) {
  const std::string number = " (SQLite " + std::to_string(code) + ")";
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      t.set_wish(Transaction::Wish::RunAgain);
      return refused(ErrorCode::Io, doing, "the database is busy" + number,
                     "try again in a moment");
    case SQLITE_CONSTRAINT:
      return refused(ErrorCode::Conflict, doing,
                     "it is there already, or it names something that is not there" + number);
    case SQLITE_FULL:
      return refused(ErrorCode::Io, doing, "the disk is full" + number, "make room on the disk");
    case SQLITE_READONLY:
      return refused(ErrorCode::Io, doing, "the database may only be read" + number,
                     "check the permissions of the data folder");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return refused(ErrorCode::Io, doing, "the database file is damaged" + number,
                     "restore the last backup");
    case SQLITE_TOOBIG:
      return refused(ErrorCode::Limit, doing, "a value is too long" + number);
    default:
      return refused(ErrorCode::Io, doing, "the database refused" + number);
  }
}

// Codes: PostgreSQL 15, appendix A.
Error postgresql_error(Transaction& t, const soci::postgresql_soci_error& error,
                       std::string_view doing) {
  // SOCI keeps spaces where the server gave no code: the connection broke.
  const std::string state = error.sqlstate();
  const std::string kind = state.substr(0, 2);
  const std::string number = " (SQLSTATE " + state + ")";
  if (kind == "08" || state == "57P01" || state == "57P02" || state == "57P03" ||
      state.find_first_not_of(' ') == std::string::npos ||
      error.get_error_category() == soci::soci_error::connection_error) {
    return lost_connection(t, doing);
  }
  if (kind == "40") {  // serialization failure, deadlock
    t.set_wish(Transaction::Wish::RunAgain);
    return refused(ErrorCode::Io, doing, "others wrote at the same time" + number,
                   "try again in a moment");
  }
  if (state == "55P03") {  // lock timeout
    return refused(ErrorCode::Io, doing, "the database is busy" + number, "try again in a moment");
  }
  if (kind == "23") {
    return refused(ErrorCode::Conflict, doing,
                   "it is there already, or it names something that is not there" + number);
  }
  if (kind == "22") {
    return refused(ErrorCode::Invalid, doing,
                   "a value holds what the database cannot keep" + number);
  }
  if (kind == "53") {
    return refused(ErrorCode::Io, doing, "the database server has no room left" + number,
                   "make room on the disk of the server, or allow it more connections");
  }
  if (state == "25006") {
    return refused(ErrorCode::Io, doing, "the database may only be read" + number);
  }
  return refused(ErrorCode::Io, doing, "the database refused" + number);
}

}  // namespace

Error error_of_sql(Transaction& t, const std::exception& error, std::string_view doing) {
  if (const auto* lite = dynamic_cast<const soci::sqlite3_soci_error*>(&error)) {
    return sqlite_error(t, lite->result(), doing);
  }
  if (const auto* postgres = dynamic_cast<const soci::postgresql_soci_error*>(&error)) {
    return postgresql_error(t, *postgres, doing);
  }
  if (const auto* other = dynamic_cast<const soci::soci_error*>(&error)) {
    // Thrown by SOCI itself: no connection, or a NULL that nobody expected.
    if (!t.sqlite() && (other->get_error_category() == soci::soci_error::connection_error ||
                        !t.session().is_connected())) {
      return lost_connection(t, doing);
    }
  }
  return refused(ErrorCode::Internal, doing, "the database answered in an unexpected way");
}

}  // namespace lintel::store
