#include "store/database.h"

#include <gtest/gtest.h>

#include <fstream>
#include <thread>

#include "store/migrations.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::StoreTest;

// Databases that are opened with migrations of the test's own.
class MigrationsTest : public StoreTest {
 protected:
  // Another empty database of the same engine.
  std::string another() {
    const std::string name = "another" + std::to_string(++databases_) + ".db";
    return server() != nullptr ? server()->new_database() : "sqlite:" + (folder() / name).string();
  }
  std::string ask(const std::string& url, const std::string& sql) const {
    if (server() != nullptr) return server()->psql(url, sql);
    return lintel::test::run_program({"/usr/bin/sqlite3", url.substr(7), sql}).output;
  }

 private:
  int databases_ = 0;
};
LINTEL_BOTH_ENGINES(MigrationsTest);

Migration a_table(int version, const std::string& name) {
  return {version, name, "CREATE TABLE " + name + " (id {bigint} NOT NULL){strict};\n"};
}

TEST_P(MigrationsTest, NotesEachOneWithItsDigest) {
  const std::vector<AppliedMigration> applied = expect_value(applied_migrations(database()));
  const std::vector<Migration> known = embedded_migrations();
  ASSERT_EQ(applied.size(), known.size());
  for (std::size_t i = 0; i < known.size(); ++i) {
    EXPECT_EQ(applied[i].version, static_cast<int>(i) + 1);  // numbered without gaps
    // The digest as another program has it.
    const std::string file = LINTEL_SOURCE_DIR "/src/store/migrations/" + known[i].name + ".sql";
    EXPECT_EQ(lintel::test::run_program({"/usr/bin/sha256sum", file}).output.substr(0, 64),
              applied[i].sha256);
  }
}

TEST_P(MigrationsTest, AppliesOnlyWhatIsMissing) {
  const std::string url = another();
  const std::vector<Migration> all{a_table(1, "first"), a_table(2, "second"), a_table(3, "third")};
  ASSERT_TRUE(open_with_migrations({url}, std::span(all).first(1)));
  ask(url, "INSERT INTO first (id) VALUES (17)");
  ASSERT_TRUE(open_with_migrations({url}, all));
  ASSERT_TRUE(open_with_migrations({url}, all));  // again: nothing to do
  EXPECT_EQ(ask(url, "SELECT id FROM first"), "17\n");
  EXPECT_EQ(ask(url, "SELECT COUNT(*) FROM second"), "0\n");
  EXPECT_EQ(ask(url, "SELECT COUNT(*) FROM schema_migration"), "3\n");
}

TEST_P(MigrationsTest, EveryOlderSchemaBecomesTheNewestWithItsRows) {
  const std::vector<Migration> all = embedded_migrations();
  for (std::size_t known = 1; known < all.size(); ++known) {
    const std::string url = another();
    std::string club;
    {
      const std::unique_ptr<Database> old =
          expect_value(open_with_migrations({url}, std::span(all).first(known)));
      ASSERT_TRUE(old->write([&](Transaction& t) -> Result<void> {
        NewRecord record;
        record.kind = RecordKind::Organization;
        record.document = R"({"name":"Skarnholm"})";
        club = LINTEL_TRY(insert_record(t, record, {"", lintel::test::kNow})).id;
        return {};
      }));
    }
    const std::unique_ptr<Database> now = expect_value(Database::open({url}));
    const Record kept = expect_value(
        read_value<Record>(*now, [&](Transaction& t) { return find_record(t, club, club); }));
    EXPECT_EQ(kept.document, R"({"name":"Skarnholm"})");
    EXPECT_TRUE(now->check_integrity());
  }
}

