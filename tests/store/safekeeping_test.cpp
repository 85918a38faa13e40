// One athlete out, in elsewhere, erased; and archives that somebody made in bad faith.
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <map>

#include "app/accounts.h"
#include "app/audit.h"
#include "app/erase.h"
#include "app/export_athlete.h"
#include "app/safekeeping_requests.h"
#include "formats/export_json.h"
#include "formats/zip_reader.h"
#include "store/record_columns.h"
#include "support/filled_workplace.h"
#include "support/practice_fixture.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using test::expect_value;

class SafekeepingTest : public test::PracticeTest {
 protected:
  // Another workplace on this engine, with an organization of its own.
  struct Elsewhere {
    std::unique_ptr<Practice> practice;
    Caller owner;
  };
  Elsewhere elsewhere() {
    const std::string name = "elsewhere-" + std::to_string(count_++);
    PracticeOptions options;
    options.data = folder() / name;
    options.now = practice().now;
    options.database = server() == nullptr ? "sqlite:" + (folder() / (name + ".db")).string()
                                           : server()->new_database();
    Elsewhere out;
    out.practice = expect_value(open_practice(options));
    out.practice->passphrase_cost = secure::kCheapestCost;
    NewOwner owner = new_owner();
    owner.name = "Sigrun Dahl";
    owner.organization = "Hollerhavn Weightlifting";
    out.owner = expect_value(create_first_owner(*out.practice, owner)).caller;
    return out;
  }

  fs::path export_of(const test::FilledWorkplace& place, const std::string& name = "out.zip") {
    const fs::path file = folder() / name;
    expect_value(export_athlete(practice(), place.owner, place.athlete, file));
    return file;
  }

  // The archive with a change, made by a program of another kind: `code` is Python that may change
  // `files` (name -> bytes) and `manifest` (the parsed manifest.json).
  fs::path changed(const fs::path& archive, const std::string& code) {
    const fs::path script = folder() / "change.py", out = folder() / "changed.zip";
    test::write_bytes(script,
                      "import sys, json, zipfile, hashlib\n"
                      "source = zipfile.ZipFile(sys.argv[1])\n"
                      "files = {n: source.read(n) for n in source.namelist()}\n"
                      "manifest = json.loads(files['manifest.json'])\n"
                      "records = manifest['records']\n"
                      "sha = lambda b: hashlib.sha256(b).hexdigest()\n" +
                          code +
                          "\nif 'manifest.json' in files:\n"
                          "    files['manifest.json'] = json.dumps(manifest).encode()\n"
                          "with zipfile.ZipFile(sys.argv[2], 'w', zipfile.ZIP_DEFLATED) as z:\n"
                          "    for n, b in files.items():\n"
                          "        z.writestr(n, b)\n");
    fs::remove(out);
    const test::Ran ran =
        test::run_program({"/usr/bin/python3", script.string(), archive.string(), out.string()});
    EXPECT_EQ(ran.status, 0) << ran.output;
    return out;
  }

  static std::string digest_of(Practice& practice) {
    return expect_value(store::read_value<std::string>(
        *practice.database, [](store::Transaction& t) { return store::digest_of_everything(t); }));
  }
  // The manifest without what is of the moment.
  static std::string manifest_in(const fs::path& archive) {
    const auto zip = expect_value(formats::ZipReader::open(archive));
    const std::string text = expect_value(zip.read_text(*zip.find("manifest.json"), 1 << 24));
    auto reading = formats::read_export_manifest(text, "manifest.json");
    EXPECT_TRUE(reading.manifest) << reading.faults.front();
    reading.manifest->exported_at = "2026-03-09T00:00:00.000Z";
    std::sort(reading.manifest->people.begin(), reading.manifest->people.end(),
              [](const auto& a, const auto& b) { return a.id < b.id; });
    return formats::write_export_manifest(*reading.manifest);
  }

  int count_ = 0;
};
LINTEL_BOTH_ENGINES(SafekeepingTest);

