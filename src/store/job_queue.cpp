#include "store/job_queue.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "base/instant.h"
#include "secure/random.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

constexpr std::array<std::string_view, 5> kStates = {"waiting", "running", "done", "failed",
                                                     "cancelled"};
constexpr int kMostOfAPage = 500;

const std::string kColumns =
    "id, sequence, kind, organization, athlete, record, created_by, input, output, state, "
    "attempts, not_before, lease_owner, lease_until, cancel_asked, stage, done, total, "
    "error_code, error_message, error_mend, created_at, changed_at, started_at, finished_at";

struct JobRow {
  Job job;
  std::int64_t sequence = 0;
};

// What one job's columns are read into.
struct JobTarget {
  Job job;
  std::string state;
  std::int64_t sequence = 0, attempts = 0, cancel_asked = 0;

  template <typename Prepared>
  void into(Prepared& prepared) {
    (void)(prepared, soci::into(job.id), soci::into(sequence), soci::into(job.kind),
           soci::into(job.organization), soci::into(job.athlete), soci::into(job.record),
           soci::into(job.created_by), soci::into(job.input), soci::into(job.output),
           soci::into(state), soci::into(attempts), soci::into(job.not_before),
           soci::into(job.lease_owner), soci::into(job.lease_until), soci::into(cancel_asked),
           soci::into(job.stage), soci::into(job.done), soci::into(job.total),
           soci::into(job.error_code), soci::into(job.error_message), soci::into(job.error_mend),
           soci::into(job.created_at), soci::into(job.changed_at), soci::into(job.started_at),
           soci::into(job.finished_at));
  }
  JobRow get() const {
    JobRow row{job, sequence};
    row.job.state = job_state_from(state).value_or(JobState::Failed);
    row.job.attempts = static_cast<int>(attempts);
    row.job.cancel_asked = cancel_asked != 0;
    return row;
  }
};

// Runs a statement that answers whole jobs; each of `bindings` is a soci::use.
template <typename... Bindings>
std::vector<JobRow> jobs_of(soci::session& sql, const std::string& text, Bindings&&... bindings) {
  JobTarget target;
  soci::details::prepare_temp_type prepared(sql);
  prepared << text;
  ((void)(prepared, std::forward<Bindings>(bindings)), ...);
  target.into(prepared);
  soci::statement statement(prepared);
  statement.execute();
  std::vector<JobRow> rows;
  while (statement.fetch()) rows.push_back(target.get());
  return rows;
}

Error no_job() {
  return Error{ErrorCode::NotFound, "there is no such job", {}, "", {}};
}

Error lease_lost() {
  return Error{ErrorCode::Conflict, "another worker has this job now", {}, "", {}};
}

Result<Job> one_job(soci::session& sql, const std::string& organization, const std::string& id) {
  auto rows = jobs_of(
      sql, "SELECT " + kColumns + " FROM jobs WHERE id = :id AND organization = :organization",
      soci::use(id, "id"), soci::use(organization, "organization"));
  if (rows.empty()) return fail(no_job());
  return std::move(rows.front().job);
}

bool is_permanent(ErrorCode code) {
  switch (code) {
    case ErrorCode::Invalid:
    case ErrorCode::Unsupported:
    case ErrorCode::NotFound:
    case ErrorCode::Limit:
    case ErrorCode::Denied:
      return true;
    case ErrorCode::Conflict:
    case ErrorCode::Cancelled:
    case ErrorCode::Io:
    case ErrorCode::Internal:
      break;
  }
  return false;
}

// The end of a running job, whatever it is.
struct Ending {
  JobState state = JobState::Done;
  std::string output;
  Error error = {};
};

std::string message_of(const Error& error) {
  if (error.place.field.empty()) return error.message;
  return error.place.field + ": " + error.message;
}

Result<void> end_job(soci::session& sql, const std::string& id, const std::string& owner,
                     const Ending& ending, const std::string& now) {
  const std::string state(job_state_name(ending.state));
  const bool failed = ending.state == JobState::Failed;
  const std::string code(failed ? error_code_name(ending.error.code) : "");
  const std::string message = failed ? message_of(ending.error) : "";
  const std::string mend = failed ? ending.error.mend : "";
  const std::int64_t rows = run_statement(
      sql,
      "UPDATE jobs SET state = :state, output = :output, error_code = :code, error_message = "
      ":message, error_mend = :mend, lease_owner = '', lease_until = '', changed_at = :now1, "
      "finished_at = :now2 WHERE id = :id AND lease_owner = :owner AND state = 'running'",
      soci::use(state, "state"), soci::use(ending.output, "output"), soci::use(code, "code"),
      soci::use(message, "message"), soci::use(mend, "mend"), soci::use(now, "now1"),
      soci::use(now, "now2"), soci::use(id, "id"), soci::use(owner, "owner"));
  if (rows == 0) return fail(lease_lost());
  return {};
}

