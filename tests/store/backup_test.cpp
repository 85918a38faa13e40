// Backups of a whole workplace: out of one engine, into any; refused when anything is wrong.
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <sstream>

#include "app/audit.h"
#include "app/backup.h"
#include "app/library.h"
#include "app/schedule.h"
#include "store/accounts.h"
#include "store/whole.h"
#include "support/filled_workplace.h"
#include "support/practice_fixture.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using test::expect_value;

constexpr secure::StreamFileOptions kQuick{1, 8, 64 * 1024};  // never for a person
constexpr const char* kWords = "kelp anchor winter bell";

// Every row of every table of a backup, as text.
using Rows = std::map<std::string, std::vector<std::string>>;

std::string text_of(const view::TableRow& row) {
  std::string out;
  for (const view::TableCell& cell : row) {
    if (const auto* whole = std::get_if<std::int64_t>(&cell)) out += std::to_string(*whole);
    if (const auto* text = std::get_if<std::string>(&cell)) out += "'" + *text + "'";
    if (const auto* real = std::get_if<double>(&cell)) {
      char bits[32];
      std::snprintf(bits, sizeof bits, "%a", *real);
      out += bits;
    }
    out += "|";
  }
  return out;
}

Rows rows_of(Practice& practice) {
  Rows out;
  const Result<void> done = practice.database->read([&](store::Transaction& t) -> Result<void> {
    const std::vector<view::TableShape> tables = expect_value(store::whole_tables(t));
    for (const view::TableShape& table : tables) {
      std::vector<std::string>& rows = out[table.name];
      LINTEL_TRY_VOID(store::dump_table(t, table, [&](const view::TableRow& row) {
        rows.push_back(text_of(row));
        return Result<void>{};
      }));
    }
    return {};
  });
  EXPECT_TRUE(done) << done.error();
  return out;
}

std::string digest_of(Practice& practice) {
  return expect_value(store::read_value<std::string>(
      *practice.database, [](store::Transaction& t) { return store::digest_of_everything(t); }));
}

class BackupTest : public test::PracticeTest {
 protected:
  // Another, empty workplace on this engine.
  std::unique_ptr<Practice> another(store::Engine engine) {
    const std::string name = "another-" + std::to_string(count_++);
    PracticeOptions options;
    options.data = folder() / name;
    options.now = practice().now;
    if (engine == store::Engine::Sqlite) {
      options.database = "sqlite:" + (folder() / (name + ".db")).string();
    } else {
      std::string why_not;
      test::PostgresServer* server = test::PostgresServer::shared(why_not);
      if (server == nullptr) return nullptr;
      options.database = server->new_database();
    }
    auto other = expect_value(open_practice(options));
    other->passphrase_cost = secure::kCheapestCost;
    return other;
  }
  std::unique_ptr<Practice> another() { return another(GetParam()); }

  fs::path make(Practice& practice, const std::string& name = "whole.lintel-backup") {
    const fs::path file = folder() / name;
    expect_value(make_backup(practice, file, secure::Passphrase(kWords), {}, kQuick));
    return file;
  }
  Result<view::RestoreSummary> restore(Practice& practice, const fs::path& file,
                                       RestoreInto into = RestoreInto::Empty,
                                       const char* words = kWords) {
    return restore_backup(practice, file, secure::Passphrase(words), into, {}, kQuick);
  }
  // The file with one byte changed.
  fs::path changed(const fs::path& file, std::size_t at) {
    std::string bytes = test::file_bytes(file);
    bytes[at] = static_cast<char>(bytes[at] ^ 0x20);
    const fs::path out = folder() / "changed.lintel-backup";
    test::write_bytes(out, bytes);
    return out;
  }
  static std::size_t media_count(Practice& practice) {
    return expect_value(practice.media->list()).size();
  }

  int count_ = 0;
};
LINTEL_BOTH_ENGINES(BackupTest);