TEST_P(SafekeepingTest, ExportIsAZipThatOtherProgramsRead) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = folder() / "out.zip";
  const view::ExportSummary summary =
      expect_value(export_athlete(practice(), place.owner, place.athlete, file));
  EXPECT_EQ(summary.media_files, 3);
  EXPECT_EQ(summary.versions, 4 + 1 + 1 + 1 + 1 + 1);

  EXPECT_EQ(test::run_program({"/usr/bin/unzip", "-tq", file.string()}).status, 0);
  EXPECT_EQ(test::run_program({"/usr/bin/python3", "-m", "zipfile", "-t", file.string()}).status,
            0);
  const fs::path script = folder() / "check.py";
  test::write_bytes(script, R"(
import sys, json, zipfile, hashlib
z = zipfile.ZipFile(sys.argv[1])
m = json.loads(z.read('manifest.json'))
assert m['schema'] == 'lintel-export-1'
named = {'manifest.json', 'README.txt'}
for r in m['records']:
    for v in r['versions']:
        assert hashlib.sha256(z.read(v['file'])).hexdigest() == v['sha256'], v
        json.loads(z.read(v['file']))
        named.add(v['file'])
    for f in r['media']:
        b = z.read(f['file'])
        assert hashlib.sha256(b).hexdigest() == f['sha256'] and len(b) == f['bytes']
        named.add(f['file'])
assert named == set(z.namelist()), named ^ set(z.namelist())
readme = z.read('README.txt').decode()
assert 'Ansa Brinvik' in readme and 'Cautions' in readme
assert [c['code'] for c in m['cautions']]
assert all(i.date_time == (2026, 3, 9, 7, 5, 30) for i in z.infolist())
print(sorted(p['name'] for p in m['people']))
)");
  const test::Ran ran = test::run_program({"/usr/bin/python3", script.string(), file.string()});
  EXPECT_EQ(ran.status, 0) << ran.output;
  EXPECT_EQ(ran.output, "['Ansa Brinvik', 'Runa Feldvik']\n");
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM audit_trail WHERE action = 'export_made'")[0], '1');
}

TEST_P(SafekeepingTest, ComesInElsewhereAsItWas) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = export_of(place);
  Elsewhere there = elsewhere();
  const view::ImportSummary summary =
      expect_value(import_athlete(*there.practice, there.owner, file));
  EXPECT_EQ(summary.athlete, place.athlete);
  EXPECT_EQ(summary.name, test::kAthleteName);
  EXPECT_EQ(summary.unknown_people, std::vector<std::string>{"Runa Feldvik"});
  EXPECT_EQ(summary.media_files, 3);

  // Out again: the same records, versions, authors, times, columns, media.
  const fs::path again = folder() / "again.zip";
  expect_value(export_athlete(*there.practice, there.owner, place.athlete, again));
  EXPECT_EQ(manifest_in(again), manifest_in(file));
  EXPECT_TRUE(there.practice->media->find(place.own_clip));
  const CheckSummary check = expect_value(check_everything(*there.practice));
  EXPECT_TRUE(check.missing_media.empty());
  EXPECT_EQ(check.media_files, 3);

  const std::string before = digest_of(*there.practice);
  const auto twice = import_athlete(*there.practice, there.owner, file);
  ASSERT_FALSE(twice);
  EXPECT_EQ(twice.error().code, ErrorCode::Conflict);
  EXPECT_NE(twice.error().message.find("this athlete is in this workplace already"),
            std::string::npos);
  EXPECT_EQ(digest_of(*there.practice), before);
  // Neither into another organization of the place it is from.
  EXPECT_EQ(import_athlete(practice(), place.other_owner, file).error().code, ErrorCode::Conflict);
}

TEST_P(SafekeepingTest, IsForThoseWhoMay) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = export_of(place);
  const auto code = [](const auto& result) {
    return result ? std::string("done") : std::string(error_code_name(result.error().code));
  };
  const std::string denied(error_code_name(ErrorCode::Denied));
  const std::string hidden(error_code_name(ErrorCode::NotFound));
  for (const Role role : {Role::Practitioner, Role::Assistant, Role::Reviewer, Role::Athlete}) {
    Caller caller = place.owner;
    caller.role = role;
    SCOPED_TRACE(role_name(role));
    EXPECT_EQ(code(erase_athlete(practice(), caller, place.companion, "asked for")), denied);
    EXPECT_EQ(code(backups_there(practice(), caller)), denied);
    EXPECT_EQ(code(backup_on_request(practice(), caller, "kelp anchor winter", {})), denied);
    if (role == Role::Practitioner) continue;
    EXPECT_EQ(code(export_athlete(practice(), caller, place.companion, folder() / "no.zip")),
              denied);
    EXPECT_EQ(code(import_athlete(practice(), caller, file)), denied);
  }
  EXPECT_EQ(code(export_athlete(practice(), place.other_owner, place.athlete, folder() / "no.zip")),
            hidden);
  EXPECT_EQ(code(erase_athlete(practice(), place.other_owner, place.athlete, "asked for")), hidden);
  EXPECT_EQ(code(erase_athlete(practice(), Caller::nobody(), place.athlete, "asked for")), denied);
  EXPECT_FALSE(fs::exists(folder() / "no.zip"));
}