// "sequence.id" of the last row of the page before.
struct Cursor {
  std::int64_t sequence = 0;
  std::string id;
};
Result<Cursor> cursor_of(const std::string& after) {
  Cursor cursor;
  if (after.empty()) return cursor;
  const char* end = after.data() + after.size();
  const auto [stop, status] = std::from_chars(after.data(), end, cursor.sequence);
  if (status != std::errc{} || stop == end || *stop != '.' || cursor.sequence < 1) {
    Error error{ErrorCode::Invalid,
                "this is not a cursor of jobs",
                {},
                "take \"next\" of the page before",
                {}};
    error.place.field = "after";
    return fail(std::move(error));
  }
  cursor.id.assign(stop + 1, end);
  return cursor;
}

}  // namespace

std::string_view job_state_name(JobState state) {
  return kStates[static_cast<std::size_t>(state)];
}

std::optional<JobState> job_state_from(std::string_view name) {
  const auto found = std::ranges::find(kStates, name);
  if (found == kStates.end()) return std::nullopt;
  return static_cast<JobState>(found - kStates.begin());
}

double back_off_s(const RetryRule& rule, int attempts) {
  const double doubled = rule.base_s * std::exp2(std::clamp(attempts - 1, 0, 30));
  return std::min(doubled, rule.longest_s);
}

Result<Job> add_job(Transaction& t, const NewJob& job, std::string_view now_view) {
  return run_sql(t, "adding a job", [&](soci::session& sql) -> Result<Job> {
    const std::string id = secure::random_id();
    const std::string now(now_view);
    const std::int64_t sequence = parse_instant(now_view).value_or(1);
    sql << "INSERT INTO jobs (" + kColumns +
               ") VALUES (:id, :sequence, :kind, :organization, :athlete, :record, :created_by, "
               ":input, '', 'waiting', 0, :not_before, '', '', 0, '', 0, 0, '', '', '', "
               ":created_at, :changed_at, '', '')",
        soci::use(id, "id"), soci::use(sequence, "sequence"), soci::use(job.kind, "kind"),
        soci::use(job.organization, "organization"), soci::use(job.athlete, "athlete"),
        soci::use(job.record, "record"), soci::use(job.created_by, "created_by"),
        soci::use(job.input, "input"), soci::use(now, "not_before"), soci::use(now, "created_at"),
        soci::use(now, "changed_at");
    return one_job(sql, job.organization, id);
  });
}

namespace {

std::optional<Job> take_next(Transaction& t, soci::session& sql,
                             const std::vector<std::string>& kinds, const Lease& lease,
                             const std::string& now) {
  const std::string until = instant_after(now, lease.length_s);
  std::string names;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    names += (i > 0 ? ", :kind" : ":kind") + std::to_string(i);
  }
  const std::string skip = t.sqlite() ? "" : " FOR UPDATE SKIP LOCKED";
  const std::string text =
      "UPDATE jobs SET state = 'running', attempts = attempts + 1, lease_owner = :owner, "
      "lease_until = :until, started_at = :now1, changed_at = :now2, stage = '', done = 0, total "
      "= 0 WHERE id = (SELECT id FROM jobs WHERE ((state = 'waiting' AND not_before <= :now3) OR "
      "(state = 'running' AND lease_until < :now4)) AND kind IN (" +
      names + ") ORDER BY not_before, sequence, id LIMIT 1" + skip + ") RETURNING " + kColumns;
  JobTarget target;
  soci::details::prepare_temp_type prepared(sql);
  (void)(prepared << text, soci::use(lease.owner, "owner"), soci::use(until, "until"),
         soci::use(now, "now1"), soci::use(now, "now2"), soci::use(now, "now3"),
         soci::use(now, "now4"));
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    (void)(prepared, soci::use(kinds[i], "kind" + std::to_string(i)));
  }
  target.into(prepared);
  soci::statement statement(prepared);
  statement.execute();
  if (!statement.fetch()) return std::nullopt;
  return target.get().job;
}

}  // namespace

Result<std::optional<Job>> take_job(Transaction& t, const std::vector<std::string>& kinds,
                                    const Lease& lease, std::string_view now) {
  if (kinds.empty()) return std::optional<Job>{};
  return run_sql(t, "taking a job", [&](soci::session& sql) {
    return take_next(t, sql, kinds, lease, std::string(now));
  });
}

