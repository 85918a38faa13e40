#include "app/athlete_records.h"

#include "app/audit.h"
#include "app/text_file.h"
#include "formats/caseload_json.h"
#include "formats/json_defaults.h"
#include "formats/located_json.h"
#include "secure/random.h"
#include "store/caseload_queries.h"

namespace lintel::app {
namespace {

using store::Record;
using store::RecordKind;

constexpr std::array<std::string_view, 6> kViews = {"all",     "today", "due",
                                                    "stalled", "new",   "archived"};

std::string completed(std::string_view document, const std::string& id) {
  const std::string text =
      formats::with_defaults(document, "", {{"schema", "\"lintel-intake-1\""}});
  return formats::with_defaults(
      text, "athlete", {{"schema", "\"lintel-athlete-1\""}, {"id", formats::json_text_of(id)}});
}

store::IndexRows index_of(const formats::Intake& intake) {
  store::AthleteRow row;
  row.name = intake.athlete.name.empty() ? intake.athlete.id : intake.athlete.name;
  if (intake.birth_date) row.birth_date = intake.birth_date->iso();
  row.sex = intake.athlete.sex == body::Sex::Female ? "female" : "male";
  row.tags = intake.tags;
  store::IndexRows index;
  index.athlete = std::move(row);
  return index;
}

std::vector<formats::RawMember> cautions() {
  return {{"cautions", formats::cautions_json_text()}};
}

Result<store::CaseloadView> view_of(const std::string& name) {
  const auto view = store::caseload_view_from(name);
  if (view) return *view;
  const std::vector<std::string> known(kViews.begin(), kViews.end());
  const std::string_view nearest = formats::nearest_word(name, known);
  Error error{ErrorCode::Invalid,
              "\"" + name + "\" is no view",
              {},
              nearest.empty() ? "known are: all, today, due, stalled, new, archived"
                              : "did you mean \"" + std::string(nearest) + "\"?",
              {}};
  error.place.field = "view";
  return fail(std::move(error));
}

}  // namespace

Result<formats::Intake> intake_of(const Record& record) {
  auto reading = formats::read_intake_json(record.document, "");
  if (!reading.intake) return fail(joined_faults(reading.faults));
  return *std::move(reading.intake);
}

Result<Answer> create_athlete(Practice& practice, const Caller& caller, std::string_view document,
                              Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const std::string id = secure::random_id();
  store::NewRecord record;
  record.kind = RecordKind::Athlete;
  record.organization = caller.organization;
  record.athlete = id;
  record.id = id;
  record.document = completed(document, id);
  auto reading = formats::read_intake_json(record.document, "");
  if (!reading.intake) return document_fault(std::move(reading.faults), faults);
  record.index = index_of(*reading.intake);
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    return add_record(t, practice, caller, record);
  };
  const Record added = LINTEL_TRY(store::write_value<Record>(*practice.database, body));
  return answer_of(added, cautions());
}

Result<Answer> show_athlete(Practice& practice, const Caller& caller, std::string_view athlete) {
  return answer_of(LINTEL_TRY(see_record(practice, caller, Permission::ReadRecords, athlete,
                                         RecordKind::Athlete)),
                   cautions());
}

Result<Answer> change_athlete(Practice& practice, const Caller& caller, std::string_view athlete,
                              const AthleteChange& change, Faults& faults) {
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Record before =
        LINTEL_TRY(find_for(t, caller, Permission::WriteRecords, athlete, RecordKind::Athlete));
    const std::string own_id = LINTEL_TRY(intake_of(before)).athlete.id;
    NewVersion next{change.expected_version, completed(change.document, own_id), {}, change.reason};
    auto reading = formats::read_intake_json(next.document, "");
    if (!reading.intake) return document_fault(std::move(reading.faults), faults);
    if (reading.intake->athlete.id != own_id) {
      Error error{ErrorCode::Invalid,
                  "is \"" + reading.intake->athlete.id + "\", but this athlete's is \"" + own_id +
                      "\": tests and plans are kept by it",
                  {},
                  "leave it as it is",
                  {}};
      error.place.field = "athlete.id";
      return fail(std::move(error));
    }
    next.index = index_of(*reading.intake);
    return change_record(t, practice, caller, before, std::move(next));
  };
  const Record changed = LINTEL_TRY(store::write_value<Record>(*practice.database, body));
  return answer_of(changed, cautions());
}

