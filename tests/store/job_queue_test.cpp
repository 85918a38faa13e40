#include "store/job_queue.h"

#include <gtest/gtest.h>

#include <atomic>
#include <map>
#include <mutex>
#include <set>
#include <thread>

#include "base/instant.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::kNow;

class JobQueueTest : public lintel::test::StoreTest {
 protected:
  template <typename F>
  auto write(F&& body) {
    using Answer = std::invoke_result_t<F&, Transaction&>;
    return write_value<typename Answer::value_type>(database(), std::forward<F>(body));
  }
  Job add(const std::string& kind = "measure", const std::string& organization = "skarnholm") {
    NewJob job;
    job.kind = kind;
    job.organization = organization;
    job.athlete = "ansa";
    job.record = "trial";
    job.created_by = "runa";
    job.input = R"({"größer":"中"})";
    return expect_value(write([&](Transaction& t) { return add_job(t, job, now_); }));
  }
  std::optional<Job> take(const std::string& owner, const std::string& kind = "measure") {
    return expect_value(write([&](Transaction& t) {
      return take_job(t, {kind, "other kind"}, Lease{owner, 60}, now_);
    }));
  }
  Heartbeat beat(const Job& job, const std::string& owner) {
    return expect_value(write([&](Transaction& t) {
      return beat_job(t, job.id, Lease{owner, 60}, {"find body", 3, 90}, now_);
    }));
  }
  Result<void> finish(const Job& job, const std::string& owner) {
    return database().write(
        [&](Transaction& t) { return finish_job(t, job.id, owner, R"({"a":1})", now_); });
  }
  JobState fail_with(const Job& job, const std::string& owner, ErrorCode code) {
    const Error error{code, "the disk is full", {}, "make room", {}};
    return expect_value(
        write([&](Transaction& t) { return fail_job(t, job.id, owner, error, rule_, now_); }));
  }
  Job find(const Job& job) {
    return expect_value(
        write([&](Transaction& t) { return find_job(t, job.organization, job.id); }));
  }
  std::string ask(const std::string& sql) {
    std::string answer = ask_outside(sql);
    while (!answer.empty() && answer.back() == '\n') answer.pop_back();
    return answer;
  }
  void pass(double seconds) { now_ = instant_after(now_, seconds); }

  std::string now_ = kNow;
  RetryRule rule_{3, 5.0, 600.0};
};
LINTEL_BOTH_ENGINES(JobQueueTest);

TEST_P(JobQueueTest, KeepsWhatAJobIsAndTakesTheOldestOnce) {
  const Job first = add();
  pass(0.001);
  const Job second = add();
  open_again();
  const auto taken = take("a");
  ASSERT_TRUE(taken);
  EXPECT_EQ(taken->id, first.id);
  EXPECT_EQ(taken->input, R"({"größer":"中"})");
  EXPECT_EQ(taken->state, JobState::Running);
  EXPECT_EQ(taken->attempts, 1);
  EXPECT_EQ(taken->lease_until, instant_after(now_, 60));
  const auto other = take("b");
  ASSERT_TRUE(other);
  EXPECT_EQ(other->id, second.id);
  EXPECT_FALSE(take("c"));
  EXPECT_EQ(ask("SELECT COUNT(*) FROM jobs WHERE state = 'running'"), "2");
}

TEST_P(JobQueueTest, LeavesJobsOfOtherKindsAlone) {
  add("sweep");
  EXPECT_FALSE(take("a"));
  EXPECT_TRUE(take("a", "sweep"));
}

TEST_P(JobQueueTest, TakesAJobAgainAfterItsLeaseAndTellsTheFirstWorker) {
  const Job job = add();
  ASSERT_TRUE(take("a"));
  pass(50);
  EXPECT_EQ(beat(job, "a"), Heartbeat::Held);
  EXPECT_EQ(find(job).stage, "find body");
  pass(50);  // within the extended lease
  EXPECT_FALSE(take("b"));
  pass(11);
  const auto again = take("b");
  ASSERT_TRUE(again);
  EXPECT_EQ(again->attempts, 2);
  EXPECT_EQ(beat(job, "a"), Heartbeat::Lost);
  const Result<void> late = finish(job, "a");
  ASSERT_FALSE(late);
  EXPECT_EQ(late.error().code, ErrorCode::Conflict);
  EXPECT_TRUE(finish(job, "b"));
  EXPECT_EQ(find(job).state, JobState::Done);
  EXPECT_EQ(find(job).output, R"({"a":1})");
}