TEST_P(SafekeepingTest, ArchivesMadeInBadFaithChangeNothing) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = export_of(place);
  Elsewhere there = elsewhere();
  const std::string secret = "a page of somebody who is here already";
  const std::string own = expect_value(there.practice->media->add_bytes(secret)).sha256;
  const std::string before = digest_of(*there.practice);
  const std::string put =  // replaces a document and its digest
      "def put(r, v, b):\n    e = records[r]['versions'][v]\n    files[e['file']] = b\n"
      "    e['sha256'] = sha(b)\n";
  struct Case {
    const char* what;
    std::string code;
    ErrorCode expected;
  };
  const std::vector<Case> cases = {
      {"no manifest", "del files['manifest.json']", ErrorCode::Invalid},
      {"newer schema", "manifest['schema'] = 'lintel-export-2'", ErrorCode::Invalid},
      {"a misspelt key", "manifest['recrods'] = []", ErrorCode::Invalid},
      {"another document", "files[records[0]['versions'][0]['file']] = b'{}'", ErrorCode::Invalid},
      {"a document missing", "del files[records[0]['versions'][0]['file']]", ErrorCode::Invalid},
      {"a clip missing", "del files[[r for r in records if r['media']][0]['media'][0]['file']]",
       ErrorCode::Invalid},
      {"another clip",
       "n = [r for r in records if r['media']][0]['media'][0]\n"
       "files[n['file']] = bytes(n['bytes'])",
       ErrorCode::Invalid},
      {"a file too many", "files['media/more.bin'] = b'x'", ErrorCode::Invalid},
      {"a gap in the versions", "del records[0]['versions'][1]", ErrorCode::Invalid},
      {"version 0", "records[0]['versions'][0]['version'] = 0", ErrorCode::Invalid},
      {"no version", "records[1]['versions'] = []", ErrorCode::Invalid},
      {"a record twice", "records.append(records[1])", ErrorCode::Invalid},
      {"a parent that is not there", "records[1]['parent'] = '" + place.companion + "'",
       ErrorCode::Invalid},
      {"a second athlete", "records[1]['kind'] = 'athlete'", ErrorCode::Invalid},
      {"an account", "records[1]['kind'] = 'practitioner'", ErrorCode::Invalid},
      {"a path as an id", "records[1]['id'] = '../../../../etc/passwd/xxxxxxxxxxxxxx'",
       ErrorCode::Invalid},
      {"a page that a browser would run",
       "[r for r in records if r['media']][0]['media'][0]"
       "['media_type'] = 'text/html'",
       ErrorCode::Invalid},
      {"no day", "records[1]['columns']['date'] = '2026-02-30'", ErrorCode::Invalid},
      {"no time", "records[1]['created_at'] = 'yesterday'", ErrorCode::Invalid},
      {"another author of the first version", "records[1]['created_by'] = 'somebody'",
       ErrorCode::Invalid},
      {"columns of another shape", "records[0]['columns']['athlete'][0].append(1)",
       ErrorCode::Invalid},
      {"a number out of range",
       "records[0]['columns']['tests'] = [['a','b','2026-03-09','cm',1e300,0]]",
       ErrorCode::Invalid},
      {"a document that is no JSON", put + "put(1, 0, b'{\"a\": ')", ErrorCode::Invalid},
      {"a document that is a list", put + "put(1, 0, b'[]')", ErrorCode::Invalid},
      {"a document in another encoding",
       put + "put(1, 0, '{\"a\": \"\\u00e5\"}'.encode('latin-1'))", ErrorCode::Invalid},
      {"a document with a key twice", put + "put(1, 0, b'{\"a\": 1, \"a\": 2}')",
       ErrorCode::Invalid},
      {"a document nested too deep", put + "put(1, 0, b'{\"a\":' + b'['*5000 + b']'*5000 + b'}')",
       ErrorCode::Limit},
      {"a document of 40 MB",
       put + "import random\nrandom.seed(4)\nput(1, 0, b'{\"a\": \"' + "
             "bytes(random.choices(range(97,123), k=40_000_000)) + b'\"}')",
       ErrorCode::Limit},
      {"a visit that is none", put + "put([r['kind'] for r in records].index('visit'), 0, b'{}')",
       ErrorCode::Invalid},
      {"a document that points at a file of somebody else",
       put + "put([r['kind'] for r in records].index('attachment'), 0, b'{\"sha256\": \"" + own +
           "\"}')",
       ErrorCode::Invalid},
  };
  for (const Case& one : cases) {
    SCOPED_TRACE(one.what);
    const auto result = import_athlete(*there.practice, there.owner, changed(file, one.code));
    if (result) {
      ADD_FAILURE() << "was taken in";
      break;
    }
    EXPECT_EQ(result.error().code, one.expected) << result.error();
    EXPECT_FALSE(result.error().place.field.empty() && result.error().place.file.empty())
        << result.error();
    EXPECT_EQ(digest_of(*there.practice), before);
    EXPECT_EQ(expect_value(there.practice->media->list()).size(), 1U);
  }
  // Nothing was wrong with the way of changing it.
  EXPECT_TRUE(import_athlete(*there.practice, there.owner, changed(file, "pass")));
  // And nothing that was unpacked is left.
  for (const auto& entry : fs::directory_iterator(there.practice->data)) {
    EXPECT_FALSE(entry.path().filename().string().starts_with(".import")) << entry.path();
  }
}

