#include "app/trials.h"

#include <map>
#include <utility>

#include "app/audit.h"
#include "app/record_access.h"
#include "app/text_file.h"
#include "app/trial_records.h"
#include "app/uploads.h"
#include "formats/athlete_json.h"
#include "formats/clip_answers_json.h"
#include "formats/record_json.h"
#include "store/uploads.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestAssessment = 16u << 20;

formats::JobFacts facts_of(const store::Job& job) {
  formats::JobFacts facts;
  facts.id = job.id;
  facts.kind = job.kind;
  facts.state = store::job_state_name(job.state);
  facts.athlete = job.athlete;
  facts.record = job.record;
  facts.stage = job.stage;
  facts.done = job.done;
  facts.total = job.total;
  facts.attempts = job.attempts;
  facts.cancel_asked = job.cancel_asked;
  facts.error_code = job.error_code;
  facts.error_message = job.error_message;
  facts.error_mend = job.error_mend;
  facts.not_before = job.not_before;
  facts.created_at = job.created_at;
  facts.changed_at = job.changed_at;
  facts.started_at = job.started_at;
  facts.finished_at = job.finished_at;
  return facts;
}

std::string trial_json(const store::Record& record, const std::optional<store::Job>& job) {
  return record_json(
      record, {{"job", job ? formats::write_job_json(facts_of(*job)) : std::string("null")}});
}

TrialAnswer answer_of(const store::Record& record, const std::optional<store::Job>& job) {
  return {record.id, trial_json(record, job), record.version};
}

Result<std::optional<store::Job>> newest_job(store::Transaction& t, const store::Record& trial) {
  store::JobQuery query;
  query.organization = trial.organization;
  query.record = trial.id;
  store::JobPage page = LINTEL_TRY(store::list_jobs(t, query, {"", 1}));
  if (page.jobs.empty()) return std::optional<store::Job>{};
  return std::optional<store::Job>(std::move(page.jobs.front()));
}

Error media_unknown() {
  Error error{ErrorCode::NotFound, "there is no clip with this digest", {}, "upload it first", {}};
  error.place.field = "media";
  return error;
}

// The bytes that a new trial is about. An upload is used up by it.
Result<formats::StoredFile> clip_of(store::Transaction& t, const Caller& caller,
                                    const formats::NewTrialBody& body, std::string_view now) {
  if (!body.upload.empty()) {
    const store::Upload upload =
        LINTEL_TRY(store::find_upload(t, caller.organization, body.upload, now));
    if (upload.created_by != caller.person || !upload.hand_off.empty()) {
      return fail(ErrorCode::NotFound, "there is no such upload", "begin it again");
    }
    if (!upload.complete()) {
      return fail(ErrorCode::Conflict, "the upload is not complete", "send the rest of it first");
    }
    LINTEL_TRY_VOID(store::remove_upload(t, upload.id));
    return formats::StoredFile{upload.name, upload.sha256, upload.media_type, upload.bytes};
  }
  const auto upload =
      LINTEL_TRY(store::find_complete_upload(t, caller.organization, body.media, now));
  if (upload && upload->created_by == caller.person) {
    return formats::StoredFile{upload->name, upload->sha256, upload->media_type, upload->bytes};
  }
  // An assistant must not find out which clips others have.
  if (caller.role == Role::Assistant) return fail(media_unknown());
  for (const store::MediaUse& use :
       LINTEL_TRY(store::media_uses(t, caller.organization, body.media))) {
    const auto record = store::find_record(t, caller.organization, use.record);
    if (!record || record->kind != store::RecordKind::Trial) continue;
    const formats::TrialDocument other = LINTEL_TRY(trial_of(*record));
    if (other.clip.sha256 == body.media) return other.clip;
  }
  return fail(media_unknown());
}

// Does this setup fit the athlete? Told at once, not by a job that fails.
Result<void> check_setup(store::Transaction& t, const store::Record& visit,
                         const std::string& setup) {
  if (setup.empty()) return {};
  const store::Record athlete =
      LINTEL_TRY(store::find_record(t, visit.organization, visit.athlete));
  const std::string text = LINTEL_TRY(formats::athlete_of_intake(athlete.document, setup));
  const auto reading = formats::read_athlete_json(text, "");
  if (reading.athlete) return {};
  return fail(joined_faults(reading.faults));
}

Result<store::Record> reach_trial(store::Transaction& t, const Caller& caller,
                                  Permission permission, std::string_view id) {
  return find_for(t, caller, permission, id, store::RecordKind::Trial);
}

