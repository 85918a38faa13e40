#include "app/plan_records.h"

#include <algorithm>
#include <array>

#include "app/athlete_records.h"
#include "app/audit.h"
#include "app/findings_records.h"
#include "app/log_records.h"
#include "app/plan_edits.h"
#include "app/plan_for_now.h"
#include "app/plan_use_case.h"
#include "app/work_folder.h"
#include "formats/icalendar.h"
#include "formats/plan_record_json.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using formats::PlanRecordDocument;
using store::Record;
using store::RecordKind;

constexpr double kUsualTime = 900.0;  // [s]
constexpr int kUsualSessions = 5;
constexpr int kMostWeeks = 52;

struct FileKind {
  std::string_view name, media_type;
  bool for_athlete;
};
constexpr std::array<FileKind, 6> kFiles = {{{"plan.json", "application/json", false},
                                             {"handout.pdf", "application/pdf", true},
                                             {"record.pdf", "application/pdf", false},
                                             {"letter.pdf", "application/pdf", false},
                                             {"retests.ics", "text/calendar", true},
                                             {"sessions.ics", "text/calendar", true}}};

// The wish with what the athlete's record says where it says nothing.
PlanRequest request_of(const formats::PlanWish& wish, const formats::Intake& intake,
                       const Practice& practice, const Caller& caller) {
  PlanRequest request;
  const std::optional<double> time =
      wish.time_per_session ? wish.time_per_session : intake.time_per_session;
  request.minutes = time.value_or(kUsualTime) / 60.0;
  request.sessions = wish.sessions.value_or(intake.sessions_per_week.value_or(kUsualSessions));
  request.from = wish.from ? wish.from->iso() : practice.today();
  request.weeks = wish.weeks;
  if (wish.goal_date) request.goal_date = wish.goal_date->iso();
  const auto from = Date::parse(request.from);
  if (!wish.weeks && !wish.goal_date && intake.goal && intake.goal->date && from) {
    const int weeks = (*intake.goal->date - *from) / 7;
    if (weeks >= 1 && weeks <= kMostWeeks) request.goal_date = intake.goal->date->iso();
  }
  std::optional<double> goal = wish.goal;
  if (!goal && intake.goal) goal = intake.goal->trunk_inclination;
  if (goal) request.goal = Angle::radians(*goal);
  for (const plan::Equipment e : wish.equipment.value_or(intake.equipment).list()) {
    request.equipment.emplace_back(plan::equipment_name(e));
  }
  request.practitioner = caller.name;
  request.letter = {wish.recipient, wish.letter_reason, wish.letter_request};
  request.made_at = practice.now().substr(0, 19) + "Z";
  request.paper = wish.letter_paper ? PaperSize::Letter : PaperSize::A4;
  request.imperial = wish.imperial;
  request.seed = wish.seed;
  return request;
}

// What a plan is made from: visit, log, findings as they are computed or remembered.
struct Sources {
  VisitMaterial material;
  plan::History history;
};
Result<Sources> gather(Practice& practice, const Caller& caller, std::string_view visit,
                       std::string_view trial) {
  Sources out;
  out.material = LINTEL_TRY(gather_visit(practice, caller, Permission::WriteRecords, visit, trial));
  const auto body = [&](store::Transaction& t) {
    return history_of(t, caller, *out.material.library, out.material.visit.athlete,
                      out.material.intake.athlete.id);
  };
  out.history = LINTEL_TRY(store::read_value<plan::History>(*practice.database, body));
  return out;
}

Result<MadePlan> make(const Sources& sources, const PlanRequest& request, const WorkContext& work) {
  const Library& library = *sources.material.library;
  PlanBasis basis = LINTEL_TRY(plan_basis(
      sources.material.before, {library.protocols, library.drills}, sources.material.record));
  const auto find = [&](const body::Athlete&) {
    return remembered_findings(sources.material, {request.draws, request.seed, 0}, work);
  };
  return make_plan_of(request, std::move(basis), sources.history, find);
}

