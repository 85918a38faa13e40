// Takes jobs from the queue and does them: threads in `lintel serve`, or a `lintel worker` process.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "store/job_queue.h"

namespace lintel::app {

struct WorkerOptions {
  int workers = 1;         // jobs at once
  int threads_each = 0;    // of one job; 0 = the cores shared among the workers
  double lease_s = 60;     // a job is taken again when its worker was silent for so long
  double heartbeat_s = 1;  // between two signs of life; also how fine progress is
  double idle_s = 0.5;     // between two looks at an empty queue
  store::RetryRule retry = {};
  std::string name = {};  // begins the owner of the leases; empty = "worker"
};

// Runs from construction to destruction, which stops the jobs (they are taken again) and waits.
// Also sweeps old uploads and working folders every hour.
class Worker {
 public:
  Worker(Practice& practice, WorkerOptions options);
  ~Worker();
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;

  std::int64_t ended() const;  // jobs that ended here, whichever way

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// Takes and does one job on this thread. False: there was none.
Result<bool> work_once(Practice& practice, const WorkerOptions& options, const WorkContext& work);

// `lintel worker`
struct WorkerRequest {
  PracticeOptions practice;
  WorkerOptions options;
  bool until_empty = false;  // ends when no job waits or runs; else at the stop
  bool make_copies = false;  // first asks for the light copies that are missing (copy_job.h)
};
// Answers how many jobs ended here. Errors: those of open_practice, of the database.
Result<std::int64_t> run_worker(const WorkerRequest& request, const WorkContext& work);

}  // namespace lintel::app