// The record as it is now, or as one of its versions was.
Result<store::Record> trial_version(store::Transaction& t, const Caller& caller,
                                    std::string_view id, std::int64_t version) {
  store::Record newest = LINTEL_TRY(reach_trial(t, caller, Permission::ReadVisits, id));
  if (version == 0 || version == newest.version) return newest;
  for (store::Record& one : LINTEL_TRY(store::record_versions(t, caller.organization, newest.id))) {
    if (one.version == version) return std::move(one);
  }
  return fail(ErrorCode::NotFound, "the trial has no such version");
}

// The same in a transaction of its own, noted in the audit trail.
Result<store::Record> see_trial(Practice& practice, const Caller& caller, std::string_view id,
                                std::int64_t version) {
  const store::Record record =
      LINTEL_TRY(store::read_value<store::Record>(*practice.database, [&](store::Transaction& t) {
        return trial_version(t, caller, id, version);
      }));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"record_seen", record.id, record.athlete, {}}));
  return record;
}

Error no_result(const formats::TrialDocument& trial, std::string_view name) {
  switch (trial.state) {
    case formats::TrialState::Waiting:
      if (trial.results.empty()) {
        return Error{
            ErrorCode::NotFound, "the clip is not measured yet", {}, "wait for its job to end", {}};
      }
      break;
    case formats::TrialState::Failed:
      if (trial.results.empty()) {
        return Error{ErrorCode::NotFound,
                     "the clip could not be measured: " + trial.fault,
                     {},
                     trial.mend,
                     {}};
      }
      break;
    case formats::TrialState::Measured:
      break;
  }
  return Error{ErrorCode::NotFound,
               "the measurement has no file \"" + std::string(name.substr(0, 80)) + "\"",
               {},
               "\"results\" of the trial lists its files",
               {}};
}

}  // namespace

Result<TrialAnswer> make_trial(Practice& practice, const Caller& caller, std::string_view visit_id,
                               std::string_view text) {
  LINTEL_TRY_VOID(require(caller, Permission::EnterTests));
  auto reading = formats::read_new_trial_json(text);
  if (!reading.body) return fail(joined_faults(reading.faults));
  const formats::NewTrialBody& body = *reading.body;
  const std::string now = practice.now();
  return store::write_value<TrialAnswer>(
      *practice.database, [&](store::Transaction& t) -> Result<TrialAnswer> {
        NewTrial trial;
        trial.visit = LINTEL_TRY(
            find_for(t, caller, Permission::EnterTests, visit_id, store::RecordKind::Visit));
        LINTEL_TRY_VOID(check_setup(t, trial.visit, body.edit.setup));
        trial.clip = LINTEL_TRY(clip_of(t, caller, body, now));
        trial.edit = body.edit;
        const TrialAndJob added = LINTEL_TRY(add_trial(t, practice, caller, trial));
        return answer_of(added.trial, added.job);
      });
}

Result<std::string> list_trials(Practice& practice, const Caller& caller, std::string_view visit,
                                const store::Page& page) {
  const store::Record parent = LINTEL_TRY(
      see_record(practice, caller, Permission::ReadVisits, visit, store::RecordKind::Visit));
  store::RecordQuery query;
  query.organization = parent.organization;
  query.kind = store::RecordKind::Trial;
  query.parent = parent.id;
  if (caller.role == Role::Assistant) query.created_by = caller.person;
  return store::read_value<std::string>(
      *practice.database, [&](store::Transaction& t) -> Result<std::string> {
        const store::RecordPage found = LINTEL_TRY(store::list_records(t, query, page));
        std::vector<std::string> items;
        for (const store::Record& record : found.records) {
          items.push_back(trial_json(record, LINTEL_TRY(newest_job(t, record))));
        }
        return formats::write_page_json(items, found.next);
      });
}

Result<TrialAnswer> find_trial(Practice& practice, const Caller& caller, std::string_view trial) {
  const store::Record record = LINTEL_TRY(see_trial(practice, caller, trial, 0));
  return store::read_value<TrialAnswer>(
      *practice.database, [&](store::Transaction& t) -> Result<TrialAnswer> {
        return answer_of(record, LINTEL_TRY(newest_job(t, record)));
      });
}

