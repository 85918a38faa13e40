// Kill -9 at random moments while records and media are written: nothing that was acknowledged is
// lost, nothing is half there.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <iostream>
#include <map>
#include <sstream>
#include <thread>

#include "base/random.h"
#include "store/media_folder.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::PostgresServer;

constexpr int kBursts = 1000;
constexpr std::size_t kWriters = 2;

// One child that writes, and what it says.
class Writer {
 public:
  Writer(const std::string& url, const std::string& media, const std::string& club,
         std::uint64_t seed) {
    int ends[2];
    if (::pipe2(ends, O_CLOEXEC) != 0) return;
    child_ = ::fork();
    if (child_ == 0) {
      ::prctl(PR_SET_PDEATHSIG, SIGKILL);
      ::dup2(ends[1], STDOUT_FILENO);
      const std::string number = std::to_string(seed);
      ::execl(LINTEL_STORE_WRITER, LINTEL_STORE_WRITER, url.c_str(), media.c_str(), club.c_str(),
              number.c_str(), nullptr);
      ::_exit(127);
    }
    ::close(ends[1]);
    from_ = ends[0];
  }
  Writer(const Writer&) = delete;
  Writer& operator=(const Writer&) = delete;
  ~Writer() {
    kill_hard();
    ::close(from_);
  }

  int pipe() const { return from_; }
  bool at_end() const { return at_end_; }
  void read_some() {
    char piece[1 << 16];
    const ssize_t got = ::read(from_, piece, sizeof piece);
    if (got <= 0) at_end_ = true;
    if (got > 0) said_.append(piece, static_cast<std::size_t>(got));
  }
  void kill_hard() {
    if (child_ <= 0) return;
    ::kill(child_, SIGKILL);
    ::waitpid(child_, nullptr, 0);
    child_ = -1;
  }
  void read_rest() {
    while (!at_end_) read_some();
  }
  // Whole lines only, each once.
  std::vector<std::string> take_lines() {
    std::vector<std::string> out;
    for (std::size_t end; (end = said_.find('\n')) != std::string::npos; said_.erase(0, end + 1)) {
      out.push_back(said_.substr(0, end));
    }
    return out;
  }

 private:
  pid_t child_ = -1;
  int from_ = -1;
  bool at_end_ = false;
  std::string said_;
};

// Everything that was acknowledged so far.
class Ledger {
 public:
  void take(Writer& writer) {
    for (const std::string& line : writer.take_lines()) {
      if (line == "burst") {
        ++bursts;
        continue;
      }
      std::istringstream words(line);
      std::string ack, record, sha256;
      std::int64_t version = 0;
      ASSERT_TRUE(words >> ack >> record >> version >> sha256) << line;
      Known& known = records[record];
      known.version = std::max(known.version, version);
      known.sha256 = sha256;
    }
  }
  struct Known {
    std::int64_t version = 0;
    std::string sha256;
  };
  std::map<std::string, Known> records;
  int bursts = 0;
};

