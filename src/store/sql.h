// Inside of store/ only: how its files reach the SOCI session behind a Transaction.
//
//   return run_sql(t, "reading the account", [&](soci::session& sql) -> Result<Account> {
//     const std::string login(login_view);  // bind variables, never temporaries: SOCI keeps a
//     Account out;                          // reference, and temporaries die before it is used
//     sql << "SELECT id, COALESCE(email, '') FROM account WHERE login = :login",
//         soci::use(login, "login"), soci::into(out.id), soci::into(out.email);
//     if (!sql.got_data()) return fail(ErrorCode::NotFound, "there is no such account");
//     return out;
//   });
//
// Rules: every value is bound, and bound by name. `into` needs a value: COALESCE, or OptionalOut.
// After a statement failed PostgreSQL answers nothing more in this transaction: ask first (SELECT),
// or say ON CONFLICT DO NOTHING; don't try and catch. Numbers are std::int64_t or double.
#pragma once

#include <soci/soci.h>

#include <cstdint>
#include <exception>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>

#include "base/result.h"
#include "store/database.h"

namespace lintel::store {

class Transaction {
 public:
  // What the database wants done about the last error, besides reporting it.
  enum class Wish : std::uint8_t { Nothing, RunAgain, Reconnect };

  Transaction(soci::session& session, Engine engine) : session_(session), engine_(engine) {}
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;

  soci::session& session() { return session_; }
  Engine engine() const { return engine_; }
  bool sqlite() const { return engine_ == Engine::Sqlite; }
  Wish wish() const { return wish_; }
  void set_wish(Wish wish) { wish_ = wish; }

 private:
  soci::session& session_;
  Engine engine_;
  Wish wish_ = Wish::Nothing;
};

// An error for a person, without SQL, paths and values; notes in the transaction what to do.
Error error_of_sql(Transaction& t, const std::exception& error, std::string_view doing);

namespace detail {
template <typename T>
struct ResultOf {
  using type = Result<T>;
};
template <typename T>
struct ResultOf<Result<T>> {
  using type = Result<T>;
};
}  // namespace detail

// Runs body(soci::session&), which answers T, Result<T> or nothing, and turns what SOCI throws into
// an error. `doing` completes "the database failed while ...": "reading the account".
template <typename F>
auto run_sql(Transaction& t, std::string_view doing, F&& body) {
  using Answer = std::invoke_result_t<F&, soci::session&>;
  using Out = typename detail::ResultOf<Answer>::type;
  try {
    if constexpr (std::is_void_v<Answer>) {
      body(t.session());
      return Out{};
    } else {
      return Out(body(t.session()));
    }
  } catch (const soci::soci_error& error) {
    return Out(fail(error_of_sql(t, error, doing)));
  } catch (const std::bad_cast& error) {
    return Out(fail(error_of_sql(t, error, doing)));
  }
}

// How many rows a statement changed:
//   const std::int64_t rows = run_statement(sql, "UPDATE ...", soci::use(a, "a"), ...);
template <typename... Bindings>
std::int64_t run_statement(soci::session& sql, const std::string& text, Bindings&&... bindings) {
  soci::details::prepare_temp_type prepared(sql);
  prepared << text;
  ((void)(prepared, std::forward<Bindings>(bindings)), ...);
  soci::statement statement(prepared);
  statement.execute(true);
  return statement.get_affected_rows();
}

// A value that may be NULL, going in: OptionalIn<double> error(row.error);
//   sql << "... :error ...", error.use("error");
template <typename T>
class OptionalIn {
 public:
  explicit OptionalIn(const std::optional<T>& value)
      : value_(value.value_or(T{})), state_(value ? soci::i_ok : soci::i_null) {}
  // An empty text is NULL.
  static OptionalIn unless_empty(std::string_view text) {
    return OptionalIn(text.empty() ? std::nullopt : std::optional<T>(T(text)));
  }
  // A reference, because SOCI keeps one to the name until the end of the expression.
  auto use(const std::string& name) const { return soci::use(value_, state_, name); }

 private:
  T value_;
  mutable soci::indicator state_;  // SOCI takes it writable and leaves it as it is
};

// And coming out: OptionalOut<double> error;  sql << "SELECT ...", error.into();  error.get()
template <typename T>
class OptionalOut {
 public:
  auto into() { return soci::into(value_, state_); }
  std::optional<T> get() const {
    return state_ == soci::i_ok ? std::optional<T>(value_) : std::nullopt;
  }

 private:
  T value_{};
  soci::indicator state_ = soci::i_null;
};

}  // namespace lintel::store