namespace {

// Of the newest measurement. Errors: as trial_file.
Result<std::vector<TrialNumber>> numbers_of(Practice& practice, const Caller& caller,
                                            std::string_view trial) {
  const TrialFile file = LINTEL_TRY(trial_file(practice, caller, trial, "assessment.json"));
  const std::string text =
      LINTEL_TRY(read_text_file(file.path, kLargestAssessment, "measure the clip again"));
  const auto assessment = LINTEL_TRY(formats::read_assessment_json(text, file.name));
  return trial_numbers(assessment);
}

struct Edit {
  std::int64_t expected_version = 0;
  formats::TrialEdit edit;
  std::vector<TrialNumber> numbers;  // of the measurement so far
  std::string reason;
};

// Were the visit's tests or the athlete's data changed after the measurement read them?
Result<bool> inputs_are_newer(store::Transaction& t, const store::Record& visit,
                              const formats::TrialDocument& trial) {
  store::RecordQuery query;
  query.organization = visit.organization;
  query.kind = store::RecordKind::TestRecord;
  query.parent = visit.id;
  const store::RecordPage tests = LINTEL_TRY(store::list_records(t, query, {"", 1}));
  if (!tests.records.empty() && tests.records.front().changed_at > trial.measured_at) return true;
  const store::Record athlete =
      LINTEL_TRY(store::find_record(t, visit.organization, visit.athlete));
  return athlete.changed_at > trial.measured_at;
}

// Does this edit ask for a measurement? One that changes nothing at all does where there is
// something new to measure with: so the papers of a visit come to hold its tests.
Result<bool> asks_to_measure(store::Transaction& t, const store::Record& visit,
                             const formats::TrialDocument& trial, const formats::TrialEdit& edit) {
  if (trial.state == formats::TrialState::Failed) return true;
  if (!formats::same_measurement(trial.edit, edit)) return true;
  formats::TrialDocument next = trial;
  next.edit = edit;
  if (trial.state != formats::TrialState::Measured ||
      formats::write_trial_json(next) != formats::write_trial_json(trial)) {
    return false;
  }
  return inputs_are_newer(t, visit, trial);
}

// The next version of a trial after an edit, with the job that the edit asks for.
Result<TrialAnswer> keep_edit(store::Transaction& t, const Practice& practice, const Caller& caller,
                              const store::Record& record, const Edit& asked) {
  const formats::TrialEdit& edit = asked.edit;
  formats::TrialDocument trial = LINTEL_TRY(trial_of(record));
  const store::Record visit = LINTEL_TRY(store::find_record(t, record.organization, record.parent));
  const bool measure = LINTEL_TRY(asks_to_measure(t, visit, trial, edit));
  if (measure) LINTEL_TRY_VOID(check_setup(t, visit, edit.setup));
  trial.edit = edit;
  if (measure) {
    trial.state = formats::TrialState::Waiting;
    trial.fault = trial.mend = "";
  }
  // The columns stay those of the last measurement until the next one is there.
  const store::Record next =
      LINTEL_TRY(change_record(t, practice, caller, record,
                               {asked.expected_version, formats::write_trial_json(trial),
                                trial_index(visit.document, asked.numbers), asked.reason}));
  if (!measure) return answer_of(next, LINTEL_TRY(newest_job(t, next)));
  LINTEL_TRY_VOID(cancel_open_jobs(t, next, practice.now()));
  const bool again =
      trial.result("points.json") != nullptr && trial.look == formats::look_of(trial.edit);
  const store::Job job = LINTEL_TRY(add_measuring_job(t, next, again ? kMeasureAgain : kMeasureClip,
                                                      author_of(practice, caller)));
  return answer_of(next, job);
}

}  // namespace

Result<TrialAnswer> edit_trial(Practice& practice, const Caller& caller, std::string_view trial,
                               std::int64_t expected_version, std::string_view body,
                               std::string reason) {
  LINTEL_TRY_VOID(require(caller, Permission::EnterTests));
  const auto reading = formats::read_trial_edit_json(body);
  if (!reading.edit) return fail(joined_faults(reading.faults));
  Edit asked{expected_version, *reading.edit, {}, std::move(reason)};
  if (auto measured = numbers_of(practice, caller, trial)) asked.numbers = *std::move(measured);
  return store::write_value<TrialAnswer>(
      *practice.database, [&](store::Transaction& t) -> Result<TrialAnswer> {
        const store::Record record =
            LINTEL_TRY(reach_trial(t, caller, Permission::EnterTests, trial));
        return keep_edit(t, practice, caller, record, asked);
      });
}

Result<TrialFile> trial_file(Practice& practice, const Caller& caller, std::string_view trial,
                             std::string_view name, std::int64_t version) {
  const store::Record record = LINTEL_TRY(see_trial(practice, caller, trial, version));
  const formats::TrialDocument document = LINTEL_TRY(trial_of(record));
  const formats::StoredFile* file = document.result(name);
  if (file == nullptr) return fail(no_result(document, name));
  return TrialFile{file->name, file->media_type, LINTEL_TRY(practice.media->path_of(file->sha256)),
                   record.version};
}

Result<TrialFile> trial_clip(Practice& practice, const Caller& caller, std::string_view trial) {
  const store::Record record = LINTEL_TRY(see_trial(practice, caller, trial, 0));
  const formats::TrialDocument document = LINTEL_TRY(trial_of(record));
  return TrialFile{document.clip.name, document.clip.media_type,
                   LINTEL_TRY(practice.media->path_of(document.clip.sha256)), record.version};
}

