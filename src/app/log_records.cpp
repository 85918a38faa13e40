#include "app/log_records.h"

#include <algorithm>

#include "app/athlete_records.h"
#include "app/audit.h"
#include "app/log_today.h"
#include "app/plan_for_now.h"
#include "app/progress_use_case.h"
#include "app/text_file.h"
#include "formats/json_defaults.h"
#include "formats/plan_record_json.h"
#include "formats/progress_json.h"
#include "formats/test_record_json.h"
#include "formats/today_json.h"
#include "plan/progression_numbers.h"

namespace lintel::app {
namespace {

using formats::DayLog;
using store::Record;
using store::RecordKind;

Result<DayLog> day_of(const Record& record, const Library& library) {
  auto reading = formats::read_day_log_json(record.document, "", library.drills);
  if (!reading.log) return fail(joined_faults(reading.faults));
  return *std::move(reading.log);
}

// The later word counts: a drill that is written down again replaces what stood there.
void merge(const DayLog& later, DayLog& day) {
  for (const plan::DrillDone& done : later.session.drills) {
    auto& drills = day.session.drills;
    const auto same = [&](const plan::DrillDone& d) { return d.drill == done.drill; };
    const auto found = std::find_if(drills.begin(), drills.end(), same);
    if (found != drills.end()) {
      *found = done;
    } else {
      drills.push_back(done);
    }
  }
  day.releases.insert(day.releases.end(), later.releases.begin(), later.releases.end());
  day.best_lifts.insert(day.best_lifts.end(), later.best_lifts.begin(), later.best_lifts.end());
}

store::IndexRows index_of(const DayLog& day, const Library& library) {
  store::IndexRows index;
  index.date = day.session.date.iso();
  for (const plan::DrillDone& done : day.session.drills) {
    store::DrillRow row;
    row.drill = done.drill;
    row.date = index.date;
    row.sets = done.sets;
    const plan::Drill* drill = plan::find_drill(library.drills, done.drill);
    if (drill != nullptr && !drill->doses.empty()) {
      const plan::Dose& dose = drill->doses.front();
      row.minutes = dose.time_per_session / dose.sets * done.sets / 60.0;
    }
    if (done.pain_during || done.pain_next_morning) row.pain = plan::worst_pain(done);
    index.drills.push_back(std::move(row));
  }
  return index;
}

// What to do now, because of what was written down.
std::string stop_text(const DayLog& day) {
  const double severe = plan::progression_numbers().value("pain.severe");
  const double limit = plan::progression_numbers().value("pain.limit");
  std::string easier;
  for (const plan::DrillDone& done : day.session.drills) {
    if (done.stop_sign && plan::is_for_a_clinician(*done.stop_sign)) {
      return "Stop for today and see a clinician before the next session: " +
             std::string(plan::stop_sign_label(*done.stop_sign)) + ".";
    }
    if (plan::worst_pain(done) >= severe) {
      return "Stop for today and see a clinician before the next session: severe pain.";
    }
    if (done.stop_sign || plan::worst_pain(done) > limit) {
      easier = "Stop for today. Next time take the easier form of this drill.";
    }
  }
  return easier;
}

// Errors: Denied, Invalid.
Result<void> check_day(const Practice& practice, const Caller& caller, const DayLog& day) {
  const bool more = !day.releases.empty() || !day.best_lifts.empty();
  if (more && !caller.has(Permission::WriteRecords)) {
    Error error{ErrorCode::Denied,
                "a release and best lifts are written down by the practitioner",
                {},
                "send the drills alone",
                {}};
    error.place.field = day.releases.empty() ? "best_lifts" : "releases";
    return fail(std::move(error));
  }
  // Somebody east of the server may be a day ahead.
  const auto today = Date::parse(practice.today());
  if (!today || day.session.date <= *today + 1) return {};
  Error error{ErrorCode::Invalid, "is a day to come", {}, "write down what was done", {}};
  error.place.field = "date";
  return fail(std::move(error));
}

Result<std::optional<Record>> record_of_day(store::Transaction& t, const Caller& caller,
                                            const Library& library, const std::string& athlete,
                                            Date date) {
  const auto days = LINTEL_TRY(every_record(t, caller, RecordKind::SessionLog, athlete, {}));
  for (const Record& record : days) {
    if (LINTEL_TRY(day_of(record, library)).session.date == date)
      return std::optional<Record>(record);
  }
  return std::optional<Record>();
}

struct Stored {
  Record record;
  DayLog day;
  bool is_new = false;
};
Result<Stored> store_day(store::Transaction& t, const Practice& practice, const Caller& caller,
                         const Library& library, std::string_view athlete, const DayLog& sent) {
  const Record of =
      LINTEL_TRY(find_for(t, caller, Permission::WriteOwnLog, athlete, RecordKind::Athlete));
  const auto before = LINTEL_TRY(record_of_day(t, caller, library, of.id, sent.session.date));
  Stored out;
  if (before) {
    out.day = LINTEL_TRY(day_of(*before, library));
    merge(sent, out.day);
    NewVersion next;
    next.document = formats::write_day_log_json(out.day);
    next.index = index_of(out.day, library);
    out.record = LINTEL_TRY(change_record(t, practice, caller, *before, std::move(next)));
    return out;
  }
  out.day = sent;
  out.is_new = true;
  store::NewRecord record;
  record.kind = RecordKind::SessionLog;
  record.organization = caller.organization;
  record.athlete = of.id;
  record.document = formats::write_day_log_json(out.day);
  record.index = index_of(out.day, library);
  out.record = LINTEL_TRY(add_record(t, practice, caller, record));
  return out;
}

void add_tests(const body::TestRecord& record, const Library& library, plan::History& history) {
  for (const body::TestEntry& entry : record.results) {
    const body::TestProtocol* protocol = body::find_protocol(library.protocols, entry.protocol);
    if (protocol == nullptr || entry.tries.empty()) continue;
    history.tests.push_back({record.date, entry.protocol, entry.side, protocol->unit, entry.tries});
  }
  for (const body::OwnError& own : record.standard_errors) {
    auto& all = history.standard_errors;
    std::erase_if(all, [&](const body::OwnError& o) { return o.protocol == own.protocol; });
    all.push_back(own);
  }
}

Result<Date> date_or_today(const Practice& practice, const std::string& date) {
  return Date::parse(date.empty() ? practice.today() : date).map_error([](Error e) {
    e.place.field = "date";
    return e;
  });
}

// Athlete, plan and log at one day.
struct FollowedAthlete {
  SharedLibrary library;
  Record athlete;
  formats::Intake intake;
  std::optional<Record> plan_record;
  std::optional<plan::Plan> plan;  // for now
  plan::History history;
};
Result<FollowedAthlete> read_followed(Practice& practice, const Caller& caller,
                                      Permission permission, std::string_view athlete) {
  const auto body = [&](store::Transaction& t) -> Result<FollowedAthlete> {
    FollowedAthlete out;
    out.athlete = LINTEL_TRY(find_for(t, caller, permission, athlete, RecordKind::Athlete));
    out.intake = LINTEL_TRY(intake_of(out.athlete));
    out.plan_record = LINTEL_TRY(newest_record(t, caller, RecordKind::Plan, out.athlete.id, {}));
    if (out.plan_record) {
      auto document = LINTEL_TRY(formats::read_plan_record_json(out.plan_record->document));
      out.plan = plan_for_now(std::move(document.plan), out.intake.athlete.warning_signs);
    }
    out.library = LINTEL_TRY(library_of(t, caller.organization));
    out.history =
        LINTEL_TRY(history_of(t, caller, *out.library, out.athlete.id, out.intake.athlete.id));
    return out;
  };
  FollowedAthlete out = LINTEL_TRY(store::read_value<FollowedAthlete>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"record_seen", out.athlete.id, out.athlete.id, {}}));
  return out;
}