// Pages and calendars into the media folder.
Result<std::vector<formats::KeptFile>> keep_files(const Practice& practice, PlanRequest request,
                                                  const MadePlan& made) {
  const WorkFolder folder = LINTEL_TRY(WorkFolder::create());
  const fs::path pages = folder.path() / "plan";
  request.output = pages;
  LINTEL_TRY_VOID(write_plan_files(request, made));
  std::vector<formats::KeptFile> kept;
  for (const FileKind& kind : kFiles) {
    const fs::path file = pages / kind.name;
    std::error_code code;
    if (!fs::exists(file, code)) continue;
    const store::StoredMedia media = LINTEL_TRY(practice.media->add_file(file));
    kept.push_back({std::string(kind.name), media.sha256, std::string(kind.media_type)});
  }
  return kept;
}

Result<void> refer(store::Transaction& t, const Practice& practice, const std::string& record,
                   const std::vector<formats::KeptFile>& files) {
  for (const formats::KeptFile& file : files) {
    const fs::path path = LINTEL_TRY(practice.media->path_of(file.sha256));
    std::error_code code;
    const auto bytes = static_cast<std::int64_t>(fs::file_size(path, code));
    LINTEL_TRY_VOID(store::refer_to_media(t, record, file.sha256, bytes, file.media_type));
  }
  return {};
}

store::IndexRows index_of(const plan::Plan& plan) {
  store::IndexRows index;
  index.date = plan.from.iso();
  for (const plan::PlannedRetest& retest : plan.retests) {
    index.due.push_back({"retest", retest.date.iso()});
  }
  if (plan.retests.empty()) index.due.push_back({"visit", (plan.last_day() + 1).iso()});
  return index;
}

std::vector<formats::RawMember> cautions() {
  return {{"cautions", formats::cautions_json_text()}};
}

// The record as it is shown today.
Result<Record> for_now(Record record, const std::vector<body::WarningSign>& signs) {
  PlanRecordDocument document = LINTEL_TRY(formats::read_plan_record_json(record.document));
  if (!is_older_than_signs(document.plan, signs)) return record;
  document.plan = plan_for_now(std::move(document.plan), signs);
  document.files.clear();
  record.document = formats::write_plan_record_json(document);
  return record;
}

Result<std::vector<body::WarningSign>> signs_of(store::Transaction& t, const Caller& caller,
                                                const std::string& athlete) {
  const Record record = LINTEL_TRY(store::find_record(t, caller.organization, athlete));
  return LINTEL_TRY(intake_of(record)).athlete.warning_signs;
}

struct PlanWithSigns {
  Record record;
  std::vector<body::WarningSign> signs;
};
Result<PlanWithSigns> find_plan(Practice& practice, const Caller& caller, Permission permission,
                                std::string_view plan) {
  const auto body = [&](store::Transaction& t) -> Result<PlanWithSigns> {
    PlanWithSigns out;
    out.record = LINTEL_TRY(find_for(t, caller, permission, plan, RecordKind::Plan));
    out.signs = LINTEL_TRY(signs_of(t, caller, out.record.athlete));
    return out;
  };
  PlanWithSigns out = LINTEL_TRY(store::read_value<PlanWithSigns>(*practice.database, body));
  LINTEL_TRY_VOID(
      note_seen(practice, caller, {"record_seen", out.record.id, out.record.athlete, {}}));
  return out;
}

// An earlier version of a plan. Errors: Invalid where there is none of this number.
Result<PlanRecordDocument> earlier(Practice& practice, const Caller& caller, const Record& newest,
                                   int version) {
  if (version >= newest.version) {
    Error error{
        ErrorCode::Invalid,
        "is " + std::to_string(version) + "; the newest is " + std::to_string(newest.version),
        {},
        "give the number of an earlier version",
        {}};
    error.place.field = "bring_back";
    return fail(std::move(error));
  }
  const auto body = [&](store::Transaction& t) {
    return store::record_versions(t, caller.organization, newest.id);
  };
  const auto all = LINTEL_TRY(store::read_value<std::vector<Record>>(*practice.database, body));
  const auto found = std::find_if(all.begin(), all.end(),
                                  [&](const Record& one) { return one.version == version; });
  if (found == all.end()) return fail(ErrorCode::NotFound, "this version is not there", "");
  return formats::read_plan_record_json(found->document);
}