// Files with these bytes in them, the database's own too. By another process: to open and close the
// file of a live SQLite database in this one would drop its locks.
std::string files_with(const fs::path& folder, const std::string& words) {
  return test::run_program({"/bin/grep", "-rlaF", words, folder.string()}).output;
}

TEST_P(SafekeepingTest, ErasureLeavesNoTrace) {
  const test::FilledWorkplace place = test::fill(practice());
  // An export that was made to be sent, and a copy of before a change of the schema.
  expect_value(export_to_send(practice(), place.owner, place.athlete, {}));
  const bool sqlite = server() == nullptr;
  if (sqlite) test::write_bytes(folder() / "lintel.db.schema-1.copy", test::kAthleteName);
  const std::int64_t before = expect_value(practice().media->list()).size();
  if (sqlite) {
    EXPECT_NE(files_with(folder(), test::kHistoryWords), "");
  }

  const auto named = erase_athlete(practice(), place.owner, place.athlete, "BRINVIK asked for it");
  ASSERT_FALSE(named);
  EXPECT_EQ(named.error().place.field, "reason");
  EXPECT_EQ(erase_athlete(practice(), place.owner, place.athlete, " ").error().place.field,
            "reason");

  const view::ErasureSummary summary =
      expect_value(erase_athlete(practice(), place.owner, place.athlete, "asked for in writing"));
  EXPECT_TRUE(summary.account);
  EXPECT_EQ(summary.uploads, 1);
  EXPECT_EQ(summary.media_files, 2);
  EXPECT_GE(summary.kept.size(), 3U);

  EXPECT_EQ(static_cast<std::int64_t>(expect_value(practice().media->list()).size()), before - 2);
  EXPECT_FALSE(practice().media->find(place.own_clip));
  EXPECT_FALSE(practice().media->find(place.own_page));
  EXPECT_TRUE(practice().media->find(place.shared_picture));  // the companion has it too
  std::string dump;  // of all tables, by PostgreSQL's own program
  if (!sqlite) {
    const test::Ran ran = test::run_program({"/usr/bin/pg_dump", "--data-only", url()});
    ASSERT_EQ(ran.status, 0) << ran.output;
    dump = ran.output;
    EXPECT_NE(dump.find("Torgersen"), std::string::npos);  // the companion
  }
  for (const char* words : {test::kHistoryWords, "Ansa", "Brinvik", "brinvik", "rinvik"}) {
    SCOPED_TRACE(words);
    // The database is open: its log is empty.
    EXPECT_EQ(sqlite ? files_with(folder(), words) : "", "");
    EXPECT_EQ(dump.find(words), std::string::npos);
  }
  EXPECT_EQ(find_person(practice(), place.owner, place.athlete).error().code, ErrorCode::NotFound);
  EXPECT_TRUE(expect_value(verify_audit(practice(), place.owner)).whole);
  const auto trail = expect_value(list_audit(practice(), place.owner, {}));
  EXPECT_EQ(trail.rows.front().action, "athlete_erased");
  EXPECT_EQ(trail.rows.front().detail, "asked for in writing");
  // The companion is as before.
  expect_value(export_athlete(practice(), place.owner, place.companion, folder() / "liv.zip"));
  EXPECT_TRUE(expect_value(check_everything(practice())).missing_media.empty());
  EXPECT_EQ(erase_athlete(practice(), place.owner, place.athlete, "again").error().code,
            ErrorCode::NotFound);
}