void wait_for_bursts(std::vector<std::unique_ptr<Writer>>& writers, Ledger& ledger, int until) {
  while (ledger.bursts < until) {
    std::vector<pollfd> waiting;
    for (const auto& writer : writers) {
      if (!writer->at_end()) waiting.push_back({writer->pipe(), POLLIN, 0});
    }
    ASSERT_FALSE(waiting.empty()) << "all writers ended by themselves";
    ASSERT_GT(::poll(waiting.data(), waiting.size(), 60'000), 0) << "the writers are stuck";
    for (const auto& writer : writers) {
      for (const pollfd& one : waiting) {
        if (one.fd == writer->pipe() && one.revents != 0) writer->read_some();
      }
      ledger.take(*writer);
    }
  }
}

void check_everything(Database& database, const MediaFolder& folder, const std::string& club,
                      const Ledger& ledger) {
  const Result<void> sound = database.check_integrity();
  ASSERT_TRUE(sound) << sound.error();
  const Result<void> read = database.read([&](Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(check_records(t));
    for (const auto& [id, known] : ledger.records) {
      const Record record = LINTEL_TRY(find_record(t, club, id));
      if (record.version < known.version) return fail(ErrorCode::Invalid, "a version was lost");
      if (LINTEL_TRY(media_uses(t, club, known.sha256)).empty()) {
        return fail(ErrorCode::Invalid, "a reference was lost");
      }
    }
    // Whatever is referred to is there and whole, acknowledged or not.
    for (const std::string& sha256 : LINTEL_TRY(referenced_media(t))) {
      LINTEL_TRY(folder.find(sha256));
    }
    return {};
  });
  ASSERT_TRUE(read) << read.error();
}

std::string add_club(Database& database) {
  return expect_value(
             write_value<Record>(database,
                                 [](Transaction& t) {
                                   NewRecord record;
                                   record.kind = RecordKind::Organization;
                                   return insert_record(t, record, {"", lintel::test::kNow});
                                 }))
      .id;
}

struct Scene {
  std::string url;
  lintel::test::TemporaryFolder folder{lintel::test::scratch_folder()};
  std::uint64_t seed = 0;
  int bursts_between_kills = 0;
};

// Rounds of: start writers, wait for some bursts, `kill` at a random moment, check everything.
template <typename Kill>
void run(const Scene& scene, Kill&& kill) {
  Random random(scene.seed);
  const std::unique_ptr<Database> database = expect_value(Database::open({scene.url}));
  const MediaFolder folder = expect_value(MediaFolder::open(scene.folder / "media"));
  const std::string club = add_club(*database);
  Ledger ledger;
  int kills = 0;
  while (ledger.bursts < kBursts) {
    std::vector<std::unique_ptr<Writer>> writers;
    for (std::size_t i = 0; i < kWriters; ++i) {
      writers.push_back(std::make_unique<Writer>(scene.url, (scene.folder / "media").string(), club,
                                                 random.next()));
    }
    const int most = 2 * scene.bursts_between_kills;
    const int until =
        ledger.bursts + 1 + static_cast<int>(random.next() % static_cast<std::uint64_t>(most));
    ASSERT_NO_FATAL_FAILURE(wait_for_bursts(writers, ledger, until));
    // Anywhere within a burst.
    std::this_thread::sleep_for(std::chrono::microseconds(random.next() % 8000));
    ASSERT_NO_FATAL_FAILURE(kill(writers));
    ++kills;
    for (const auto& writer : writers) {
      writer->read_rest();
      ledger.take(*writer);
    }
    ASSERT_NO_FATAL_FAILURE(check_everything(*database, folder, club, ledger));
  }
  std::cout << ledger.bursts << " bursts acknowledged, " << kills << " kills, "
            << ledger.records.size() << " records, " << expect_value(folder.list()).size()
            << " media\n";
}

TEST(StoreCrash, KilledWritersOfSqliteLoseNothingThatWasAcknowledged) {
  Scene scene;
  scene.url = "sqlite:" + (scene.folder / "lintel.db").string();
  scene.seed = 1;
  scene.bursts_between_kills = 20;
  run(scene, [](std::vector<std::unique_ptr<Writer>>& writers) {
    for (const auto& writer : writers) writer->kill_hard();
  });
  // And another program finds the file sound.
  const lintel::test::Ran outside =
      lintel::test::run_program({"/usr/bin/sqlite3", scene.url.substr(7),
                                 "PRAGMA integrity_check; PRAGMA foreign_key_check"});
  EXPECT_EQ(outside.output, "ok\n");
}

TEST(StoreCrash, AKilledServerOfPostgresqlLosesNothingThatWasAcknowledged) {
  std::string why_not;
  const std::unique_ptr<PostgresServer> server =
      PostgresServer::start(PostgresServer::Disk::Safe, why_not);
  if (!server) {
    std::cerr << "\n*** NOT TESTED OVER POSTGRESQL: " << why_not << " ***\n\n";
    ASSERT_EQ(std::getenv("LINTEL_NEED_POSTGRESQL"), nullptr) << why_not;
    GTEST_SKIP() << why_not;
  }
  Scene scene;
  scene.url = server->new_database();
  scene.seed = 2;
  scene.bursts_between_kills = 120;
  run(scene, [&](std::vector<std::unique_ptr<Writer>>& writers) {
    server->kill_hard();
    for (const auto& writer : writers) writer->read_rest();  // they end at their first error
    ASSERT_TRUE(server->start_again());
  });
}

}  // namespace
}  // namespace lintel::store
