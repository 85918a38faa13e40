// The loop of a worker: takes jobs from the store, runs their handlers, keeps the lease alive.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <map>
#include <stop_token>
#include <string>

#include "base/progress.h"
#include "base/result.h"
#include "store/database.h"
#include "store/job_queue.h"

namespace lintel::jobs {

// What a job came to. `record` runs in the transaction in which the job ends: either both are
// there afterwards or neither. It may run several times (Database::write) and touches nothing but
// the database.
struct JobEnd {
  std::function<Result<void>(store::Transaction&)> record;
  std::string output = "{}";  // JSON
};
// Does the work of one job; may be called again for the same job after a crash.
using JobHandler = std::function<Result<JobEnd>(const store::Job&, const WorkContext&)>;
// Told of an error after which the job is not tried again; in the transaction of that end.
using FailureHandler =
    std::function<Result<void>(store::Transaction&, const store::Job&, const Error&)>;

struct LoopOptions {
  std::string owner;                           // of the leases; unique among all workers
  std::map<std::string, JobHandler> handlers;  // by kind
  FailureHandler failed = {};
  std::function<std::string()> now;  // ISO 8601 UTC
  double lease_s = 60;
  double heartbeat_s = 5;
  double idle_s = 0.5;
  store::RetryRule retry = {};
};

// Not thread-safe: one loop a thread.
class WorkerLoop {
 public:
  WorkerLoop(store::Database& database, LoopOptions options);

  // Takes and does one job. False: there was none. Errors: those of the database alone; a job that
  // fails is noted, not reported.
  Result<bool> run_one(const std::stop_token& stop);
  // Until the stop; waits idle_s (longer while the database fails) when there is nothing to do.
  void run(const std::stop_token& stop);

  std::int64_t ended() const { return ended_; }  // jobs that ended here, whichever way

 private:
  void work(const store::Job& job, const std::stop_token& stop);
  void note_failure(const store::Job& job, const Error& error);

  store::Database& database_;
  LoopOptions options_;
  std::vector<std::string> kinds_;
  std::atomic<std::int64_t> ended_{0};
};

}  // namespace lintel::jobs