Result<Answer> archive_athlete(Practice& practice, const Caller& caller, std::string_view athlete,
                               std::int64_t expected_version, Archive where, std::string reason) {
  const auto state =
      where == Archive::In ? store::RecordState::Archived : store::RecordState::Active;
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Record before =
        LINTEL_TRY(find_for(t, caller, Permission::WriteRecords, athlete, RecordKind::Athlete));
    if (before.state == state) return before;
    const std::int64_t expected = expected_version > 0 ? expected_version : before.version;
    Record after = LINTEL_TRY(store::set_record_state(t, before.id, expected, state, reason,
                                                      author_of(practice, caller)));
    LINTEL_TRY_VOID(note_change(t, practice, caller,
                                {where == Archive::In ? "athlete_archived" : "athlete_brought_back",
                                 after.id,
                                 after.athlete,
                                 {}}));
    return after;
  };
  const Record changed = LINTEL_TRY(store::write_value<Record>(*practice.database, body));
  return answer_of(changed, cautions());
}

Result<std::string> list_athletes(Practice& practice, const Caller& caller,
                                  const CaseloadRequest& request) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadCaseload));
  if (request.as == ListAs::Csv) LINTEL_TRY_VOID(require(caller, Permission::TakeOut));
  store::CaseloadQuery query;
  query.organization = caller.organization;
  query.view = LINTEL_TRY(view_of(request.view));
  query.today = practice.today();
  query.search = request.search;
  query.tag = request.tag;
  formats::CaseloadList list;
  list.shows = caller.has(Permission::ReadRecords) ? formats::RowShows::Everything
                                                   : formats::RowShows::NamesOnly;
  const auto body = [&](store::Transaction& t) -> Result<void> {
    list.rows.clear();
    list.counts.clear();
    store::CaseloadPage page =
        LINTEL_TRY(store::list_caseload(t, query, {request.after, request.limit}));
    for (store::CaseloadRow& row : page.rows) {
      list.rows.push_back({row.athlete, row.name, row.birth_date, row.sex, row.tags, row.version,
                           row.last_visit, row.last_session, row.next_due, row.due_what,
                           row.changed_at, row.last_trunk_deg, row.last_trunk_error_deg});
    }
    list.next = page.next;
    const auto counts = LINTEL_TRY(store::count_views(t, caller.organization, query.today));
    for (std::size_t i = 0; i < kViews.size() && i < counts.size(); ++i) {
      list.counts.emplace_back(kViews[i], counts[i]);
    }
    return {};
  };
  LINTEL_TRY_VOID(practice.database->read(body));
  return request.as == ListAs::Csv ? formats::write_caseload_csv(list)
                                   : formats::write_caseload_json(list);
}

Result<std::string> athlete_timeline(Practice& practice, const Caller& caller,
                                     std::string_view athlete, int limit) {
  LINTEL_TRY_VOID(
      see_record(practice, caller, Permission::ReadRecords, athlete, RecordKind::Athlete));
  using Rows = std::vector<store::TimelineRow>;
  const auto body = [&](store::Transaction& t) -> Result<Rows> {
    return store::athlete_timeline(t, caller.organization, athlete, limit);
  };
  const Rows rows = LINTEL_TRY(store::read_value<Rows>(*practice.database, body));
  std::vector<formats::TimelineEntry> entries;
  for (const store::TimelineRow& row : rows) {
    entries.push_back({row.record, row.kind, row.date, row.parent, row.state, row.version,
                       row.created_by, row.changed_at});
  }
  return formats::write_timeline_json(entries);
}

Result<std::string> own_athlete(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadOwnPlan));
  if (caller.role != Role::Athlete) {
    return fail(ErrorCode::NotFound, "this account is not that of an athlete",
                "take the athlete from the caseload");
  }
  const Record record = LINTEL_TRY(
      see_record(practice, caller, Permission::ReadOwnPlan, caller.person, RecordKind::Athlete));
  const formats::Intake intake = LINTEL_TRY(intake_of(record));
  return "{\"athlete\":" + formats::json_text_of(record.id) +
         ",\"name\":" + formats::json_text_of(intake.athlete.name) + "}";
}

}  // namespace lintel::app
