#include "app/measure_job.h"

#include <unistd.h>

#include <algorithm>
#include <utility>

#include "app/assess.h"
#include "app/library.h"
#include "app/record_access.h"
#include "app/text_file.h"
#include "app/trial_records.h"
#include "app/uploads.h"
#include "app/version.h"
#include "body/test_outcome.h"
#include "formats/athlete_json.h"
#include "formats/observation_json.h"
#include "formats/test_record_json.h"
#include "secure/random.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr const char* kPoints = "points.json";
constexpr std::uintmax_t kLargestPoints = std::uintmax_t{512} << 20;

Error disk_error() {
  return Error{ErrorCode::Io,
               "the working folder cannot be used",
               {},
               "make room on the disk of the server",
               {}};
}

// A folder of this one attempt, gone at the end of the object.
class WorkFolder {
 public:
  static Result<WorkFolder> make(const Practice& practice, const store::Job& job) {
    fs::path folder = practice.data / "work" / (job.id + "-" + secure::random_token(6));
    std::error_code code;
    fs::create_directories(folder, code);
    if (code) return fail(disk_error());
    return WorkFolder(std::move(folder));
  }
  WorkFolder(WorkFolder&& other) noexcept : path_(std::exchange(other.path_, {})) {}
  WorkFolder& operator=(WorkFolder&&) = delete;
  ~WorkFolder() {
    std::error_code ignored;
    if (!path_.empty()) fs::remove_all(path_, ignored);
  }
  const fs::path& path() const { return path_; }

 private:
  explicit WorkFolder(fs::path path) : path_(std::move(path)) {}
  fs::path path_;
};

// What the database holds for the job, read at one moment.
struct Inputs {
  SharedLibrary library;
  store::Record trial, visit, athlete;
  std::optional<store::Record> tests;
};

Result<Inputs> read_inputs(store::Transaction& t, const store::Job& job) {
  Inputs in;
  in.library = LINTEL_TRY(library_of(t, job.organization));
  in.trial = LINTEL_TRY(store::find_record(t, job.organization, job.record));
  in.visit = LINTEL_TRY(store::find_record(t, job.organization, in.trial.parent));
  in.athlete = LINTEL_TRY(store::find_record(t, job.organization, in.trial.athlete));
  store::RecordQuery query;
  query.organization = job.organization;
  query.kind = store::RecordKind::TestRecord;
  query.parent = in.visit.id;
  store::RecordPage page = LINTEL_TRY(store::list_records(t, query, {"", 1}));
  if (!page.records.empty()) in.tests = std::move(page.records.front());
  return in;
}

// The athlete of the record with the trial's setup, and the visit's tests filled in. The tests'
// own athlete is this one, whatever id the file carries.
Result<std::string> athlete_text(const Inputs& in, const std::string& setup) {
  std::string text = LINTEL_TRY(formats::athlete_of_intake(in.athlete.document, setup));
  if (!in.tests) return text;
  auto athlete = formats::read_athlete_json(text, "athlete");
  if (!athlete.athlete) return fail(joined_faults(athlete.faults));
  const auto& protocols = in.library->protocols;
  auto tests = formats::read_test_record_json(in.tests->document, "tests", protocols);
  if (!tests.record) return fail(joined_faults(tests.faults));
  tests.record->athlete_id = athlete.athlete->id;
  const body::RecordOutcome outcome =
      LINTEL_TRY(body::evaluate_record(*tests.record, protocols, *athlete.athlete));
  return formats::write_athlete_json(body::with_results(*athlete.athlete, outcome));
}

NetworkVariant variant_of(const std::string& network) {
  if (network == "lite") return NetworkVariant::Lite;
  if (network == "heavy") return NetworkVariant::Heavy;
  return NetworkVariant::Full;
}

// The clip under its own name, so that files and messages call it as the person does.
Result<fs::path> named_clip(const Practice& practice, const formats::StoredFile& clip,
                            const fs::path& folder) {
  const fs::path bytes = LINTEL_TRY(practice.media->find(clip.sha256));
  const fs::path named = folder / clip.name;
  std::error_code code;
  fs::create_symlink(fs::absolute(bytes), named, code);
  if (code) return fail(disk_error());
  return named;
}

Result<AssessRequest> make_request(const Practice& practice, const Inputs& in,
                                   const formats::TrialDocument& trial, const fs::path& folder,
                                   int threads) {
  const formats::Look look = formats::look_of(trial.edit);
  AssessRequest request;
  fs::create_directory(folder / "clip");
  request.observe.clip = LINTEL_TRY(named_clip(practice, trial.clip, folder / "clip"));
  request.observe.variant = variant_of(look.network);
  if (!practice.models.empty()) request.observe.models = practice.models;
  request.observe.person = look.person;
  request.observe.look_for_disc = look.look_for_disc;
  request.observe.threads = threads;
  const std::string athlete = LINTEL_TRY(athlete_text(in, trial.edit.setup));
  request.athlete = folder / "athlete.json";
  LINTEL_TRY_VOID(write_text_file(*request.athlete, athlete, ExistingFile::Replace));
  request.output = folder / "results";
  if (trial.edit.vertical_roll) request.vertical_roll = Angle::radians(*trial.edit.vertical_roll);
  request.date = formats::date_of_visit(in.visit.document);
  request.corrections = trial.edit.corrections;
  request.curves_json = true;
  request.screen_copy = trial.result(kScreenCopy) == nullptr;  // the clip stays the same
  return request;
}