Result<formats::ProgressDocument> progress_on(const FollowedAthlete& of, Date today,
                                              double bar_mass) {
  FollowedSources sources;
  sources.plan = of.plan;
  sources.athlete = of.intake.athlete;
  sources.protocols = &of.library->protocols;
  sources.drills = &of.library->drills;
  ProgressQuestion question;
  question.athlete_id = of.intake.athlete.id;
  question.athlete_name = of.intake.athlete.name;
  question.today = today;
  question.bar_mass = bar_mass;
  return progress_of(sources, of.history, question);
}

}  // namespace

Result<plan::History> history_of(store::Transaction& t, const Caller& caller,
                                 const Library& library, const std::string& athlete,
                                 const std::string& athlete_id) {
  plan::History history;
  history.athlete = athlete_id;
  const auto days = LINTEL_TRY(every_record(t, caller, RecordKind::SessionLog, athlete, {}));
  for (const Record& record : days) {
    const DayLog day = LINTEL_TRY(day_of(record, library));
    if (!day.session.drills.empty()) history.sessions.push_back(day.session);
    history.releases.insert(history.releases.end(), day.releases.begin(), day.releases.end());
    history.best_lifts.insert(history.best_lifts.end(), day.best_lifts.begin(),
                              day.best_lifts.end());
  }
  auto tests = LINTEL_TRY(every_record(t, caller, RecordKind::TestRecord, athlete, {}));
  std::reverse(tests.begin(), tests.end());  // the oldest first: later standard errors count
  for (const Record& record : tests) {
    auto reading = formats::read_test_record_json(record.document, "", library.protocols);
    if (!reading.record) return fail(joined_faults(reading.faults));
    add_tests(*reading.record, library, history);
  }
  plan::sort_by_date(history);
  return history;
}

