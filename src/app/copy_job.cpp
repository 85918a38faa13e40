#include "app/copy_job.h"

#include <algorithm>
#include <utility>

#include "app/assess.h"
#include "app/record_access.h"
#include "app/screen_copy.h"
#include "app/trial_records.h"
#include "app/work_folder.h"
#include "store/accounts.h"
#include "store/record_columns.h"

namespace lintel::app {
namespace {

using store::Record;

bool needs_copy(const formats::TrialDocument& trial) {
  return trial.state == formats::TrialState::Measured && trial.result(kScreenCopy) == nullptr &&
         trial.clip.media_type.starts_with("video/");
}

Result<bool> has_open_job(store::Transaction& t, const Record& trial) {
  for (const store::JobState state : {store::JobState::Waiting, store::JobState::Running}) {
    store::JobQuery query;
    query.organization = trial.organization;
    query.record = trial.id;
    query.state = state;
    if (!LINTEL_TRY(store::list_jobs(t, query, {"", 1})).jobs.empty()) return true;
  }
  return false;
}

Result<std::int64_t> ask_in(store::Transaction& t, const std::string& organization,
                            const std::string& now) {
  store::RecordQuery query;
  query.organization = organization;
  query.kind = store::RecordKind::Trial;
  std::int64_t added = 0;
  store::Page page{"", 500};
  do {
    const store::RecordPage found = LINTEL_TRY(store::list_records(t, query, page));
    for (const Record& record : found.records) {
      const auto trial = trial_of(record);
      if (!trial || !needs_copy(*trial) || LINTEL_TRY(has_open_job(t, record))) continue;
      LINTEL_TRY(add_measuring_job(t, record, kMakeCopy, {record.created_by, now}));
      ++added;
    }
    page.after = found.next;
  } while (!page.after.empty());
  return added;
}

// The trial may have been edited or measured while the copy was made: the clip is the same.
Result<void> record_copy(store::Transaction& t, Practice& practice, const store::Job& job,
                         const formats::StoredFile& copy) {
  const Record record = LINTEL_TRY(store::find_record(t, job.organization, job.record));
  formats::TrialDocument trial = LINTEL_TRY(trial_of(record));
  if (!needs_copy(trial)) return {};
  trial.results.push_back(copy);
  std::ranges::sort(trial.results, {}, &formats::StoredFile::name);
  store::IndexRows index = LINTEL_TRY(store::columns_of_record(t, record.id));  // as they are
  LINTEL_TRY_VOID(store::refer_to_media(t, record.id, copy.sha256, copy.bytes, copy.media_type));
  LINTEL_TRY(change_record(
      t, practice, on_behalf_of(job.created_by, job.organization, "worker"), record,
      {record.version, formats::write_trial_json(trial), std::move(index), "light copy made"}));
  return {};
}

}  // namespace

Result<std::int64_t> ask_for_copies(Practice& practice) {
  const std::string now = practice.now();
  return store::write_value<std::int64_t>(
      *practice.database, [&](store::Transaction& t) -> Result<std::int64_t> {
        std::int64_t added = 0;
        for (const std::string& organization : LINTEL_TRY(store::list_organizations(t))) {
          added += LINTEL_TRY(ask_in(t, organization, now));
        }
        return added;
      });
}

Result<jobs::JobEnd> make_copy(Practice& practice, const store::Job& job, const WorkContext& work) {
  const Record record =
      LINTEL_TRY(store::read_value<Record>(*practice.database, [&](store::Transaction& t) {
        return store::find_record(t, job.organization, job.record);
      }));
  const formats::TrialDocument trial = LINTEL_TRY(trial_of(record));
  jobs::JobEnd end;
  end.record = [](store::Transaction&) { return Result<void>(); };
  if (!needs_copy(trial)) return end;
  const WorkFolder folder = LINTEL_TRY(WorkFolder::create());
  const std::filesystem::path clip = LINTEL_TRY(practice.media->find(trial.clip.sha256));
  LINTEL_TRY_VOID(write_screen_copy(clip, folder.path(), work));
  const store::StoredMedia media =
      LINTEL_TRY(practice.media->add_file(folder.path() / kScreenCopy));
  const formats::StoredFile copy{kScreenCopy, media.sha256, "video/mp4", media.bytes};
  end.record = [&practice, job, copy](store::Transaction& t) {
    return record_copy(t, practice, job, copy);
  };
  return end;
}

}  // namespace lintel::app