// From the kept points when they are of the same look, else from the pictures; the points are kept
// in the folder of results either way.
Result<AssessOutcome> assess_trial(const Practice& practice, const AssessRequest& request,
                                   const formats::TrialDocument& trial, const fs::path& folder,
                                   const WorkContext& work) {
  const formats::StoredFile* kept = trial.result(kPoints);
  std::string points;
  std::optional<Observation> observation;
  if (kept != nullptr && trial.look == formats::look_of(trial.edit)) {
    const fs::path file = LINTEL_TRY(practice.media->find(kept->sha256));
    points = LINTEL_TRY(read_text_file(file, kLargestPoints, "measure the clip again"));
    observation = LINTEL_TRY(formats::read_observation_json(points, kPoints));
  } else {
    observation = LINTEL_TRY(observe_for_assessment(request, work));
    points = formats::write_observation_json(*observation);
  }
  LINTEL_TRY_VOID(write_text_file(folder / kPoints, points, ExistingFile::Replace));
  points = {};
  return assess_observation(request, *observation, work);
}

// Every file of the results into the media folder, by name; with what is kept of those before.
Result<std::vector<formats::StoredFile>> store_results(const Practice& practice,
                                                       const fs::path& folder,
                                                       const fs::path& results,
                                                       const formats::StoredFile* kept) {
  std::vector<fs::path> files = {folder / kPoints};
  std::error_code code;
  for (fs::recursive_directory_iterator at(results, code), end; !code && at != end;
       at.increment(code)) {
    if (at->is_regular_file(code)) files.push_back(at->path());
  }
  if (code) return fail(disk_error());
  std::vector<formats::StoredFile> out;
  if (kept != nullptr) out.push_back(*kept);
  for (const fs::path& file : files) {
    const store::StoredMedia media = LINTEL_TRY(practice.media->add_file(file));
    const std::string name = file.filename().string();
    out.push_back({name, media.sha256, media_type_of(name), media.bytes});
  }
  std::ranges::sort(out, {}, &formats::StoredFile::name);
  return out;
}

Caller worker_of(const store::Job& job) {
  return on_behalf_of(job.created_by, job.organization, "worker");
}

// The end of the job: the trial's next version, unless somebody edited it in the meantime.
Result<void> record_results(store::Transaction& t, const Practice& practice, const store::Job& job,
                            const formats::TrialDocument& measured,
                            const std::vector<TrialNumber>& numbers) {
  const store::Record record = LINTEL_TRY(store::find_record(t, job.organization, job.record));
  formats::TrialDocument document = LINTEL_TRY(trial_of(record));
  if (!formats::same_measurement(document.edit, measured.edit)) return {};
  const store::Record visit = LINTEL_TRY(store::find_record(t, record.organization, record.parent));
  const formats::TrialEdit edit = document.edit;  // name and notes may have changed
  document = measured;
  document.edit = edit;
  for (const formats::StoredFile& file : document.results) {
    LINTEL_TRY_VOID(store::refer_to_media(t, record.id, file.sha256, file.bytes, file.media_type));
  }
  LINTEL_TRY(change_record(t, practice, worker_of(job), record,
                           {record.version, formats::write_trial_json(document),
                            trial_index(visit.document, numbers), "measured"}));
  return {};
}

// Of the measurement before, whose results are still there.
std::vector<TrialNumber> kept_numbers(const Practice& practice,
                                      const formats::TrialDocument& trial) {
  const auto assessment = stored_assessment(practice, trial);
  return assessment ? trial_numbers(*assessment) : std::vector<TrialNumber>{};
}

}  // namespace

Result<jobs::JobEnd> measure_trial(Practice& practice, const store::Job& job, int threads,
                                   const WorkContext& work) {
  // What is stored while the clip is measured is newer than the measurement.
  const std::string read_at = practice.now();
  const Inputs in = LINTEL_TRY(store::read_value<Inputs>(
      *practice.database, [&](store::Transaction& t) { return read_inputs(t, job); }));
  formats::TrialDocument trial = LINTEL_TRY(trial_of(in.trial));
  const WorkFolder folder = LINTEL_TRY(WorkFolder::make(practice, job));
  const AssessRequest request =
      LINTEL_TRY(make_request(practice, in, trial, folder.path(), threads));
  const AssessOutcome outcome =
      LINTEL_TRY(assess_trial(practice, request, trial, folder.path(), work));
  work.report("keep", 0, 1);
  trial.results = LINTEL_TRY(
      store_results(practice, folder.path(), *request.output, trial.result(kScreenCopy)));
  trial.state = formats::TrialState::Measured;
  trial.fault = trial.mend = "";
  trial.measured_at = read_at;
  trial.program_version = version();
  trial.summary = outcome.summary;
  trial.corrected = !trial.edit.corrections.empty();
  trial.look = formats::look_of(trial.edit);
  const auto assessment =
      LINTEL_TRY(formats::read_assessment_json(outcome.assessment_json, "assessment.json"));
  jobs::JobEnd end;
  end.record = [&practice, job, trial, numbers = trial_numbers(assessment)](store::Transaction& t) {
    return record_results(t, practice, job, trial, numbers);
  };
  return end;
}

Result<void> note_failed_trial(Practice& practice, store::Transaction& t, const store::Job& job,
                               const Error& error) {
  const store::Record record = LINTEL_TRY(store::find_record(t, job.organization, job.record));
  formats::TrialDocument trial = LINTEL_TRY(trial_of(record));
  trial.state = formats::TrialState::Failed;
  trial.fault = error.message;
  if (!error.place.field.empty()) trial.fault = error.place.field + ": " + trial.fault;
  trial.mend = error.mend;
  const store::Record visit = LINTEL_TRY(store::find_record(t, record.organization, record.parent));
  LINTEL_TRY(change_record(
      t, practice, worker_of(job), record,
      {record.version, formats::write_trial_json(trial),
       trial_index(visit.document, kept_numbers(practice, trial)), "could not be measured"}));
  return {};
}

}  // namespace lintel::app
