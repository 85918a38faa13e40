#include "jobs/worker_loop.h"

#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <thread>

#include "base/instant.h"
#include "support/store_fixture.h"

namespace lintel::jobs {
namespace {

using lintel::test::expect_value;
using lintel::test::kNow;
using store::JobState;

class WorkerLoopTest : public lintel::test::StoreTest {
 protected:
  store::Job add() {
    store::NewJob job;
    job.kind = "work";
    job.organization = "skarnholm";
    return expect_value(store::write_value<store::Job>(
        database(), [&](store::Transaction& t) { return store::add_job(t, job, now()); }));
  }
  store::Job find(const store::Job& job) {
    return expect_value(store::read_value<store::Job>(database(), [&](store::Transaction& t) {
      return store::find_job(t, "skarnholm", job.id);
    }));
  }
  LoopOptions options(JobHandler handler) {
    LoopOptions loop;
    loop.owner = "this worker";
    loop.handlers = {{"work", std::move(handler)}};
    loop.now = [this] { return now(); };
    loop.heartbeat_s = 0.01;
    loop.idle_s = 0.01;
    loop.retry = {2, 5, 60};
    return loop;
  }
  // A job that stands for the record that the work leaves.
  std::function<Result<void>(store::Transaction&)> leave_mark() {
    return [this](store::Transaction& t) -> Result<void> {
      store::NewJob mark;
      mark.kind = "mark";
      mark.organization = "skarnholm";
      LINTEL_TRY(store::add_job(t, mark, now()));
      return {};
    };
  }
  std::size_t marks() {
    store::JobQuery query;
    query.organization = "skarnholm";
    query.kind = "mark";
    return expect_value(store::read_value<store::JobPage>(database(),
                                                          [&](store::Transaction& t) {
                                                            return store::list_jobs(t, query,
                                                                                    store::Page{});
                                                          }))
        .jobs.size();
  }
  std::string now() const { return instant_after(kNow, passed_); }