Result<Heartbeat> beat_job(Transaction& t, std::string_view id_view, const Lease& lease,
                           const JobProgress& progress, std::string_view now_view) {
  return run_sql(t, "extending a lease", [&](soci::session& sql) {
    const std::string id(id_view), now(now_view);
    const std::string until = instant_after(now, lease.length_s);
    const std::int64_t rows = run_statement(
        sql,
        "UPDATE jobs SET lease_until = :until, changed_at = :now, stage = :stage, done = :done, "
        "total = :total WHERE id = :id AND lease_owner = :owner AND state = 'running'",
        soci::use(until, "until"), soci::use(now, "now"), soci::use(progress.stage, "stage"),
        soci::use(progress.done, "done"), soci::use(progress.total, "total"), soci::use(id, "id"),
        soci::use(lease.owner, "owner"));
    if (rows == 0) return Heartbeat::Lost;
    std::int64_t asked = 0;
    sql << "SELECT cancel_asked FROM jobs WHERE id = :id", soci::use(id, "id"), soci::into(asked);
    return asked != 0 ? Heartbeat::CancelAsked : Heartbeat::Held;
  });
}

Result<void> finish_job(Transaction& t, std::string_view id, std::string_view owner,
                        std::string_view output, std::string_view now) {
  return run_sql(t, "finishing a job", [&](soci::session& sql) {
    return end_job(sql, std::string(id), std::string(owner), {JobState::Done, std::string(output)},
                   std::string(now));
  });
}

Result<JobState> fail_job(Transaction& t, std::string_view id_view, std::string_view owner_view,
                          const Error& error, const RetryRule& rule, std::string_view now_view) {
  return run_sql(t, "noting a failed job", [&](soci::session& sql) -> Result<JobState> {
    const std::string id(id_view), owner(owner_view), now(now_view);
    std::int64_t attempts = 0;
    std::int64_t asked = 0;
    sql << "SELECT attempts, cancel_asked FROM jobs WHERE id = :id AND lease_owner = :owner AND "
           "state = 'running'",
        soci::use(id, "id"), soci::use(owner, "owner"), soci::into(attempts), soci::into(asked);
    if (!sql.got_data()) return fail(lease_lost());
    Ending ending{JobState::Failed, {}, error};
    if (asked != 0 || error.code == ErrorCode::Cancelled) ending.state = JobState::Cancelled;
    if (ending.state == JobState::Cancelled || is_permanent(error.code) ||
        attempts >= rule.most_attempts) {
      LINTEL_TRY_VOID(end_job(sql, id, owner, ending, now));
      return ending.state;
    }
    const std::string later = instant_after(now, back_off_s(rule, static_cast<int>(attempts)));
    const std::string code(error_code_name(error.code));
    const std::string message = message_of(error);
    sql << "UPDATE jobs SET state = 'waiting', not_before = :later, lease_owner = '', lease_until "
           "= '', error_code = :code, error_message = :message, error_mend = :mend, changed_at = "
           ":now WHERE id = :id",
        soci::use(later, "later"), soci::use(code, "code"), soci::use(message, "message"),
        soci::use(error.mend, "mend"), soci::use(now, "now"), soci::use(id, "id");
    return JobState::Waiting;
  });
}

Result<void> release_job(Transaction& t, std::string_view id_view, std::string_view owner_view,
                         std::string_view now_view) {
  return run_sql(t, "giving a job back", [&](soci::session& sql) -> Result<void> {
    const std::string id(id_view), owner(owner_view), now(now_view);
    const std::int64_t rows = run_statement(
        sql,
        "UPDATE jobs SET state = 'waiting', attempts = attempts - 1, not_before = :now1, "
        "lease_owner = '', lease_until = '', changed_at = :now2, stage = '', done = 0, total = 0 "
        "WHERE id = :id AND lease_owner = :owner AND state = 'running'",
        soci::use(now, "now1"), soci::use(now, "now2"), soci::use(id, "id"),
        soci::use(owner, "owner"));
    if (rows == 0) return fail(lease_lost());
    return {};
  });
}

Result<Job> ask_cancel(Transaction& t, std::string_view organization_view, std::string_view id_view,
                       std::string_view now_view) {
  return run_sql(t, "cancelling a job", [&](soci::session& sql) -> Result<Job> {
    const std::string organization(organization_view), id(id_view), now(now_view);
    const Job job = LINTEL_TRY(one_job(sql, organization, id));
    if (job.state == JobState::Waiting) {
      sql << "UPDATE jobs SET state = 'cancelled', cancel_asked = 1, changed_at = :now1, "
             "finished_at = :now2 WHERE id = :id AND state = 'waiting'",
          soci::use(now, "now1"), soci::use(now, "now2"), soci::use(id, "id");
    } else if (job.state == JobState::Running) {
      sql << "UPDATE jobs SET cancel_asked = 1, changed_at = :now WHERE id = :id AND state = "
             "'running'",
          soci::use(now, "now"), soci::use(id, "id");
    } else {
      return fail(ErrorCode::Conflict,
                  "the job has ended: it is " + std::string(job_state_name(job.state)));
    }
    return one_job(sql, organization, id);
  });
}

