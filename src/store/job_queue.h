// Work that waits for a worker: kept in the database, taken under a lease, finished once.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"
#include "store/records.h"

namespace lintel::store {

enum class JobState : std::uint8_t { Waiting, Running, Done, Failed, Cancelled };
std::string_view job_state_name(JobState state);  // "waiting", ...
std::optional<JobState> job_state_from(std::string_view name);

// All times are ISO 8601 UTC with milliseconds, by the clock of whoever calls.
struct Job {
  std::string id;    // UUID
  std::string kind;  // "measure_clip", ...
  std::string organization, athlete, record, created_by;
  std::string input;   // JSON, for the kind
  std::string output;  // JSON of the finished job; empty before
  JobState state = JobState::Waiting;
  int attempts = 0;        // started so far
  std::string not_before;  // not taken earlier
  std::string lease_owner, lease_until;
  bool cancel_asked = false;
  std::string stage;  // progress
  double done = 0.0, total = 0.0;
  std::string error_code, error_message, error_mend;  // of the last attempt that failed
  std::string created_at, changed_at, started_at, finished_at;
};

struct NewJob {
  std::string kind, organization, athlete, record, created_by;
  std::string input = "{}";
};
Result<Job> add_job(Transaction& t, const NewJob& job, std::string_view now);

// How often a job is started, and how long it waits between two attempts: base * 2^(attempts - 1),
// at most `longest_s`.
struct RetryRule {
  int most_attempts = 4;
  double base_s = 5.0;
  double longest_s = 600.0;
};
double back_off_s(const RetryRule& rule, int attempts);

struct Lease {
  std::string owner;     // of the worker, unique among all
  double length_s = 60;  // taken by another when it has not been extended for so long
};

// The job that waits longest, or one whose worker has been silent past its lease; it runs now, with
// one attempt more. Nothing when there is none. No two workers get the same one: SQLite writes one
// at a time; PostgreSQL skips locked rows. Of a job whose workers died the taker looks at attempts
// and cancel_asked: fail_job ends it.
Result<std::optional<Job>> take_job(Transaction& t, const std::vector<std::string>& kinds,
                                    const Lease& lease, std::string_view now);

enum class Heartbeat : std::uint8_t { Held, CancelAsked, Lost };
struct JobProgress {
  std::string stage;
  double done = 0.0, total = 0.0;  // total 0 = not known
};
// Extends the lease and writes the progress down. Lost: somebody else has the job, or it is gone.
Result<Heartbeat> beat_job(Transaction& t, std::string_view id, const Lease& lease,
                           const JobProgress& progress, std::string_view now);

// The end of a job, for the owner of its lease alone. Errors: Conflict when the lease was lost: in
// the transaction that records the results nothing is then done twice.
Result<void> finish_job(Transaction& t, std::string_view id, std::string_view owner,
                        std::string_view output, std::string_view now);
// Waits for the next attempt, or fails for good: Invalid, Unsupported, NotFound, Limit and Denied
// at once, all else after the last attempt. Cancelled ends as cancelled.
Result<JobState> fail_job(Transaction& t, std::string_view id, std::string_view owner,
                          const Error& error, const RetryRule& rule, std::string_view now);
// Given back untouched (the worker stops): waits again, the attempt does not count.
Result<void> release_job(Transaction& t, std::string_view id, std::string_view owner,
                         std::string_view now);

// A waiting job is cancelled at once, a running one when its worker hears of it. Errors: NotFound;
// Conflict when it has ended.
Result<Job> ask_cancel(Transaction& t, std::string_view organization, std::string_view id,
                       std::string_view now);
// A failed or cancelled job from the start. Errors: NotFound; Conflict for any other.
Result<Job> retry_job(Transaction& t, std::string_view organization, std::string_view id,
                      std::string_view now);

// Errors: NotFound, also for a job of another organization.
Result<Job> find_job(Transaction& t, std::string_view organization, std::string_view id);
struct JobQuery {
  std::string organization;
  std::optional<JobState> state;
  std::string athlete, record, kind, created_by;  // empty = any
};
struct JobPage {
  std::vector<Job> jobs;  // the newest first
  std::string next;       // cursor; empty = that was all
};
Result<JobPage> list_jobs(Transaction& t, const JobQuery& query, const Page& page);

// How many jobs wait and run, of all organizations.
struct JobCounts {
  std::int64_t waiting = 0, running = 0;
};
Result<JobCounts> count_jobs(Transaction& t);

// For the erasure of an athlete; answers how many there were.
Result<std::int64_t> remove_jobs_of_athlete(Transaction& t, std::string_view organization,
                                            std::string_view athlete);

}  // namespace lintel::store