Result<TrialAnswer> trial_assessment(Practice& practice, const Caller& caller,
                                     std::string_view trial, std::int64_t version) {
  const TrialFile file =
      LINTEL_TRY(trial_file(practice, caller, trial, "assessment.json", version));
  const std::string text =
      LINTEL_TRY(read_text_file(file.path, kLargestAssessment, "measure the clip again"));
  return TrialAnswer{std::string(trial),
                     formats::with_members(text, {{"version", std::to_string(file.version)}}),
                     file.version};
}

Result<std::string> compare_trials(Practice& practice, const Caller& caller, std::string_view a,
                                   std::string_view b) {
  formats::ComparisonFacts facts;
  facts.a = a;
  facts.b = b;
  std::map<std::string, std::size_t> places;
  for (const TrialNumber& n : LINTEL_TRY(numbers_of(practice, caller, a))) {
    places[n.measure] = facts.measures.size();
    facts.measures.push_back({n.measure, n.label, n.unit, n.value, std::nullopt});
  }
  for (const TrialNumber& n : LINTEL_TRY(numbers_of(practice, caller, b))) {
    const auto place = places.find(n.measure);
    if (place == places.end()) {
      facts.measures.push_back({n.measure, n.label, n.unit, std::nullopt, n.value});
    } else {
      facts.measures[place->second].b = n.value;
    }
  }
  return formats::write_comparison_json(facts);
}

// ---- Jobs

namespace {

Result<store::Job> reach_job(store::Transaction& t, const Caller& caller, Permission permission,
                             std::string_view id) {
  LINTEL_TRY_VOID(require(caller, permission));
  store::Job job = LINTEL_TRY(store::find_job(t, caller.organization, id));
  LINTEL_TRY_VOID(require_for(caller, permission, job.organization, job.athlete, job.created_by));
  return job;
}

JobAnswer answer_of(const store::Job& job) {
  return {formats::write_job_json(facts_of(job)), job.state, job.changed_at};
}

}  // namespace

Result<std::string> list_jobs(Practice& practice, const Caller& caller, std::string_view state,
                              std::string_view trial, const store::Page& page) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadVisits));
  store::JobQuery query;
  query.organization = caller.organization;
  query.record = trial;
  query.state = store::job_state_from(state);
  if (!state.empty() && !query.state) {
    Error error{ErrorCode::Invalid,
                "is not a state of jobs",
                {},
                "known are: waiting, running, done, failed, cancelled",
                {}};
    error.place.field = "state";
    return fail(std::move(error));
  }
  if (caller.role == Role::Assistant) query.created_by = caller.person;
  const store::JobPage found = LINTEL_TRY(store::read_value<store::JobPage>(
      *practice.database, [&](store::Transaction& t) { return store::list_jobs(t, query, page); }));
  std::vector<std::string> items;
  for (const store::Job& job : found.jobs) items.push_back(formats::write_job_json(facts_of(job)));
  return formats::write_page_json(items, found.next);
}

Result<JobAnswer> find_job(Practice& practice, const Caller& caller, std::string_view id) {
  return store::read_value<JobAnswer>(
      *practice.database, [&](store::Transaction& t) -> Result<JobAnswer> {
        return answer_of(LINTEL_TRY(reach_job(t, caller, Permission::ReadVisits, id)));
      });
}

Result<JobAnswer> cancel_job(Practice& practice, const Caller& caller, std::string_view id) {
  return store::write_value<JobAnswer>(
      *practice.database, [&](store::Transaction& t) -> Result<JobAnswer> {
        const store::Job job = LINTEL_TRY(reach_job(t, caller, Permission::EnterTests, id));
        const store::Job asked =
            LINTEL_TRY(store::ask_cancel(t, job.organization, job.id, practice.now()));
        LINTEL_TRY_VOID(
            note_change(t, practice, caller, {"job_cancelled", job.record, job.athlete, {}}));
        return answer_of(asked);
      });
}

Result<JobAnswer> retry_job(Practice& practice, const Caller& caller, std::string_view id) {
  return store::write_value<
      JobAnswer>(*practice.database, [&](store::Transaction& t) -> Result<JobAnswer> {
    const store::Job job = LINTEL_TRY(reach_job(t, caller, Permission::EnterTests, id));
    const store::Job again =
        LINTEL_TRY(store::retry_job(t, job.organization, job.id, practice.now()));
    LINTEL_TRY_VOID(note_change(t, practice, caller, {"job_retried", job.record, job.athlete, {}}));
    return answer_of(again);
  });
}

}  // namespace lintel::app