Result<Job> retry_job(Transaction& t, std::string_view organization_view, std::string_view id_view,
                      std::string_view now_view) {
  return run_sql(t, "starting a job again", [&](soci::session& sql) -> Result<Job> {
    const std::string organization(organization_view), id(id_view), now(now_view);
    const Job job = LINTEL_TRY(one_job(sql, organization, id));
    if (job.state != JobState::Failed && job.state != JobState::Cancelled) {
      return fail(ErrorCode::Conflict,
                  "only a failed or cancelled job can be started again; this one is " +
                      std::string(job_state_name(job.state)));
    }
    sql << "UPDATE jobs SET state = 'waiting', attempts = 0, cancel_asked = 0, not_before = :now1, "
           "error_code = '', error_message = '', error_mend = '', finished_at = '', changed_at = "
           ":now2 WHERE id = :id",
        soci::use(now, "now1"), soci::use(now, "now2"), soci::use(id, "id");
    return one_job(sql, organization, id);
  });
}

Result<Job> find_job(Transaction& t, std::string_view organization, std::string_view id) {
  return run_sql(t, "reading a job", [&](soci::session& sql) {
    return one_job(sql, std::string(organization), std::string(id));
  });
}

Result<JobPage> list_jobs(Transaction& t, const JobQuery& query, const Page& page) {
  const Cursor cursor = LINTEL_TRY(cursor_of(page.after));
  return run_sql(t, "listing jobs", [&](soci::session& sql) {
    const std::string state(query.state ? job_state_name(*query.state) : "");
    const int limit = std::clamp(page.limit, 1, kMostOfAPage);
    const std::int64_t one_more = limit + 1;
    const auto& q = query;
    auto rows = jobs_of(
        sql,
        "SELECT " + kColumns +
            " FROM jobs WHERE organization = :organization AND (:state1 = '' OR state = :state2) "
            "AND (:athlete1 = '' OR athlete = :athlete2) AND (:record1 = '' OR record = :record2) "
            "AND (:kind1 = '' OR kind = :kind2) AND (:person1 = '' OR created_by = :person2) "
            "AND (CAST(:sequence1 AS BIGINT) = 0 OR sequence < :sequence2 OR (sequence = "
            ":sequence3 AND id < "
            ":id)) ORDER BY sequence DESC, id DESC LIMIT :most",
        soci::use(q.organization, "organization"), soci::use(state, "state1"),
        soci::use(state, "state2"), soci::use(q.athlete, "athlete1"),
        soci::use(q.athlete, "athlete2"), soci::use(q.record, "record1"),
        soci::use(q.record, "record2"), soci::use(q.kind, "kind1"), soci::use(q.kind, "kind2"),
        soci::use(q.created_by, "person1"), soci::use(q.created_by, "person2"),
        soci::use(cursor.sequence, "sequence1"), soci::use(cursor.sequence, "sequence2"),
        soci::use(cursor.sequence, "sequence3"), soci::use(cursor.id, "id"),
        soci::use(one_more, "most"));
    JobPage out;
    if (rows.size() > static_cast<std::size_t>(limit)) {
      rows.resize(static_cast<std::size_t>(limit));
      out.next = std::to_string(rows.back().sequence) + "." + rows.back().job.id;
    }
    for (JobRow& row : rows) out.jobs.push_back(std::move(row.job));
    return out;
  });
}

Result<JobCounts> count_jobs(Transaction& t) {
  return run_sql(t, "counting jobs", [&](soci::session& sql) {
    JobCounts counts;
    sql << "SELECT COUNT(*) FROM jobs WHERE state = 'waiting'", soci::into(counts.waiting);
    sql << "SELECT COUNT(*) FROM jobs WHERE state = 'running'", soci::into(counts.running);
    return counts;
  });
}

Result<std::int64_t> remove_jobs_of_athlete(Transaction& t, std::string_view organization_view,
                                            std::string_view athlete_view) {
  return run_sql(t, "removing jobs", [&](soci::session& sql) {
    const std::string organization(organization_view), athlete(athlete_view);
    return run_statement(
        sql, "DELETE FROM jobs WHERE organization = :organization AND athlete = :athlete",
        soci::use(organization, "organization"), soci::use(athlete, "athlete"));
  });
}

}  // namespace lintel::store