TEST_P(BackupTest, RestoredIsTheSameRowForRow) {
  const test::FilledWorkplace place = test::fill(practice());
  const Rows before = rows_of(practice());
  const std::string digest = digest_of(practice());
  const fs::path file = make(practice());

  for (const auto engine : {store::Engine::Sqlite, store::Engine::Postgresql}) {
    const std::unique_ptr<Practice> other = another(engine);
    if (other == nullptr) continue;  // PostgresqlIsInstalled says so loudly
    const view::RestoreSummary summary = expect_value(restore(*other, file));
    EXPECT_EQ(digest_of(*other), digest);
    EXPECT_EQ(summary.backup.digest, digest);
    EXPECT_EQ(rows_of(*other), before);
    EXPECT_TRUE(other->database->check_integrity());
    for (const std::string& media : {place.own_clip, place.own_page, place.shared_picture}) {
      EXPECT_TRUE(other->media->find(media)) << media;
    }
    EXPECT_EQ(media_count(*other), 3U);
  }
  EXPECT_EQ(rows_of(practice()), before);
  EXPECT_FALSE(before.at("test_results").empty());
  EXPECT_FALSE(before.at("audit_trail").empty());
  EXPECT_EQ(before.at("library_names").size(), 3U);
}

// The tables have grown since: what was in the backup is there, the new ones begin empty.
TEST_P(BackupTest, OfTheReleaseBeforeIsRestored) {
  const test::FilledWorkplace place = test::fill(practice());
  ask_outside("DELETE FROM record_versions WHERE record IN (SELECT record FROM library_names)");
  ask_outside("CREATE TABLE gone AS SELECT record FROM library_names");
  ask_outside("DROP TABLE library_names");
  ask_outside("DELETE FROM records WHERE id IN (SELECT record FROM gone)");
  ask_outside("DROP TABLE gone");
  ask_outside("DELETE FROM schema_migration WHERE version = 7");
  Rows before = rows_of(practice());
  const fs::path file = make(practice());
  const std::unique_ptr<Practice> other = another();
  const view::RestoreSummary summary = expect_value(restore(*other, file));
  EXPECT_EQ(summary.backup.schema_version, 6);
  before["library_names"] = {};
  EXPECT_EQ(rows_of(*other), before);
  // One that is older than any program knew is not.
  ask_outside("DELETE FROM schema_migration WHERE version = 6");
  const auto older = restore(*another(), make(practice(), "older.lintel-backup"));
  ASSERT_FALSE(older);
  EXPECT_EQ(older.error().code, ErrorCode::Unsupported);
}

TEST_P(BackupTest, RestoredIsAWorkplaceThatWorks) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = make(practice());
  const std::unique_ptr<Practice> other = another();
  expect_value(restore(*other, file));

  SignInRequest request;
  request.login = "brinvik";
  request.passphrase = test::kGoodPassphrase;
  request.peer = test::kPeer;
  const auto signed_in = expect_value(app::sign_in(*other, request));
  ASSERT_TRUE(signed_in.session);
  EXPECT_EQ(signed_in.session->caller.person, place.athlete);
  // Its own library is in force, the archived drill stays archived.
  const SharedLibrary library =
      expect_value(store::read_value<SharedLibrary>(*other->database, [&](store::Transaction& t) {
        return library_of(t, place.owner.organization);
      }));
  const body::TestProtocol* own = body::find_protocol(library->protocols, "quay_ankle");
  ASSERT_NE(own, nullptr);
  EXPECT_TRUE(own->own_error);
  const plan::Drill* drill = plan::find_drill(library->drills, "quay-calf");
  ASSERT_NE(drill, nullptr);
  EXPECT_TRUE(drill->archived);
  // The chain goes on behind the last row, and whoever was signed in is not any more.
  EXPECT_TRUE(note_backup(*other, place.owner, "backup_restored"));
  const view::ChainVerdict verdict = expect_value(verify_audit(*other, place.owner));
  EXPECT_TRUE(verdict.whole) << verdict.fault;
  EXPECT_GT(verdict.rows, 3);
  // Rows of the trail can be changed no more than before.
  const std::string url = other->settings.database_url;
  const std::string change = "UPDATE audit_trail SET detail = 'x'";
  const test::Ran ran = server() == nullptr
                            ? test::run_program({"/usr/bin/sqlite3", url.substr(7), change})
                            : test::run_program({"/usr/bin/psql", url, "-c", change});
  EXPECT_NE(ran.status, 0) << ran.output;
  EXPECT_TRUE(expect_value(verify_audit(*other, place.owner)).whole);
  EXPECT_FALSE(rows_of(*other).at("audit_trail").empty());
}