TEST_P(SafekeepingTest, AnErasedAthleteComesBackFromAnExport) {
  const test::FilledWorkplace place = test::fill(practice());
  const fs::path file = export_of(place);
  expect_value(erase_athlete(practice(), place.owner, place.athlete, "moved away"));
  const view::ImportSummary summary = expect_value(import_athlete(practice(), place.owner, file));
  EXPECT_TRUE(summary.unknown_people.empty());
  const fs::path again = export_of(place, "again.zip");
  EXPECT_EQ(test::run_program({"/usr/bin/unzip", "-tq", again.string()}).status, 0);
}

TEST_P(SafekeepingTest, GarbageIsWhatNothingRefersToForADay) {
  const test::FilledWorkplace place = test::fill(practice());
  const auto made_old = [](const fs::path& path) {
    fs::last_write_time(path, fs::file_time_type::clock::now() - std::chrono::hours(25));
  };
  const std::string fresh = expect_value(practice().media->add_bytes("on its way")).sha256;
  const std::string old = expect_value(practice().media->add_bytes("forgotten")).sha256;
  made_old(expect_value(practice().media->path_of(old)));
  made_old(expect_value(practice().media->path_of(place.own_clip)));
  for (const char* name : {".import-cut", ".import-now", "notes"}) {
    fs::create_directories(practice().data / name);
    if (std::string(name) != ".import-now") made_old(practice().data / name);
  }
  const Collected gone = expect_value(collect_media_garbage(practice()));
  EXPECT_EQ(gone.files, 1);
  EXPECT_EQ(gone.bytes, 9);
  EXPECT_FALSE(practice().media->path_of(old));
  EXPECT_TRUE(practice().media->path_of(fresh));
  EXPECT_TRUE(practice().media->path_of(place.own_clip));
  EXPECT_FALSE(fs::exists(practice().data / ".import-cut"));
  EXPECT_TRUE(fs::exists(practice().data / ".import-now"));
  EXPECT_TRUE(fs::exists(practice().data / "notes"));
}

TEST_P(SafekeepingTest, RequestsOfTheServerGoTheSameWay) {
  const test::FilledWorkplace place = test::fill(practice());
  const ArchiveToSend sent =
      expect_value(export_to_send(practice(), place.owner, place.athlete, {}));
  EXPECT_EQ(sent.name, "ansa-brinvik-2026-03-09.zip");
  Elsewhere there = elsewhere();
  const ImportAnswer answer =
      expect_value(import_bytes(*there.practice, there.owner, test::file_bytes(sent.path), {}));
  EXPECT_EQ(answer.athlete, place.athlete);
  EXPECT_NE(answer.json.find("\"unknown_people\""), std::string::npos);
  EXPECT_FALSE(import_bytes(*there.practice, there.owner, "no zip", {}));

  const auto none = backup_on_request(practice(), place.owner, "", {});
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().place.field, "passphrase");
  const std::string made =
      expect_value(backup_on_request(practice(), place.owner, "kelp anchor winter bell", {}));
  EXPECT_EQ(made.find(folder().string()), std::string::npos);  // no path of the machine
  const std::string list = expect_value(backups_there(practice(), place.owner));
  EXPECT_NE(list.find("lintel-20260309T070530Z.lintel-backup"), std::string::npos);
}

}  // namespace
}  // namespace lintel::app