TEST_P(MigrationsTest, CopiesASqliteFileBeforeItChangesTheSchema) {
  if (server() != nullptr) GTEST_SKIP() << "a server is backed up by its keeper";
  const std::string url = another();
  const std::vector<Migration> all{a_table(1, "first"), a_table(2, "second")};
  ASSERT_TRUE(open_with_migrations({url}, std::span(all).first(1)));
  ask(url, "INSERT INTO first (id) VALUES (17)");
  const std::string copy = url.substr(7) + ".schema-1.copy";
  EXPECT_FALSE(std::filesystem::exists(copy));
  ASSERT_TRUE(open_with_migrations({url}, all));
  EXPECT_EQ(ask("sqlite:" + copy, "SELECT id FROM first"), "17\n");
  EXPECT_EQ(ask("sqlite:" + copy, "SELECT COUNT(*) FROM sqlite_master WHERE name = 'second'"),
            "0\n");
  EXPECT_EQ(std::filesystem::status(copy).permissions(),
            std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
}

TEST_P(MigrationsTest, RefusesANewerSchemaAndTouchesNothing) {
  const std::string url = another();
  const std::vector<Migration> all{a_table(1, "first"), a_table(2, "second")};
  ASSERT_TRUE(open_with_migrations({url}, all));
  const auto older = open_with_migrations({url}, std::span(all).first(1));
  ASSERT_FALSE(older);
  EXPECT_EQ(older.error().code, ErrorCode::Unsupported);
  EXPECT_NE(older.error().message.find("version 2"), std::string::npos) << older.error();
  EXPECT_NE(older.error().message.find("up to 1"), std::string::npos) << older.error();
  EXPECT_FALSE(older.error().mend.empty());
}

TEST_P(MigrationsTest, RefusesOneThatWasEditedOrLeftOut) {
  const std::string url = another();
  std::vector<Migration> all{a_table(1, "first"), a_table(2, "second"), a_table(3, "third")};
  ASSERT_TRUE(open_with_migrations({url}, std::vector<Migration>{all[0], all[2]}));
  EXPECT_EQ(open_with_migrations({url}, all).error().code, ErrorCode::Conflict);
  all = {all[0], all[2]};
  all[0].text += "-- a word more\n";
  const auto edited = open_with_migrations({url}, all);
  ASSERT_FALSE(edited);
  EXPECT_EQ(edited.error().code, ErrorCode::Conflict);
  EXPECT_NE(edited.error().message.find("first"), std::string::npos) << edited.error();
}

TEST_P(MigrationsTest, OneThatFailsLeavesNoTrace) {
  const std::string url = another();
  std::vector<Migration> all{a_table(1, "first"), a_table(2, "second")};
  all[1].text += "CREATE TABLE second (id {bigint});\n";  // there already
  const auto failed = open_with_migrations({url}, all);
  ASSERT_FALSE(failed);
  EXPECT_NE(failed.error().message.find("second"), std::string::npos) << failed.error();
  EXPECT_EQ(failed.error().message.find("CREATE"), std::string::npos);
  EXPECT_EQ(ask(url, "SELECT COUNT(*) FROM schema_migration"), "1\n");
  all[1] = a_table(2, "second");
  EXPECT_TRUE(open_with_migrations({url}, all));
}

TEST_P(MigrationsTest, ManyOpenersAtOnceApplyEachOneOnce) {
  const std::string url = another();
  std::vector<std::thread> threads;
  for (int i = 0; i < 6; ++i) {
    threads.emplace_back([&] {
      const auto opened = Database::open({url});
      EXPECT_TRUE(opened) << opened.error();
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(ask(url, "SELECT COUNT(*) FROM schema_migration"),
            std::to_string(embedded_migrations().size()) + "\n");
}

TEST(Migrations, StatementsComeInTheWordsOfTheEngine) {
  const Migration migration{1, "001_words",
                            "-- A comment; with a semicolon.\n"
                            "CREATE TABLE a (id {identity},\n"
                            "  n {bigint}, x {real}, t {text}) {strict};\n"
                            "CREATE INDEX i ON a (n);\n\n"
                            "{sqlite}CREATE TRIGGER g BEFORE DELETE ON a\nBEGIN\n"
                            "  SELECT RAISE(ABORT, 'no');\nEND;\n"
                            "{postgresql}CREATE FUNCTION f() RETURNS trigger AS $$\nBEGIN\n"
                            "  RAISE EXCEPTION 'no';\nEND;\n$$ LANGUAGE plpgsql;\n"
                            "DROP TABLE a;\n"};
  const std::vector<std::string> lite = expect_value(statements_of(migration, Engine::Sqlite));
  ASSERT_EQ(lite.size(), 4u);
  EXPECT_EQ(lite[0],
            "CREATE TABLE a (id INTEGER PRIMARY KEY AUTOINCREMENT,\n"
            "  n INTEGER, x REAL, t TEXT)  STRICT;");
  EXPECT_EQ(lite[2],
            "CREATE TRIGGER g BEFORE DELETE ON a\nBEGIN\n  SELECT RAISE(ABORT, 'no');\nEND;");
  const std::vector<std::string> big = expect_value(statements_of(migration, Engine::Postgresql));
  ASSERT_EQ(big.size(), 4u);
  EXPECT_NE(big[0].find("n BIGINT, x DOUBLE PRECISION, t TEXT COLLATE \"C\")"), std::string::npos);
  EXPECT_TRUE(big[2].ends_with("$$ LANGUAGE plpgsql;"));
  EXPECT_EQ(big[3], "DROP TABLE a;");
  EXPECT_FALSE(statements_of({1, "001_typo", "CREATE TABLE a (n {bigit});\n"}, Engine::Sqlite));
}

TEST(DatabaseUrl, OfNeitherEngineIsRefusedByName) {
  for (const char* url : {"", "lintel.db", "mysql://host/x", "sqlite:", "sqlite:/tmp/"}) {
    const auto opened = Database::open({url});
    ASSERT_FALSE(opened) << url;
    EXPECT_EQ(opened.error().code, ErrorCode::Invalid) << url;
    EXPECT_EQ(opened.error().place.field, "database") << url;
    EXPECT_FALSE(opened.error().mend.empty()) << url;
  }
}

TEST(DatabaseUrl, WithSpacesQuotesAndLettersOfAllKindsIsOneFile) {
  const lintel::test::TemporaryFolder folder;
  for (const char* name : {"my records.db", "it's = mine;.db", "größe 中.db", "a  b.db"}) {
    ASSERT_TRUE(Database::open({"sqlite:" + (folder / name).string()})) << name;
    EXPECT_TRUE(std::filesystem::exists(folder / name)) << name;
    EXPECT_EQ(std::filesystem::status(folder / name).permissions(),
              std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
  }
  EXPECT_EQ(Database::open({"sqlite:" + (folder / "a\"b.db").string()}).error().code,
            ErrorCode::Invalid);
}

TEST(DatabaseFiles, ThatCannotBeReadAreToldWithoutTheirPath) {
  const lintel::test::TemporaryFolder folder;
  const auto missing = Database::open({"sqlite:" + (folder / "no/such/folder.db").string()});
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().code, ErrorCode::Io);
  EXPECT_EQ(describe(missing.error()).find(folder.path().string()), std::string::npos);
  lintel::test::write_bytes(folder / "text.db", std::string(5000, 'x'));
  const auto text = Database::open({"sqlite:" + (folder / "text.db").string()});
  ASSERT_FALSE(text);
  EXPECT_EQ(text.error().code, ErrorCode::Io);
  EXPECT_NE(text.error().mend.find("backup"), std::string::npos) << text.error();
  EXPECT_EQ(Database::open({"postgresql:///x?host=/no/such/folder"}).error().code, ErrorCode::Io);
}

TEST(DatabaseFiles, DamageIsFoundByTheIntegrityCheck) {
  const lintel::test::TemporaryFolder folder;
  const std::string file = (folder / "lintel.db").string();
  {
    const auto database = expect_value(Database::open({"sqlite:" + file}));
    ASSERT_TRUE(database->write([](Transaction& t) -> Result<void> {
      for (int i = 0; i < 200; ++i) {
        NewRecord record;
        record.kind = RecordKind::Organization;
        record.document = std::string(500, static_cast<char>('a' + i % 26));
        LINTEL_TRY_VOID(insert_record(t, record, {"", lintel::test::kNow}));
      }
      return {};
    }));
    ASSERT_TRUE(database->check_integrity());
    ASSERT_TRUE(database->forget_deleted());  // all into the file itself
  }
  // A page of an index, turned round.
  const std::string root = lintel::test::run_program({"/usr/bin/sqlite3", file,
                                                      "SELECT rootpage FROM sqlite_master WHERE "
                                                      "name = 'records_of_organization'"})
                               .output;
  std::string bytes = lintel::test::file_bytes(file);
  const std::size_t page = (std::stoul(root) - 1) * 4096;
  for (std::size_t i = page + 200; i < page + 4096; ++i) bytes[i] = static_cast<char>(~bytes[i]);
  lintel::test::write_bytes(file, bytes);
  const auto database = Database::open({"sqlite:" + file});
  ASSERT_TRUE(database) << database.error();
  const Result<void> checked = (*database)->check_integrity();
  ASSERT_FALSE(checked);
  EXPECT_NE(checked.error().mend.find("backup"), std::string::npos);
}

TEST_P(MigrationsTest, BrokenForeignKeysAreFoundByTheIntegrityCheck) {
  const std::string club = add_organization("Skarnholm");
  add_athlete(club, "Ansa Brinvik");
  ASSERT_TRUE(database().check_integrity());
  if (server() == nullptr) {
    ask_outside("PRAGMA foreign_keys = OFF; DELETE FROM records WHERE kind = 'athlete'");
  } else {
    ask_outside(
        "SET session_replication_role = replica; DELETE FROM records"
        " WHERE kind = 'athlete'");
  }
  const Result<void> checked = database().check_integrity();
  ASSERT_FALSE(checked);
  EXPECT_EQ(checked.error().code, ErrorCode::Invalid);
  EXPECT_NE(checked.error().message.find("athletes"), std::string::npos) << checked.error();
}

TEST_P(MigrationsTest, IsAsDurableAsItSays) {
  if (server() != nullptr) {
    const auto setting = [&](const char* name) { return ask_outside(std::string("SHOW ") + name); };
    EXPECT_EQ(setting("synchronous_commit"), "on\n");
    return;
  }
  EXPECT_EQ(ask_outside("PRAGMA journal_mode"), "wal\n");  // kept in the file
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND sql NOT LIKE"
                        " '%STRICT%' AND name NOT LIKE 'sqlite_%'"),
            "0\n");
}

}  // namespace
}  // namespace lintel::store
