// Several `lintel worker` processes on one queue, one of them killed in the middle of a job.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <map>
#include <thread>

#include "app/accounts.h"
#include "app/practice.h"
#include "app/trial_records.h"
#include "support/store_fixture.h"

namespace lintel::test {
namespace {

constexpr int kTrials = 6;
constexpr const char* kClip = LINTEL_CLIPS_DIR "/vfr.mp4";

class WorkerProcess {
 public:
  explicit WorkerProcess(const std::vector<std::string>& arguments) {
    std::vector<char*> words;
    std::vector<std::string> all = {LINTEL_PROGRAM, "worker"};
    all.insert(all.end(), arguments.begin(), arguments.end());
    for (std::string& word : all) words.push_back(word.data());
    words.push_back(nullptr);
    pid_ = ::fork();
    if (pid_ == 0) {
      const int nowhere = ::open("/dev/null", O_RDWR);
      ::dup2(nowhere, 0);
      ::dup2(nowhere, 1);
      ::execv(words[0], words.data());
      ::_exit(127);
    }
  }
  WorkerProcess(const WorkerProcess&) = delete;
  WorkerProcess& operator=(const WorkerProcess&) = delete;
  ~WorkerProcess() {
    if (pid_ > 0) end(SIGKILL);
  }
  pid_t pid() const { return pid_; }
  // The status that waitpid gives.
  int end(int signal) {
    if (signal != 0) ::kill(pid_, signal);
    int status = 0;
    ::waitpid(pid_, &status, 0);
    pid_ = -1;
    return status;
  }

 private:
  pid_t pid_ = -1;
};

class Workers : public StoreTest {
 protected:
  void SetUp() override {
    StoreTest::SetUp();
    if (IsSkipped() || HasFatalFailure()) return;
    app::PracticeOptions options;
    options.data = folder() / "desk";
    options.database = url();
    options.media = folder() / "media";
    practice_ = expect_value(app::open_practice(options));
  }
  void TearDown() override {
    practice_.reset();
    StoreTest::TearDown();
  }

  // Trials of one visit, all of the same clip, each waiting for a worker.
  void make_trials() {
    club_ = add_organization("Skarnholm Lifting Club");
    store::NewRecord athlete;
    athlete.kind = store::RecordKind::Athlete;
    athlete.organization = club_;
    athlete.document = R"({"schema":"lintel-intake-1","athlete":)" +
                       file_bytes(LINTEL_CLIPS_DIR "/vfr.athlete.json") + "}";
    athlete.index.athlete = store::AthleteRow{"Ansa Brinvik", "", "female", {}};
    const store::StoredMedia media = expect_value(practice_->media->add_file(kClip));
    const store::Author runa{"runa", practice_->now()};
    const app::Caller runa_caller = app::on_behalf_of("runa", club_, "test");
    const auto made = practice_->database->write([&](store::Transaction& t) -> Result<void> {
      const store::Record person = LINTEL_TRY(store::insert_record(t, athlete, runa));
      store::NewRecord visit;
      visit.kind = store::RecordKind::Visit;
      visit.organization = club_;
      visit.athlete = visit.parent = person.id;
      visit.document = R"({"schema":"lintel-visit-1","date":"2026-03-09"})";
      visit.index.date = "2026-03-09";
      app::NewTrial trial;
      trial.visit = LINTEL_TRY(store::insert_record(t, visit, runa));
      trial.edit.network = "lite";
      trial.clip = {"vfr.mp4", media.sha256, "video/mp4", media.bytes};
      for (int i = 0; i < kTrials; ++i)
        LINTEL_TRY(app::add_trial(t, *practice_, runa_caller, trial));
      return {};
    });
    ASSERT_TRUE(made) << made.error();
  }
  std::vector<std::string> worker_arguments(const std::string& name) {
    return {"--data",     (folder() / name).string(),
            "--database", url(),
            "--media",    (folder() / "media").string(),
            "--lease",    "10",
            "--threads",  "1",
            "--quiet"};
  }
  std::vector<store::Job> jobs() {
    store::JobQuery query;
    query.organization = club_;
    return expect_value(store::read_value<store::JobPage>(
                            *practice_->database,
                            [&](store::Transaction& t) {
                              return store::list_jobs(t, query, store::Page{"", 500});
                            }))
        .jobs;
  }
  // Looks now and then until it holds, for ten minutes at most.
  template <typename F>
  bool comes_true(const F& condition) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::minutes(10);
    while (std::chrono::steady_clock::now() < end) {
      if (condition()) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    return false;
  }

  std::unique_ptr<app::Practice> practice_;
  std::string club_;
};
LINTEL_BOTH_ENGINES(Workers);

TEST_P(Workers, EndEveryJobOnceThoughOneOfThemIsKilled) {
  make_trials();
  if (HasFatalFailure()) return;
  WorkerProcess victim(worker_arguments("one"));
  const std::string mark = "-" + std::to_string(victim.pid()) + "-";
  // In the middle: the victim has said how far it is.
  ASSERT_TRUE(comes_true([&] {
    for (const store::Job& job : jobs()) {
      if (job.state == store::JobState::Running && job.done > 0 &&
          job.lease_owner.find(mark) != std::string::npos) {
        return true;
      }
    }
    return false;
  }));
  WorkerProcess second(worker_arguments("two"));
  WorkerProcess third(worker_arguments("three"));
  EXPECT_TRUE(WIFSIGNALED(victim.end(SIGKILL)));
  ASSERT_TRUE(comes_true([&] {
    for (const store::Job& job : jobs()) {
      if (job.state != store::JobState::Done) return false;
    }
    return true;
  }));
  EXPECT_EQ(WEXITSTATUS(second.end(SIGTERM)), 0);
  EXPECT_EQ(WEXITSTATUS(third.end(SIGTERM)), 0);

  int attempts = 0;
  for (const store::Job& job : jobs()) attempts += job.attempts;
  EXPECT_EQ(attempts, kTrials + 1);  // the victim's job was taken once more, no other
  store::RecordQuery query;
  query.organization = club_;
  query.kind = store::RecordKind::Trial;
  const auto trials = expect_value(
      store::read_value<store::RecordPage>(*practice_->database, [&](store::Transaction& t) {
        return store::list_records(t, query, store::Page{"", 100});
      }));
  ASSERT_EQ(trials.records.size(), static_cast<std::size_t>(kTrials));
  std::map<std::string, int> assessments;
  for (const store::Record& record : trials.records) {
    EXPECT_EQ(record.version, 2) << "recorded once: made, measured";
    const formats::TrialDocument trial = expect_value(app::trial_of(record));
    EXPECT_EQ(trial.state, formats::TrialState::Measured) << trial.fault;
    for (const formats::StoredFile& file : trial.results) {
      EXPECT_TRUE(practice_->media->find(file.sha256)) << file.name;
    }
    const formats::StoredFile* assessment = trial.result("assessment.json");
    ASSERT_NE(assessment, nullptr);
    ++assessments[assessment->sha256];
  }
  // The same clip gives the same bytes, whoever measured it.
  EXPECT_EQ(assessments.size(), 1u);
  EXPECT_TRUE(practice_->database->check_integrity());
}

}  // namespace
}  // namespace lintel::test