TEST_P(JobQueueTest, RecordsNothingForAWorkerThatLostItsLease) {
  const Job job = add();
  ASSERT_TRUE(take("a"));
  pass(61);
  ASSERT_TRUE(take("b"));
  const Result<void> late = database().write([&](Transaction& t) -> Result<void> {
    NewJob result;  // stands for a record that the job writes
    result.kind = "result";
    result.organization = "skarnholm";
    LINTEL_TRY(add_job(t, result, now_));
    return finish_job(t, job.id, "a", "{}", now_);
  });
  ASSERT_FALSE(late);
  EXPECT_EQ(ask("SELECT COUNT(*) FROM jobs WHERE kind = 'result'"), "0");
}

TEST_P(JobQueueTest, WaitsLongerAfterEachFailureAndGivesUpInTheEnd) {
  const Job job = add();
  ASSERT_TRUE(take("a"));
  EXPECT_EQ(fail_with(job, "a", ErrorCode::Io), JobState::Waiting);
  EXPECT_EQ(find(job).not_before, instant_after(now_, 5));
  EXPECT_EQ(find(job).error_mend, "make room");
  pass(4.9);
  EXPECT_FALSE(take("a"));
  pass(0.2);
  ASSERT_TRUE(take("a"));
  EXPECT_EQ(fail_with(job, "a", ErrorCode::Internal), JobState::Waiting);
  EXPECT_EQ(find(job).not_before, instant_after(now_, 10));
  pass(10);
  ASSERT_TRUE(take("a"));
  EXPECT_EQ(fail_with(job, "a", ErrorCode::Io), JobState::Failed);
  const Job ended = find(job);
  EXPECT_EQ(ended.state, JobState::Failed);
  EXPECT_EQ(ended.error_code, error_code_name(ErrorCode::Io));
  EXPECT_EQ(ended.finished_at, now_);
  EXPECT_FALSE(take("a"));
}

TEST_P(JobQueueTest, DoesNotTryAgainWhatCannotWork) {
  for (const ErrorCode code : {ErrorCode::Invalid, ErrorCode::Unsupported, ErrorCode::NotFound,
                               ErrorCode::Limit, ErrorCode::Denied}) {
    const Job job = add();
    ASSERT_TRUE(take("a"));
    EXPECT_EQ(fail_with(job, "a", code), JobState::Failed) << error_code_name(code);
  }
}

TEST_P(JobQueueTest, CancelsAWaitingJobAtOnceAndARunningOneByItsWorker) {
  const auto cancel = [&](const Job& job) {
    return write([&](Transaction& t) { return ask_cancel(t, job.organization, job.id, now_); });
  };
  const Job waiting = add();
  EXPECT_EQ(expect_value(cancel(waiting)).state, JobState::Cancelled);
  EXPECT_FALSE(take("a"));
  const Job running = add();
  ASSERT_TRUE(take("a"));
  EXPECT_EQ(expect_value(cancel(running)).state, JobState::Running);
  EXPECT_EQ(beat(running, "a"), Heartbeat::CancelAsked);
  EXPECT_EQ(fail_with(running, "a", ErrorCode::Cancelled), JobState::Cancelled);
  const auto late = cancel(running);
  ASSERT_FALSE(late);
  EXPECT_EQ(late.error().code, ErrorCode::Conflict);
  // Once more from the start, by hand.
  const Job again = expect_value(
      write([&](Transaction& t) { return retry_job(t, running.organization, running.id, now_); }));
  EXPECT_EQ(again.state, JobState::Waiting);
  EXPECT_EQ(again.attempts, 0);
  EXPECT_EQ(take("b")->id, running.id);
  EXPECT_EQ(beat(running, "b"), Heartbeat::Held);
}

