#include "app/progress_use_case.h"

#include "app/athlete_file.h"
#include "app/plan_history.h"
#include "app/progress_followed.h"
#include "app/progress_text.h"
#include "app/test_library.h"
#include "app/text_file.h"
#include "app/version.h"
#include "formats/athlete_json.h"
#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/located_json.h"
#include "formats/plan_json.h"
#include "report/record.h"
#include "view/visit.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestPlan = std::uintmax_t{2} << 20;  // as the reader's own limit

tl::unexpected<Error> fault(const std::filesystem::path& file, std::string field, ErrorCode code,
                            std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  error.with_file(file.filename().string());
  return fail(std::move(error));
}

Result<Date> date_of(const std::string& text) {
  auto date = Date::parse(text);
  if (date) return *date;
  Error error = date.error();
  error.message = "\"" + text + "\": " + error.message;
  error.place.field = "date";
  return fail(std::move(error));
}

// What kind of file it is, by its "schema"; empty if it has none. Faults are left to its reader.
std::string schema_of(const std::string& text) {
  const auto root = formats::parse_json(text, {kLargestPlan, 16, 400000});
  const formats::JsonValue* schema = root ? root->find("schema") : nullptr;
  return schema == nullptr ? std::string() : schema->text;
}

Result<void> read_sources(const ProgressRequest& request, FollowedSources& sources) {
  const std::filesystem::path& file = request.plan_or_athlete;
  const std::string text = LINTEL_TRY(
      read_text_file(file, kLargestPlan, "give the plan.json of lintel plan, or an athlete file"));
  const std::string schema = schema_of(text);
  if (schema.rfind("lintel-athlete-", 0) == 0) {
    if (request.athlete) {
      return fault(file, "", ErrorCode::Invalid, "two athlete files are given",
                   "give a plan first, or leave one of them out");
    }
    sources.athlete = LINTEL_TRY(read_athlete_file(file));
    return {};
  }
  if (!schema.empty() && schema.rfind("lintel-plan-", 0) != 0) {
    return fault(file, "schema", ErrorCode::Invalid, "is \"" + schema + "\"",
                 "give the plan.json of lintel plan, or an athlete file");
  }
  auto reading = formats::read_plan_json(text, file.filename().string());
  if (!reading.plan) return fail(joined_faults(reading.faults));
  sources.plan = *std::move(reading.plan);
  if (!request.athlete) return {};
  sources.athlete = LINTEL_TRY(read_athlete_file(*request.athlete));
  if (sources.athlete->id != sources.plan->athlete_id) {
    return fault(
        *request.athlete, "id", ErrorCode::Conflict,
        "is \"" + sources.athlete->id + "\"; the plan is of \"" + sources.plan->athlete_id + "\"",
        "give the file of this athlete");
  }
  return {};
}

plan::LoadAdvice loads_for(const ProgressQuestion& request, const plan::AthleteFollowed& followed,
                           const plan::History& history) {
  const Date today = request.today;
  plan::LoadQuestion question;
  question.best = plan::best_lifts_of(history, today);
  question.warning_signs = followed.warning_signs;
  question.stopped = plan::is_stopped(history, today);
  question.position_held = plan::position_holds(history, today);
  question.pain = plan::has_pain(history, today);
  question.good_weeks = plan::good_loaded_weeks(followed, history, today);
  question.bar_mass = request.bar_mass;
  if (followed.plan_start && *followed.plan_start <= today) {
    question.first_week = 1 + (today - *followed.plan_start) / 7;
  }
  question.plan_weeks = followed.plan_weeks;
  constexpr int kWithoutPlan = 6;
  return plan::advise_loads(
      question, request.weeks.value_or(plan::weeks_left(question).value_or(kWithoutPlan)));
}

Result<void> write_record(const ProgressRequest& request, const FollowedSources& sources,
                          const formats::ProgressDocument& document) {
  if (!sources.athlete) {
    return fail(ErrorCode::Invalid, "a record needs the athlete",
                "give the athlete's file with --athlete");
  }
  view::Visit visit;
  visit.program_version = version();
  visit.issued_on = document.follow.today.iso();
  visit.practitioner = request.practitioner;
  visit.athlete = &*sources.athlete;
  if (sources.plan) visit.plan = &*sources.plan;
  visit.library = *sources.drills;
  visit.loads = &document.loads;
  visit.follow_up = &document.follow;
  visit.followed = &document.followed;
  const report::RecordOptions options{
      request.paper == PaperSize::Letter ? report::Paper::Letter : report::Paper::A4,
      request.imperial ? report::UnitSystem::Imperial : report::UnitSystem::Metric};
  const report::Pages pages = LINTEL_TRY(report::render_record(visit, options));
  return write_text_file(*request.record, pages.pdf, request.existing);
}

}  // namespace

Result<formats::ProgressDocument> progress_of(const FollowedSources& sources,
                                              const plan::History& history,
                                              const ProgressQuestion& question) {
  formats::ProgressDocument document;
  document.athlete_id = question.athlete_id;
  document.athlete_name = question.athlete_name;
  document.followed = followed_of(sources, history);
  document.follow = LINTEL_TRY(plan::follow_up(document.followed, history, question.today));
  document.loads = loads_for(question, document.followed, history);
  return document;
}

Result<ProgressOutcome> report_progress(const ProgressRequest& request) {
  const Date today = LINTEL_TRY(date_of(request.date));
  const auto protocols = LINTEL_TRY(load_protocols(request.protocols));
  FollowedSources sources;
  sources.protocols = &protocols;
  sources.drills = &formats::built_in_drills();
  LINTEL_TRY_VOID(read_sources(request, sources));
  ProgressQuestion question;
  question.athlete_id = sources.plan ? sources.plan->athlete_id : sources.athlete->id;
  question.athlete_name = sources.plan ? sources.plan->athlete_name : sources.athlete->name;
  question.today = today;
  question.bar_mass = request.bar_mass;
  question.weeks = request.weeks;
  const plan::History history =
      LINTEL_TRY(read_history(request.history, question.athlete_id, protocols, *sources.drills));
  const formats::ProgressDocument document = LINTEL_TRY(progress_of(sources, history, question));
  ProgressOutcome outcome{progress_text(document), formats::write_progress_json(document)};
  if (request.record) {
    LINTEL_TRY_VOID(write_record(request, sources, document));
    outcome.text += "Record: " + request.record->string() + "\n";
  }
  return outcome;
}

}  // namespace lintel::app