TEST_P(BackupTest, HoldsEveryTableButThoseThatAreNamed) {
  std::set<std::string> expected;
  const std::string list = ask_outside(
      server() == nullptr
          ? "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
          : "SELECT tablename FROM pg_tables WHERE schemaname = 'public'");
  std::istringstream lines(list);
  for (std::string line; std::getline(lines, line);) {
    if (!line.empty()) expected.insert(line);
  }
  EXPECT_GT(expected.size(), 12U);
  for (const store::LeftOutTable& out : store::tables_left_out()) {
    EXPECT_EQ(expected.erase(std::string(out.name)), 1U) << out.name;
  }
  std::set<std::string> found;
  for (const auto& [table, rows] : rows_of(practice())) found.insert(table);
  EXPECT_EQ(found, expected);
}

TEST_P(BackupTest, IsRefusedDamagedOrWithAWrongPassphraseAndNothingIsTouched) {
  test::fill(practice());
  const fs::path file = make(practice());
  const std::unique_ptr<Practice> other = another();
  const Rows empty = rows_of(*other);
  const auto size = static_cast<std::size_t>(fs::file_size(file));
  const auto refused = [&](const Result<view::RestoreSummary>& result, ErrorCode code) {
    ASSERT_FALSE(result);
    EXPECT_EQ(result.error().code, code) << result.error();
    EXPECT_FALSE(result.error().mend.empty());
    EXPECT_EQ(rows_of(*other), empty);
    EXPECT_EQ(media_count(*other), 0U);
  };
  for (const std::size_t at : {std::size_t{20}, std::size_t{100}, size / 3, size / 2, size - 1}) {
    SCOPED_TRACE(at);
    refused(restore(*other, changed(file, at)), ErrorCode::Invalid);
  }
  const std::string bytes = test::file_bytes(file);
  for (const std::size_t length : {size / 2, size - 1, std::size_t{90}}) {
    SCOPED_TRACE(length);
    const fs::path cut = folder() / "cut.lintel-backup";
    test::write_bytes(cut, bytes.substr(0, length));
    refused(restore(*other, cut), ErrorCode::Invalid);
  }
  refused(restore(*other, file, RestoreInto::Empty, "kelp anchor winter belt"), ErrorCode::Denied);
  refused(restore(*other, folder() / "none"), ErrorCode::NotFound);
}

TEST_P(BackupTest, ReplacesOnlyWhenToldAndKeepsWhatWasThere) {
  test::fill(practice());
  const fs::path file = make(practice());
  const std::unique_ptr<Practice> other = another();
  test::fill(*other);
  const std::string before = digest_of(*other);
  ASSERT_NE(before, digest_of(practice()));

  const auto refused = restore(*other, file);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, ErrorCode::Conflict);
  EXPECT_EQ(digest_of(*other), before);

  const view::RestoreSummary summary = expect_value(restore(*other, file, RestoreInto::Replace));
  EXPECT_EQ(digest_of(*other), digest_of(practice()));
  EXPECT_EQ(rows_of(*other), rows_of(practice()));
  ASSERT_TRUE(fs::exists(summary.old_kept_in));
  const std::unique_ptr<Practice> third = another();
  expect_value(restore(*third, summary.old_kept_in));
  EXPECT_EQ(digest_of(*third), before);
}

TEST_P(BackupTest, NamesMediaThatCannotBeRead) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path clip = expect_value(practice().media->path_of(place.own_clip));
  fs::permissions(clip, fs::perms::owner_write, fs::perm_options::add);
  test::write_bytes(clip, "not the clip any more");
  fs::remove(expect_value(practice().media->path_of(place.own_page)));
  const fs::path file = folder() / "some.lintel-backup";
  const view::BackupSummary made =
      expect_value(make_backup(practice(), file, secure::Passphrase(kWords), {}, kQuick));
  std::vector<std::string> missing = {place.own_clip, place.own_page};
  std::sort(missing.begin(), missing.end());
  EXPECT_EQ(made.missing_media, missing);
  EXPECT_EQ(made.media_files, 1);
  EXPECT_EQ(expect_value(check_backup(file, secure::Passphrase(kWords))).missing_media, missing);
  const std::unique_ptr<Practice> other = another();
  expect_value(restore(*other, file));
  EXPECT_EQ(digest_of(*other), digest_of(practice()));
}