// What stands in the plan about a change by a person.
std::string note_of(const formats::PlanUpdate& update, const Practice& practice,
                    const Caller& caller) {
  const std::string what = update.bring_back
                               ? "Version " + std::to_string(*update.bring_back) + " brought back"
                               : std::string("Changed by hand");
  return what + " on " + practice.today() + (caller.name.empty() ? "" : " by " + caller.name) +
         (update.reason.empty() ? "." : ": " + update.reason);
}

Error older_than_signs() {
  return Error{ErrorCode::Conflict,
               "a warning sign was noted after this plan was made",
               {},
               "make a new plan",
               {}};
}

}  // namespace

Result<Answer> create_plan(Practice& practice, const Caller& caller, std::string_view visit,
                           std::string_view wish, Faults& faults, const WorkContext& work) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  auto reading = formats::read_plan_wish_json(wish);
  if (!reading.wish) return document_fault(std::move(reading.faults), faults);
  const Sources sources = LINTEL_TRY(gather(practice, caller, visit, {}));
  const PlanRequest request = request_of(*reading.wish, sources.material.intake, practice, caller);
  const MadePlan made = LINTEL_TRY(make(sources, request, work));
  PlanRecordDocument document;
  document.visit = sources.material.visit.id;
  document.trial = sources.material.trial;
  document.wish = *std::move(reading.wish);
  document.plan = made.plan;
  document.files = LINTEL_TRY(keep_files(practice, request, made));
  store::NewRecord record;
  record.kind = RecordKind::Plan;
  record.organization = caller.organization;
  record.athlete = sources.material.visit.athlete;
  record.parent = document.visit;
  record.document = formats::write_plan_record_json(document);
  record.index = index_of(made.plan);
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    Record added = LINTEL_TRY(add_record(t, practice, caller, record));
    LINTEL_TRY_VOID(refer(t, practice, added.id, document.files));
    return added;
  };
  return answer_of(LINTEL_TRY(store::write_value<Record>(*practice.database, body)), cautions());
}

Result<Answer> show_plan(Practice& practice, const Caller& caller, std::string_view plan) {
  PlanWithSigns found = LINTEL_TRY(find_plan(practice, caller, Permission::ReadOwnPlan, plan));
  return answer_of(LINTEL_TRY(for_now(std::move(found.record), found.signs)), cautions());
}

Result<std::string> list_plans(Practice& practice, const Caller& caller, std::string_view athlete,
                               const store::Page& page) {
  const auto body = [&](store::Transaction& t) -> Result<store::RecordPage> {
    const Record of =
        LINTEL_TRY(find_for(t, caller, Permission::ReadOwnPlan, athlete, RecordKind::Athlete));
    const auto signs = LINTEL_TRY(intake_of(of)).athlete.warning_signs;
    store::RecordQuery query;
    query.organization = caller.organization;
    query.kind = RecordKind::Plan;
    query.athlete = of.id;
    store::RecordPage found = LINTEL_TRY(store::list_records(t, query, page));
    for (Record& record : found.records) {
      record = LINTEL_TRY(for_now(std::move(record), signs));
    }
    return found;
  };
  const store::RecordPage found =
      LINTEL_TRY(store::read_value<store::RecordPage>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"list_seen", athlete, athlete, "plans"}));
  std::vector<std::string> items;
  for (const Record& record : found.records) items.push_back(record_json(record, cautions()));
  return formats::write_page_json(items, found.next);
}