Result<LogAnswer> write_log(Practice& practice, const Caller& caller, std::string_view athlete,
                            std::string_view document, Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteOwnLog));
  const std::string text = formats::with_defaults(
      document, "",
      {{"schema", "\"lintel-log-1\""}, {"date", formats::json_text_of(practice.today())}});
  const auto body = [&](store::Transaction& t) -> Result<Stored> {
    faults.clear();
    const SharedLibrary library = LINTEL_TRY(library_of(t, caller.organization));
    auto reading = formats::read_day_log_json(text, "", library->drills);
    if (!reading.log) return document_fault(std::move(reading.faults), faults);
    LINTEL_TRY_VOID(check_day(practice, caller, *reading.log));
    return store_day(t, practice, caller, *library, athlete, *reading.log);
  };
  const Stored stored = LINTEL_TRY(store::write_value<Stored>(*practice.database, body));
  const std::string stop = stop_text(stored.day);
  return LogAnswer{
      answer_of(stored.record, {{"stop", stop.empty() ? "null" : formats::json_text_of(stop)},
                                {"cautions", formats::cautions_json_text()}}),
      stored.is_new};
}

Result<std::string> list_log(Practice& practice, const Caller& caller, std::string_view athlete,
                             const store::Page& page) {
  const auto body = [&](store::Transaction& t) -> Result<store::RecordPage> {
    const Record of =
        LINTEL_TRY(find_for(t, caller, Permission::ReadOwnPlan, athlete, RecordKind::Athlete));
    store::RecordQuery query;
    query.organization = caller.organization;
    query.kind = RecordKind::SessionLog;
    query.athlete = of.id;
    return store::list_records(t, query, page);
  };
  const store::RecordPage found =
      LINTEL_TRY(store::read_value<store::RecordPage>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"list_seen", athlete, athlete, "log"}));
  std::vector<std::string> items;
  for (const Record& record : found.records) items.push_back(record_json(record));
  return formats::write_page_json(items, found.next);
}

Result<std::string> progress_of_athlete(Practice& practice, const Caller& caller,
                                        std::string_view athlete, const ProgressOn& on) {
  const Date today = LINTEL_TRY(date_or_today(practice, on.date));
  const FollowedAthlete of =
      LINTEL_TRY(read_followed(practice, caller, Permission::ReadRecords, athlete));
  return formats::write_progress_json(LINTEL_TRY(progress_on(of, today, on.bar_mass)));
}

Result<std::string> today_of_athlete(Practice& practice, const Caller& caller,
                                     std::string_view athlete, const std::string& date) {
  const Date today = LINTEL_TRY(date_or_today(practice, date));
  const FollowedAthlete of =
      LINTEL_TRY(read_followed(practice, caller, Permission::ReadOwnPlan, athlete));
  constexpr double kUsualBar = 20.0;
  const auto progress = LINTEL_TRY(progress_on(of, today, kUsualBar));
  TodayInput input;
  input.athlete_name = of.intake.athlete.name;
  input.athlete_id = of.athlete.id;
  input.plan_id = of.plan_record ? of.plan_record->id : "";
  input.plan = of.plan ? &*of.plan : nullptr;
  input.warning_signs = of.intake.athlete.warning_signs;
  input.history = &of.history;
  input.follow = &progress.follow;
  input.today = today;
  return formats::write_today_json(today_page(input, of.library->drills));
}

}  // namespace lintel::app