TEST_P(JobQueueTest, GivesBackWithoutCountingTheAttempt) {
  const Job job = add();
  ASSERT_TRUE(take("a"));
  ASSERT_TRUE(database().write([&](Transaction& t) { return release_job(t, job.id, "a", now_); }));
  EXPECT_EQ(find(job).attempts, 0);
  EXPECT_EQ(take("b")->attempts, 1);
}

TEST_P(JobQueueTest, ShowsAnOrganizationItsOwnJobsPageByPage) {
  for (int i = 0; i < 5; ++i) add();
  add("measure", "elsewhere");
  JobQuery query;
  query.organization = "skarnholm";
  std::set<std::string> seen;
  std::string after;
  int pages = 0;
  do {
    const JobPage page = expect_value(write([&](Transaction& t) {
      return list_jobs(t, query, Page{after, 2});
    }));
    for (const Job& job : page.jobs) EXPECT_TRUE(seen.insert(job.id).second);
    after = page.next;
    ++pages;
  } while (!after.empty());
  EXPECT_EQ(seen.size(), 5u);
  EXPECT_EQ(pages, 3);
  const Job other = add("measure", "elsewhere");
  const auto hidden = write([&](Transaction& t) { return find_job(t, "skarnholm", other.id); });
  ASSERT_FALSE(hidden);
  EXPECT_EQ(hidden.error().code, ErrorCode::NotFound);
  query.state = JobState::Done;
  EXPECT_TRUE(expect_value(write([&](Transaction& t) {
                return list_jobs(t, query, Page{});
              })).jobs.empty());
}

TEST_P(JobQueueTest, RemovesTheJobsOfOneAthlete) {
  add();
  add();
  const std::int64_t gone = expect_value(
      write([&](Transaction& t) { return remove_jobs_of_athlete(t, "skarnholm", "ansa"); }));
  EXPECT_EQ(gone, 2);
  EXPECT_EQ(ask("SELECT COUNT(*) FROM jobs"), "0");
}

TEST_P(JobQueueTest, HandsEachJobToOneOfManyWorkers) {
  constexpr int kJobs = 60;
  constexpr int kWorkers = 4;
  for (int i = 0; i < kJobs; ++i) add();
  std::mutex mutex;
  std::map<std::string, int> taken;
  std::atomic<int> faults{0};
  {
    std::vector<std::jthread> workers;
    for (int w = 0; w < kWorkers; ++w) {
      workers.emplace_back([&, owner = "worker " + std::to_string(w)] {
        for (;;) {
          const auto job = write([&](Transaction& t) {
            return take_job(t, {"measure"}, Lease{owner, 60}, now_);
          });
          if (!job) {
            ++faults;
            return;
          }
          if (!*job) return;
          {
            const std::lock_guard lock(mutex);
            ++taken[(*job)->id];
          }
          if (!database().write(
                  [&](Transaction& t) { return finish_job(t, (*job)->id, owner, "{}", now_); })) {
            ++faults;
          }
        }
      });
    }
  }
  EXPECT_EQ(faults, 0);
  EXPECT_EQ(taken.size(), static_cast<std::size_t>(kJobs));
  for (const auto& [id, times] : taken) EXPECT_EQ(times, 1);
  EXPECT_EQ(ask("SELECT COUNT(*) FROM jobs WHERE state = 'done' AND attempts = 1"),
            std::to_string(kJobs));
}

TEST(BackOff, DoublesUpToItsLimit) {
  const RetryRule rule{10, 5.0, 60.0};
  EXPECT_DOUBLE_EQ(back_off_s(rule, 1), 5);
  EXPECT_DOUBLE_EQ(back_off_s(rule, 2), 10);
  EXPECT_DOUBLE_EQ(back_off_s(rule, 4), 40);
  EXPECT_DOUBLE_EQ(back_off_s(rule, 5), 60);
  EXPECT_DOUBLE_EQ(back_off_s(rule, 1000), 60);
}

}  // namespace
}  // namespace lintel::store