Result<Answer> edit_plan(Practice& practice, const Caller& caller, std::string_view plan,
                         const PlanChange& change, Faults& faults, const WorkContext& work) {
  const PlanWithSigns found =
      LINTEL_TRY(find_plan(practice, caller, Permission::WriteRecords, plan));
  auto reading = formats::read_plan_update_json(change.update);
  if (!reading.update) return document_fault(std::move(reading.faults), faults);
  const formats::PlanUpdate& update = *reading.update;
  PlanRecordDocument document =
      LINTEL_TRY(update.bring_back ? earlier(practice, caller, found.record, *update.bring_back)
                                   : formats::read_plan_record_json(found.record.document));
  if (is_older_than_signs(document.plan, found.signs)) return fail(older_than_signs());
  // The pages show findings and tests beside the plan: the same ones as before.
  const Sources sources = LINTEL_TRY(gather(practice, caller, document.visit, document.trial));
  document.plan =
      LINTEL_TRY(apply_edits(std::move(document.plan), update.edits,
                             sources.material.library->drills, note_of(update, practice, caller)));
  document.edits.insert(document.edits.end(), update.edits.begin(), update.edits.end());
  PlanRequest request = request_of(document.wish, sources.material.intake, practice, caller);
  request.from = document.plan.from.iso();
  MadePlan made = LINTEL_TRY(make(sources, request, work));
  made.plan = document.plan;
  document.files = LINTEL_TRY(keep_files(practice, request, made));
  const std::string text = formats::write_plan_record_json(document);
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const std::int64_t expected =
        change.expected_version > 0 ? change.expected_version : found.record.version;
    NewVersion next{expected, text, index_of(document.plan), update.reason};
    Record changed = LINTEL_TRY(change_record(t, practice, caller, found.record, std::move(next)));
    LINTEL_TRY_VOID(refer(t, practice, changed.id, document.files));
    return changed;
  };
  return answer_of(LINTEL_TRY(store::write_value<Record>(*practice.database, body)), cautions());
}

Result<PlanFile> plan_file(Practice& practice, const Caller& caller, std::string_view plan,
                           std::string_view name) {
  const PlanWithSigns found =
      LINTEL_TRY(find_plan(practice, caller, Permission::ReadOwnPlan, plan));
  const auto kind =
      std::find_if(kFiles.begin(), kFiles.end(), [&](const FileKind& k) { return k.name == name; });
  const Error not_there{
      ErrorCode::NotFound, "this plan has no such file", {}, "its document lists the files", {}};
  if (kind == kFiles.end()) return fail(not_there);
  if (caller.role == Role::Athlete && !kind->for_athlete) return fail(not_there);
  const auto document = LINTEL_TRY(formats::read_plan_record_json(found.record.document));
  if (is_older_than_signs(document.plan, found.signs)) return fail(older_than_signs());
  for (const formats::KeptFile& file : document.files) {
    if (file.name != name) continue;
    return PlanFile{LINTEL_TRY(practice.media->find(file.sha256)), file.media_type};
  }
  return fail(not_there);
}

Result<std::string> plan_calendar(Practice& practice, const Caller& caller,
                                  std::string_view athlete) {
  const Record of = LINTEL_TRY(
      see_record(practice, caller, Permission::ReadOwnPlan, athlete, RecordKind::Athlete));
  const auto signs = LINTEL_TRY(intake_of(of)).athlete.warning_signs;
  const auto body = [&](store::Transaction& t) {
    return newest_record(t, caller, RecordKind::Plan, of.id, {});
  };
  const auto newest =
      LINTEL_TRY(store::read_value<std::optional<Record>>(*practice.database, body));
  if (!newest) {
    return fail(ErrorCode::NotFound, "there is no plan yet", "make one from a visit");
  }
  const auto document = LINTEL_TRY(formats::read_plan_record_json(newest->document));
  const plan::Plan now = plan_for_now(document.plan, signs);
  formats::Calendar calendar = formats::retest_calendar(now);
  formats::Calendar sessions = formats::session_calendar(now);
  std::move(sessions.events.begin(), sessions.events.end(), std::back_inserter(calendar.events));
  if (calendar.events.empty()) {
    return fail(ErrorCode::NotFound, "the plan has no days to put into a calendar",
                "make a plan with drills");
  }
  formats::CalendarStamp stamp;
  stamp.made = LINTEL_TRY(formats::parse_utc(newest->changed_at.substr(0, 19) + "Z"));
  stamp.sequence = static_cast<int>(newest->version - 1);
  return formats::write_icalendar(calendar, stamp);
}

}  // namespace lintel::app