  std::atomic<double> passed_{0};
};
LINTEL_BOTH_ENGINES(WorkerLoopTest);

TEST_P(WorkerLoopTest, RecordsTheResultWithTheEndOfTheJob) {
  const store::Job job = add();
  WorkerLoop loop(database(), options([&](const store::Job&, const WorkContext&) {
                    return Result<JobEnd>(JobEnd{leave_mark(), R"({"found":1})"});
                  }));
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_FALSE(expect_value(loop.run_one({})));
  EXPECT_EQ(find(job).state, JobState::Done);
  EXPECT_EQ(find(job).output, R"({"found":1})");
  EXPECT_EQ(marks(), 1u);
  EXPECT_EQ(loop.ended(), 1);
}

TEST_P(WorkerLoopTest, KeepsNothingOfAResultThatCannotBeRecorded) {
  const store::Job job = add();
  WorkerLoop loop(database(), options([&](const store::Job&, const WorkContext&) {
                    return Result<JobEnd>(JobEnd{[this](store::Transaction& t) -> Result<void> {
                                                   LINTEL_TRY_VOID(leave_mark()(t));
                                                   return fail(ErrorCode::Io, "the disk is full");
                                                 },
                                                 "{}"});
                  }));
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_EQ(marks(), 0u);
  EXPECT_EQ(find(job).state, JobState::Waiting);  // it is tried again
  EXPECT_EQ(find(job).error_message, "the disk is full");
}

TEST_P(WorkerLoopTest, TriesAgainLaterAndTellsTheLastFailure) {
  const store::Job job = add();
  int told = 0;
  LoopOptions loop_options = options([](const store::Job&, const WorkContext&) -> Result<JobEnd> {
    throw std::runtime_error("/a/path that nobody should see");
  });
  loop_options.failed = [&](store::Transaction&, const store::Job&, const Error&) -> Result<void> {
    ++told;
    return {};
  };
  WorkerLoop loop(database(), loop_options);
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_EQ(find(job).state, JobState::Waiting);
  EXPECT_EQ(find(job).error_message.find("/a/path"), std::string::npos);
  EXPECT_FALSE(expect_value(loop.run_one({})));  // not before its time
  EXPECT_EQ(told, 0);
  passed_ = 5.1;
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_EQ(find(job).state, JobState::Failed);
  EXPECT_EQ(told, 1);
}

TEST_P(WorkerLoopTest, FailsAJobWhoseWorkersDied) {
  const store::Job job = add();
  const store::Lease dead{"dead worker", 60};
  for (int i = 0; i < 2; ++i) {
    EXPECT_TRUE(expect_value(store::write_value<std::optional<store::Job>>(
        database(),
        [&](store::Transaction& t) { return store::take_job(t, {"work"}, dead, now()); })));
    passed_ = passed_ + 61;
  }
  bool started = false;
  WorkerLoop loop(database(), options([&](const store::Job&, const WorkContext&) {
                    started = true;
                    return Result<JobEnd>(JobEnd{});
                  }));
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_FALSE(started);
  EXPECT_EQ(find(job).state, JobState::Failed);
}

TEST_P(WorkerLoopTest, StopsTheWorkWhenACancelIsAsked) {
  const store::Job job = add();
  WorkerLoop loop(
      database(), options([&](const store::Job& taken, const WorkContext& work) -> Result<JobEnd> {
        LINTEL_TRY(store::write_value<store::Job>(database(), [&](store::Transaction& t) {
          return store::ask_cancel(t, "skarnholm", taken.id, now());
        }));
        while (!work.cancelled()) std::this_thread::yield();
        return fail(cancelled_error());
      }));
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_EQ(find(job).state, JobState::Cancelled);
}

TEST_P(WorkerLoopTest, GivesItsJobBackWhenItIsStopped) {
  const store::Job job = add();
  std::stop_source stop;
  WorkerLoop loop(database(),
                  options([&](const store::Job&, const WorkContext& work) -> Result<JobEnd> {
                    stop.request_stop();
                    while (!work.cancelled()) std::this_thread::yield();
                    return fail(cancelled_error());
                  }));
  EXPECT_TRUE(expect_value(loop.run_one(stop.get_token())));
  EXPECT_EQ(find(job).state, JobState::Waiting);
  EXPECT_EQ(find(job).attempts, 0);
}

TEST_P(WorkerLoopTest, RecordsNothingWhenItsLeaseWasLost) {
  const store::Job job = add();
  WorkerLoop loop(
      database(), options([&](const store::Job&, const WorkContext&) -> Result<JobEnd> {
        // Asleep past the lease: another worker takes the job and ends it.
        const store::Lease other{"other worker", 60};
        passed_ = passed_ + 1000;
        const auto taken = LINTEL_TRY(store::write_value<std::optional<store::Job>>(
            database(),
            [&](store::Transaction& t) { return store::take_job(t, {"work"}, other, now()); }));
        if (taken) {
          LINTEL_TRY_VOID(database().write([&](store::Transaction& t) {
            return store::finish_job(t, taken->id, other.owner, R"({"by":"other"})", now());
          }));
        }
        return JobEnd{leave_mark(), R"({"by":"this"})"};
      }));
  // The heartbeat may have extended the lease in between; then nobody else got the job.
  EXPECT_TRUE(expect_value(loop.run_one({})));
  const store::Job ended = find(job);
  EXPECT_EQ(ended.state, JobState::Done);
  EXPECT_EQ(marks(), ended.output == R"({"by":"this"})" ? 1u : 0u);
}

TEST_P(WorkerLoopTest, WritesItsProgressDown) {
  const store::Job job = add();
  bool seen = false;
  WorkerLoop loop(database(), options([&](const store::Job&, const WorkContext& work) {
                    work.report("find the body", 7, 9);
                    while (find(job).done != 7) std::this_thread::yield();
                    seen = find(job).stage == "find the body" && find(job).total == 9;
                    return Result<JobEnd>(JobEnd{});
                  }));
  EXPECT_TRUE(expect_value(loop.run_one({})));
  EXPECT_TRUE(seen);
}

}  // namespace
}  // namespace lintel::jobs
