// A small database of every released version must open. LINTEL_FREEZE_SCHEMA=vN writes that of
// today as schemas/vN.sqlite.sql and vN.postgresql.sql, by the engines' own programs.
#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>

#include "store/caseload_queries.h"
#include "store/migrations.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::StoreTest;

const std::filesystem::path kSchemas = LINTEL_SOURCE_DIR "/tests/store/schemas";
constexpr const char* kClub = "11111111-1111-4111-8111-111111111111";
constexpr const char* kAnsa = "22222222-2222-4222-8222-222222222222";
constexpr const char* kTests = "33333333-3333-4333-8333-333333333333";

class ReleasedSchemasTest : public StoreTest {
 protected:
  std::string ending() const { return server() != nullptr ? ".postgresql.sql" : ".sqlite.sql"; }
  // The few rows that every frozen database has.
  void fill() {
    ASSERT_TRUE(database().write([](Transaction& t) -> Result<void> {
      const Author runa{"runa", lintel::test::kNow};
      NewRecord club;
      club.kind = RecordKind::Organization;
      club.id = kClub;
      club.document = R"({"name":"Skarnholm"})";
      LINTEL_TRY_VOID(insert_record(t, club, runa));
      NewRecord ansa;
      ansa.id = kAnsa;
      ansa.organization = kClub;
      ansa.document = R"({"name":"Ansa Brinvik"})";
      ansa.index.athlete = AthleteRow{"Ansa Brinvik", "1994-05-17", "female", {"masters"}};
      LINTEL_TRY_VOID(insert_record(t, ansa, runa));
      LINTEL_TRY_VOID(
          replace_record(t, kAnsa, 1, R"({"name":"Ansa Brïnvik"})", ansa.index, "spelling", runa));
      NewRecord tests;
      tests.kind = RecordKind::TestRecord;
      tests.id = kTests;
      tests.organization = kClub;
      tests.athlete = tests.parent = kAnsa;
      tests.document = "{}";
      tests.index.date = "2026-03-09";
      tests.index.tests = {{"knee_to_wall_distance", "left", "2026-03-09", "cm", 9.5, 0.7}};
      LINTEL_TRY_VOID(insert_record(t, tests, runa));
      return refer_to_media(t, kTests, std::string(64, 'a'), 7, "image/png");
    }));
  }
  void freeze(const std::string& version) {
    fill();
    std::ofstream out(kSchemas / (version + ending()));
    out << (server() != nullptr ? server()->dump(url()) : ask_outside(".dump"));
    ASSERT_TRUE(out.flush());
  }
  // A new database out of such a file.
  std::string load(const std::filesystem::path& file) {
    if (server() != nullptr) {
      const std::string url = server()->new_database();
      server()->psql(url, "\\i " + file.string());
      return url;
    }
    const std::string path = (folder() / file.stem()).string() + ".db";
    const lintel::test::Ran ran =
        lintel::test::run_program({"/usr/bin/sqlite3", "-batch", path, ".read " + file.string()});
    EXPECT_EQ(ran.status, 0) << ran.output;
    return "sqlite:" + path;
  }
};
LINTEL_BOTH_ENGINES(ReleasedSchemasTest);

TEST_P(ReleasedSchemasTest, OpenWithAllTheirRows) {
  if (const char* version = std::getenv("LINTEL_FREEZE_SCHEMA")) freeze(version);
  int found = 0;
  for (const auto& entry : std::filesystem::directory_iterator(kSchemas)) {
    if (!entry.path().string().ends_with(ending())) continue;
    ++found;
    const auto opened = Database::open({load(entry.path())});
    ASSERT_TRUE(opened) << entry.path() << ": " << opened.error();
    EXPECT_EQ(expect_value(applied_migrations(**opened)).size(), embedded_migrations().size());
    ASSERT_TRUE((*opened)->check_integrity());
    const Result<void> kept = (*opened)->read([](Transaction& t) -> Result<void> {
      LINTEL_TRY_VOID(check_records(t));
      EXPECT_EQ(LINTEL_TRY(record_versions(t, kClub, kAnsa)).size(), 2u);
      EXPECT_EQ(LINTEL_TRY(find_record(t, kClub, kAnsa)).document, R"({"name":"Ansa Brïnvik"})");
      EXPECT_EQ(LINTEL_TRY(athlete_trends(t, kClub, kAnsa)).size(), 1u);
      EXPECT_EQ(LINTEL_TRY(referenced_media(t)).size(), 1u);
      const CaseloadQuery query{kClub, CaseloadView::All, lintel::test::kToday, "brin", "masters"};
      EXPECT_EQ(LINTEL_TRY(list_caseload(t, query, {})).rows.size(), 1u);
      return {};
    });
    EXPECT_TRUE(kept) << kept.error();
    // And it can be written to, the library that later versions brought too.
    EXPECT_TRUE((*opened)->write([](Transaction& t) -> Result<void> {
      NewRecord drill;
      drill.kind = RecordKind::Drill;
      drill.organization = kClub;
      drill.name = "quay-calf";
      drill.document = "{}";
      LINTEL_TRY_VOID(insert_record(t, drill, {"runa", lintel::test::kNow}));
      return erase_athlete(t, kClub, kAnsa).map([](const Erased&) {});
    }));
  }
  EXPECT_GT(found, 0) << "no frozen schema in " << kSchemas;
}

}  // namespace
}  // namespace lintel::store
