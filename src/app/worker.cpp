#include "app/worker.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <condition_variable>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "app/copy_job.h"
#include "app/measure_job.h"
#include "app/trials.h"
#include "app/uploads.h"
#include "jobs/worker_loop.h"
#include "secure/random.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

// Host, process and a random part: unique among all workers of all machines.
std::string owner_name(const std::string& name) {
  std::array<char, 128> host{};
  if (::gethostname(host.data(), host.size() - 1) != 0) host[0] = '\0';
  return (name.empty() ? "worker" : name) + "-" + host.data() + "-" + std::to_string(::getpid()) +
         "-" + secure::random_token(9);
}

int threads_each(const WorkerOptions& options) {
  if (options.threads_each > 0) return options.threads_each;
  const auto cores = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  return std::max(1, cores / std::max(1, options.workers));
}

jobs::LoopOptions loop_options(Practice& practice, const WorkerOptions& options) {
  jobs::LoopOptions loop;
  loop.owner = owner_name(options.name);
  const int threads = threads_each(options);
  const auto measure = [&practice, threads](const store::Job& job, const WorkContext& work) {
    return measure_trial(practice, job, threads, work);
  };
  const auto copy = [&practice](const store::Job& job, const WorkContext& work) {
    return make_copy(practice, job, work);
  };
  loop.handlers = {{kMeasureClip, measure}, {kMeasureAgain, measure}, {kMakeCopy, copy}};
  loop.failed = [&practice](store::Transaction& t, const store::Job& job,
                            const Error& error) -> Result<void> {
    if (job.kind == kMakeCopy) return {};  // the measurement is as good as before
    return note_failed_trial(practice, t, job, error);
  };
  loop.now = practice.now;
  loop.lease_s = options.lease_s;
  loop.heartbeat_s = options.heartbeat_s;
  loop.idle_s = options.idle_s;
  loop.retry = options.retry;
  return loop;
}

// What attempts left behind that were killed.
void sweep_work_folders(const Practice& practice) {
  std::error_code code;
  const auto oldest = fs::file_time_type::clock::now() - std::chrono::hours(24);
  for (fs::directory_iterator at(practice.data / "work", code), end; !code && at != end;
       at.increment(code)) {
    std::error_code ignored;
    if (at->last_write_time(ignored) < oldest) fs::remove_all(at->path(), ignored);
  }
}

bool wait_for(const std::stop_token& stop, std::chrono::duration<double> time) {
  std::mutex mutex;
  std::condition_variable_any wake;
  std::unique_lock lock(mutex);
  wake.wait_for(lock, stop, time, [] { return false; });
  return stop.stop_requested();
}

void sweep_every_hour(Practice& practice, const std::stop_token& stop) {
  do {
    (void)sweep_uploads(practice);
    sweep_work_folders(practice);
  } while (!wait_for(stop, std::chrono::hours(1)));
}

// No job waits, not even for a later attempt, and none runs.
Result<bool> is_empty(Practice& practice) {
  const auto counts = LINTEL_TRY(store::read_value<store::JobCounts>(
      *practice.database, [](store::Transaction& t) { return store::count_jobs(t); }));
  return counts.waiting == 0 && counts.running == 0;
}

}  // namespace

struct Worker::Parts {
  std::vector<std::unique_ptr<jobs::WorkerLoop>> loops;
  std::vector<std::jthread> threads;
};

Worker::Worker(Practice& practice, WorkerOptions options) : parts_(std::make_unique<Parts>()) {
  for (int i = 0; i < std::max(1, options.workers); ++i) {
    parts_->loops.push_back(
        std::make_unique<jobs::WorkerLoop>(*practice.database, loop_options(practice, options)));
    jobs::WorkerLoop& loop = *parts_->loops.back();
    parts_->threads.emplace_back([&loop](const std::stop_token& stop) { loop.run(stop); });
  }
  parts_->threads.emplace_back(
      [&practice](const std::stop_token& stop) { sweep_every_hour(practice, stop); });
}

Worker::~Worker() {
  for (std::jthread& thread : parts_->threads) thread.request_stop();
}

std::int64_t Worker::ended() const {
  std::int64_t sum = 0;
  for (const auto& loop : parts_->loops) sum += loop->ended();
  return sum;
}

Result<bool> work_once(Practice& practice, const WorkerOptions& options, const WorkContext& work) {
  jobs::WorkerLoop loop(*practice.database, loop_options(practice, options));
  return loop.run_one(work.stop);
}

Result<std::int64_t> run_worker(const WorkerRequest& request, const WorkContext& work) {
  const std::unique_ptr<Practice> practice = LINTEL_TRY(open_practice(request.practice));
  if (request.make_copies) LINTEL_TRY(ask_for_copies(*practice));
  const Worker worker(*practice, request.options);
  const auto pause = std::chrono::duration<double>(request.options.idle_s);
  while (!wait_for(work.stop, pause)) {
    work.report("jobs", static_cast<double>(worker.ended()), 0);
    if (request.until_empty && LINTEL_TRY(is_empty(*practice))) break;
  }
  return worker.ended();
}

}  // namespace lintel::app
