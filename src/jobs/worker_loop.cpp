#include "jobs/worker_loop.h"

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <exception>
#include <mutex>
#include <thread>
#include <utility>

namespace lintel::jobs {
namespace {

using Seconds = std::chrono::duration<double>;

// Waits for so long, or until the stop. True: stopped.
bool wait_for(const std::stop_token& stop, double seconds) {
  std::mutex mutex;
  std::condition_variable_any wake;
  std::unique_lock lock(mutex);
  wake.wait_for(lock, stop, Seconds(seconds), [] { return false; });
  return stop.stop_requested();
}

// Extends the lease of one job on a thread of its own and stops the work when it is lost or a
// cancel was asked.
class Heart {
 public:
  Heart(store::Database& database, const LoopOptions& options, const store::Job& job)
      : database_(database), options_(options), job_(job) {
    thread_ = std::jthread([this](const std::stop_token& stop) {
      while (!wait_for(stop, options_.heartbeat_s)) beat();
    });
  }
  ~Heart() { stop(); }
  Heart(const Heart&) = delete;
  Heart& operator=(const Heart&) = delete;

  void stop() {
    if (!thread_.joinable()) return;
    thread_.request_stop();
    thread_.join();
  }

  void note(const Progress& progress) {
    const std::lock_guard lock(mutex_);
    progress_ = {std::string(progress.stage), progress.done, progress.total};
  }
  std::stop_source& stop_work() { return stop_work_; }
  bool cancel_asked() const { return cancel_asked_; }
  bool lost() const { return lost_; }

 private:
  void beat() {
    store::JobProgress progress;
    {
      const std::lock_guard lock(mutex_);
      progress = progress_;
    }
    const store::Lease lease{options_.owner, options_.lease_s};
    const auto heard = store::write_value<store::Heartbeat>(database_, [&](store::Transaction& t) {
      return store::beat_job(t, job_.id, lease, progress, options_.now());
    });
    if (!heard) return;  // the database may come back before the lease ends
    if (*heard == store::Heartbeat::CancelAsked) cancel_asked_ = true;
    if (*heard == store::Heartbeat::Lost) lost_ = true;
    if (cancel_asked_ || lost_) stop_work_.request_stop();
  }

  store::Database& database_;
  const LoopOptions& options_;
  const store::Job& job_;
  std::mutex mutex_;
  store::JobProgress progress_;
  std::stop_source stop_work_;
  std::atomic<bool> cancel_asked_{false};
  std::atomic<bool> lost_{false};
  std::jthread thread_;
};

Result<JobEnd> run_handler(const JobHandler& handler, const store::Job& job,
                           const WorkContext& work) {
  try {
    return handler(job, work);
  } catch (const std::exception&) {
    // What it says may name paths; the kind of fault is enough.
    return fail(ErrorCode::Internal, "the work broke off by a fault of the program",
                "try it again; report it when it happens twice");
  }
}

}  // namespace

WorkerLoop::WorkerLoop(store::Database& database, LoopOptions options)
    : database_(database), options_(std::move(options)) {
  for (const auto& [kind, handler] : options_.handlers) kinds_.push_back(kind);
}

Result<bool> WorkerLoop::run_one(const std::stop_token& stop) {
  const store::Lease lease{options_.owner, options_.lease_s};
  const auto job = LINTEL_TRY(store::write_value<std::optional<store::Job>>(
      database_,
      [&](store::Transaction& t) { return store::take_job(t, kinds_, lease, options_.now()); }));
  if (!job) return false;
  if (job->cancel_asked) {
    note_failure(*job, cancelled_error());
  } else if (job->attempts > options_.retry.most_attempts) {
    note_failure(*job, {ErrorCode::Internal,
                        "its workers stopped in the middle of it again and again",
                        {},
                        "try it once more by hand; a shorter clip needs less memory",
                        {}});
  } else {
    work(*job, stop);
  }
  return true;
}

void WorkerLoop::work(const store::Job& job, const std::stop_token& stop) {
  Heart heart(database_, options_, job);
  const std::stop_callback forward(stop, [&heart] { heart.stop_work().request_stop(); });
  const WorkContext context{heart.stop_work().get_token(),
                            [&heart](const Progress& progress) { heart.note(progress); }};
  Result<JobEnd> end = run_handler(options_.handlers.at(job.kind), job, context);
  heart.stop();
  if (heart.lost()) return;
  const std::string& owner = options_.owner;
  if (end) {
    const Result<void> kept = database_.write([&](store::Transaction& t) -> Result<void> {
      // The lease first: who has lost it must not touch the record.
      LINTEL_TRY_VOID(store::finish_job(t, job.id, owner, end->output, options_.now()));
      return end->record ? end->record(t) : Result<void>{};
    });
    if (kept) {
      ++ended_;
      return;
    }
    end = fail(kept.error());
  }
  if (stop.stop_requested() && !heart.cancel_asked() && end.error().code == ErrorCode::Cancelled) {
    // The worker stops: somebody else starts from the beginning, or after the lease if this fails.
    (void)database_.write([&](store::Transaction& t) {
      return store::release_job(t, job.id, owner, options_.now());
    });
    return;
  }
  note_failure(job, end.error());
}

void WorkerLoop::note_failure(const store::Job& job, const Error& error) {
  const Result<void> noted = database_.write([&](store::Transaction& t) -> Result<void> {
    const store::JobState state = LINTEL_TRY(
        store::fail_job(t, job.id, options_.owner, error, options_.retry, options_.now()));
    if (state == store::JobState::Failed && options_.failed) {
      return options_.failed(t, job, error);
    }
    return {};
  });
  if (noted) ++ended_;
}

void WorkerLoop::run(const std::stop_token& stop) {
  double pause = options_.idle_s;
  while (!stop.stop_requested()) {
    const Result<bool> done = run_one(stop);
    if (done && *done) {
      pause = options_.idle_s;
      continue;
    }
    constexpr double kLongestPause = 15;
    pause = done ? options_.idle_s : std::min(2 * pause, kLongestPause);
    if (wait_for(stop, pause)) return;
  }
}

}  // namespace lintel::jobs
