#include "support/store_fixture.h"

#include <cstdlib>
#include <iostream>

namespace lintel::test {

std::string engine_name(const ::testing::TestParamInfo<store::Engine>& engine) {
  return engine.param == store::Engine::Sqlite ? "Sqlite" : "Postgresql";
}

void StoreTest::SetUp() {
  folder_.emplace(scratch_folder());
  if (GetParam() == store::Engine::Sqlite) {
    url_ = "sqlite:" + (*folder_ / "lintel.db").string();
  } else {
    std::string why_not;
    server_ = PostgresServer::shared(why_not);
    if (server_ == nullptr) {
      std::cerr << "\n*** NOT TESTED OVER POSTGRESQL: " << why_not << " ***\n\n";
      ASSERT_EQ(std::getenv("LINTEL_NEED_POSTGRESQL"), nullptr) << why_not;
      GTEST_SKIP() << why_not;
    }
    url_ = server_->new_database();
  }
  open_again();
}

void StoreTest::TearDown() {
  database_.reset();
  folder_.reset();
}

void StoreTest::open_again() {
  database_.reset();
  database_ = expect_value(store::Database::open({url_}));
}

std::string StoreTest::ask_outside(const std::string& sql) const {
  if (server_ != nullptr) return server_->psql(url_, sql);
  const Ran ran = run_program({"/usr/bin/sqlite3", "-batch", url_.substr(7), sql});
  EXPECT_EQ(ran.status, 0) << ran.output;
  return ran.output;
}

Result<store::Record> StoreTest::in_transaction(
    const std::function<Result<store::Record>(store::Transaction&)>& body) {
  return open_ != nullptr ? body(*open_) : store::write_value<store::Record>(database(), body);
}

void StoreTest::in_one_transaction(const std::function<void()>& body) {
  const Result<void> done = database().write([&](store::Transaction& t) -> Result<void> {
    open_ = &t;
    body();
    open_ = nullptr;
    return {};
  });
  EXPECT_TRUE(done) << done.error();
}

std::string StoreTest::add_organization(const std::string& name) {
  return expect_value(
             store::write_value<store::Record>(database(),
                                               [&](store::Transaction& t) {
                                                 store::NewRecord record;
                                                 record.kind = store::RecordKind::Organization;
                                                 record.document = R"({"name":")" + name + R"("})";
                                                 return store::insert_record(t, record, {"", kNow});
                                               }))
      .id;
}

std::string StoreTest::add_athlete(const std::string& organization, const std::string& name) {
  return expect_value(
             store::write_value<store::Record>(
                 database(),
                 [&](store::Transaction& t) {
                   store::NewRecord record;
                   record.kind = store::RecordKind::Athlete;
                   record.organization = organization;
                   record.document = R"({"name":")" + name + R"("})";
                   record.index.athlete = store::AthleteRow{name, "1994-05-17", "female", {}};
                   return store::insert_record(t, record, {"", kNow});
                 }))
      .id;
}

}  // namespace lintel::test