TEST_P(BackupTest, IsAPlainTarForAProgramThatKnowsOnlyTheDescription) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = make(practice());
  EXPECT_EQ(test::file_bytes(file).find("Brinvik"), std::string::npos);
  const fs::path script = folder() / "read.sh";
  test::write_bytes(
      script,
      "set -e\ncd '" + folder().string() + "'\nmkdir out\nexport LINTEL_PASSPHRASE='" + kWords +
          "'\npython3 '" LINTEL_SOURCE_DIR "/examples/open_backup.py' '" + file.string() +
          "' > inside.tar\ntar -xf inside.tar -C out\n"
          "cd out/media\nfor f in *; do echo \"$f  $f\" | sha256sum -c --quiet; done\n"
          "cd ..\ncat tables/records/*.jsonl | wc -l\n"
          "python3 -c \"import json; print(json.load(open('manifest.json'))['digest'])\"\n");
  const test::Ran ran = test::run_program({"/bin/bash", script.string()});
  ASSERT_EQ(ran.status, 0) << ran.output;
  const std::string records = ask_outside("SELECT COUNT(*) FROM records");
  std::istringstream lines(ran.output);
  std::string counted, digest;
  lines >> counted >> digest;
  EXPECT_EQ(std::stol(counted), std::stol(records));
  EXPECT_EQ(digest, digest_of(practice()));
  EXPECT_EQ(test::file_bytes(folder() / "out" / "media" / place.own_clip).size(), 200'004U);
}

TEST_P(BackupTest, OfALargeTableComesInParts) {
  test::fill(practice());

  const auto organization = expect_value(store::read_value<std::vector<std::string>>(
      *practice().database, [](store::Transaction& t) { return store::list_organizations(t); }));
  ASSERT_TRUE(practice().database->write([&](store::Transaction& t) -> Result<void> {
    for (int i = 0; i < 120; ++i) {
      store::NewRecord record;
      record.kind = store::RecordKind::Attachment;
      record.organization = organization.front();
      record.document =
          "{\"words\": \"" + std::string(100'000, static_cast<char>('a' + i % 26)) + "\"}";
      auto made = store::insert_record(t, record, {organization.front(), test::kNow});
      if (!made) return fail(made.error());
    }
    return {};
  }));
  const fs::path file = make(practice());
  const std::unique_ptr<Practice> other = another();
  expect_value(restore(*other, file));
  EXPECT_EQ(rows_of(*other), rows_of(practice()));
}

TEST_P(BackupTest, IsMadeWhenItIsDueAndOldOnesGo) {
  test::fill(practice());
  formats::BackupSettings& settings = practice().settings.backup;
  EXPECT_EQ(expect_value(run_due_backups(practice())), 0);  // nothing was asked for
  settings.folder = (folder() / "backups").string();
  settings.times_utc = {"03:30"};
  settings.keep_daily = 2;
  settings.keep_weekly = 1;
  settings.passphrase_file = (folder() / "words").string();
  EXPECT_EQ(run_due_backups(practice()).error().code, ErrorCode::NotFound);
  test::write_bytes(settings.passphrase_file, std::string(kWords) + "\n");
  fs::permissions(settings.passphrase_file, fs::perms::owner_read);

  EXPECT_EQ(expect_value(run_due_backups(practice())), 1);  // 07:05, none since 03:30
  EXPECT_EQ(expect_value(run_due_backups(practice())), 0);
  pass(20 * 3600);  // 03:05 of the next day
  EXPECT_EQ(expect_value(run_due_backups(practice())), 0);
  pass(3600);
  EXPECT_EQ(expect_value(run_due_backups(practice())), 1);
  pass(24 * 3600);
  EXPECT_EQ(expect_value(run_due_backups(practice())), 1);
  test::write_bytes(fs::path(settings.folder) / "notes.txt", "mine");
  pass(24 * 3600);
  EXPECT_EQ(expect_value(run_due_backups(practice())), 1);
  const std::vector<view::BackupFile> left = expect_value(list_backups(settings.folder));
  ASSERT_EQ(left.size(), 2U);
  EXPECT_EQ(left[0].made_at, "2026-03-12T04:05:30Z");
  EXPECT_EQ(left[1].made_at, "2026-03-11T04:05:30Z");
  EXPECT_TRUE(fs::exists(fs::path(settings.folder) / "notes.txt"));
  EXPECT_TRUE(check_backup(fs::path(settings.folder) / left[0].name, secure::Passphrase(kWords)));
}

}  // namespace
}  // namespace lintel::app
