// For tests of whatever keeps its things in the store: each test runs over SQLite and PostgreSQL.
//
//   using AccountsTest = lintel::test::StoreTest;
//   LINTEL_BOTH_ENGINES(AccountsTest);
//   TEST_P(AccountsTest, KeepsTheLogin) { ... database().write(...) ... }
//
// In CMake: lintel_test(accounts_tests SOURCES accounts_test.cpp DEPENDS store store_fixture
//                       LABELS store AS_ONE)
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>

#include "store/database.h"
#include "store/records.h"
#include "support/postgres_server.h"
#include "support/temporary_folder.h"

namespace lintel::test {

inline constexpr const char* kNow = "2026-03-09T07:05:30.123Z";
inline constexpr const char* kToday = "2026-03-09";

class StoreTest : public ::testing::TestWithParam<store::Engine> {
 protected:
  void SetUp() override;
  void TearDown() override;

  store::Database& database() { return *database_; }
  const std::string& url() const { return url_; }
  const std::filesystem::path& folder() const { return folder_->path(); }  // of this test alone
  PostgresServer* server() const { return server_; }                       // nullptr on SQLite

  void open_again();  // closes and opens
  void close() { database_.reset(); }
  // Asks the engine by its own command line program (sqlite3 or psql).
  std::string ask_outside(const std::string& sql) const;

  // A write of its own, or a part of the one that is open: in_one_transaction makes a test with
  // hundreds of writes fast.
  Result<store::Record> in_transaction(
      const std::function<Result<store::Record>(store::Transaction&)>& body);
  void in_one_transaction(const std::function<void()>& body);

  // An organization, and an athlete in it; fails the test when that fails.
  std::string add_organization(const std::string& name);
  std::string add_athlete(const std::string& organization, const std::string& name);

 private:
  std::unique_ptr<store::Database> database_;
  std::string url_;
  std::optional<TemporaryFolder> folder_;
  PostgresServer* server_ = nullptr;
  store::Transaction* open_ = nullptr;
};

std::string engine_name(const ::testing::TestParamInfo<store::Engine>& engine);

#define LINTEL_BOTH_ENGINES(Suite)                                                             \
  INSTANTIATE_TEST_SUITE_P(                                                                    \
      Engines, Suite,                                                                          \
      ::testing::Values(::lintel::store::Engine::Sqlite, ::lintel::store::Engine::Postgresql), \
      ::lintel::test::engine_name)

// The value, or the test stops with the error in its output.
template <typename T>
T expect_value(Result<T> result) {
  if (!result) {
    ADD_FAILURE() << result.error();
    throw std::runtime_error("no value");
  }
  return std::move(result).value();
}

}  // namespace lintel::test
