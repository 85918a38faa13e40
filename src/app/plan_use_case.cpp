#include "app/plan_use_case.h"

#include <algorithm>
#include <cmath>

#include "app/athlete_file.h"
#include "app/findings_use_case.h"
#include "app/plan_history.h"
#include "app/plan_pages.h"
#include "app/plan_targets.h"
#include "app/plan_text.h"
#include "app/result_folder.h"
#include "app/test_library.h"
#include "app/text_file.h"
#include "body/test_outcome.h"
#include "formats/drill_json.h"
#include "formats/icalendar.h"
#include "formats/located_json.h"
#include "formats/plan_json.h"
#include "formats/test_record_json.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestRecord = 1 << 20;  // [bytes], as the reader's own limit
constexpr int kUsualWeeks = 8;
constexpr int kMostWeeks = 52;

tl::unexpected<Error> invalid(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<plan::EquipmentSet> read_equipment(const std::vector<std::string>& words) {
  std::vector<std::string> known;
  for (int i = 0; i < plan::kEquipmentCount; ++i) {
    known.emplace_back(plan::equipment_name(static_cast<plan::Equipment>(i)));
  }
  plan::EquipmentSet set;
  for (const std::string& word : words) {
    if (const auto found = plan::find_equipment(word)) {
      set.add(*found);
      continue;
    }
    const std::string_view nearest = formats::nearest_word(word, known);
    std::string all;
    for (const std::string& name : known) all += (all.empty() ? "" : ", ") + name;
    return invalid(
        "equipment", "\"" + word + "\" is not known",
        nearest.empty() ? "known are: " + all : "did you mean \"" + std::string(nearest) + "\"?");
  }
  return set;
}

Result<int> weeks_of(const PlanRequest& request, Date from) {
  if (request.weeks && request.goal_date) {
    return invalid("goal_date", "weeks and a goal date were both given", "leave one of them out");
  }
  if (!request.goal_date) return request.weeks.value_or(kUsualWeeks);
  const Date goal = LINTEL_TRY(Date::parse(*request.goal_date).map_error([](Error e) {
    e.place.field = "goal_date";
    return e;
  }));
  const int weeks = (goal - from) / 7;
  if (weeks >= 1 && weeks <= kMostWeeks) return weeks;
  return invalid("goal_date", "lies " + std::to_string(goal - from) + " days after the start",
                 "give a date 1 to 52 weeks after it");
}

Result<std::optional<body::TestRecord>> read_record(
    const std::optional<std::filesystem::path>& file,
    const std::vector<body::TestProtocol>& protocols) {
  if (!file) return std::optional<body::TestRecord>();
  const std::string bytes = LINTEL_TRY(
      read_text_file(*file, kLargestRecord, "give the record of the visit (lintel-tests-1)"));
  auto reading = formats::read_test_record_json(bytes, file->filename().string(), protocols);
  if (!reading.record) return fail(joined_faults(reading.faults));
  return std::move(reading.record);
}

plan::PlannerInput frame_of(const PlanRequest& request, const body::Athlete& athlete,
                            plan::EquipmentSet equipment, int weeks) {
  plan::PlannerInput input;
  input.warning_signs = athlete.warning_signs;
  input.equipment = equipment;
  input.time_per_session = request.minutes * 60.0;
  input.sessions_per_week = request.sessions;
  input.weeks = weeks;
  return input;
}

void add_seated_hold(const AthleteFindings& found, plan::PlanInput& input) {
  plan::SeatedHoldOptions options = plan::default_seated_hold_options();
  options.weeks = input.planner.weeks;
  const reasoning::ExplainResult& e = found.explained;
  if (e.observed) options.habit = std::max(0.0, e.observed->value - e.shares.most_upright);
  body::Setup setup = e.setup;
  for (const plan::SetupChange& change : input.planner.setup_changes) {
    const bool heel = change.lever == reasoning::Factor::Heel;
    if (heel && !input.planner.equipment.has(plan::Equipment::Wedge)) continue;
    reasoning::lever_of(setup, change.lever) = change.to;
  }
  // Where the model has no posture for this body the drill stays without own numbers.
  auto hold = plan::plan_seated_hold(e.fitted_body, setup, e.fitted_limits, options);
  if (hold) input.seated_hold = std::move(hold).value();
}

void add_findings(const AthleteFindings& found, const PlanBasis& basis, const PlanRequest& request,
                  plan::PlanInput& input) {
  input.planner.setup_changes = planner_setup_changes(found.explained);
  input.planner.targets =
      planner_targets(found.targets, input.planner.setup_changes, found.explained);
  input.tests = followed_tests(basis.protocols, basis.record, found.explained);
  input.trunk_inclination = found.seen.observation.trunk_inclination;
  if (!input.trunk_inclination) {
    const reasoning::Spread& upright = found.explained.uncertainty.most_upright;
    input.trunk_inclination =
        Estimate{found.explained.shares.most_upright, upright.standard_deviation};
  }
  if (request.goal) input.goal_inclination = request.goal->radians();
  add_seated_hold(found, input);
}

// retests.ics and sessions.ics; neither where nothing is planned.
Result<void> write_calendars(const PlanRequest& request, const plan::Plan& made,
                             const ResultFolder& folder) {
  formats::CalendarStamp stamp;
  stamp.made.date = made.from;
  if (!request.made_at.empty()) stamp.made = LINTEL_TRY(formats::parse_utc(request.made_at));
  const auto write = [&](std::string_view name, const formats::Calendar& calendar) -> Result<void> {
    if (calendar.events.empty()) return {};
    return folder.write_text(name, LINTEL_TRY(formats::write_icalendar(calendar, stamp)));
  };
  LINTEL_TRY_VOID(write("retests.ics", formats::retest_calendar(made)));
  return write("sessions.ics", formats::session_calendar(made));
}

PlanPagesInput pages_of(const PlanRequest& request, const MadePlan& made) {
  PlanPagesInput pages;
  pages.athlete = &made.basis.athlete;
  pages.plan = &made.plan;
  pages.drills = &made.basis.drills;
  pages.found = made.found ? &*made.found : nullptr;
  pages.tests = made.basis.outcome ? &*made.basis.outcome : nullptr;
  if (made.basis.of_this_visit) pages.tests_on = made.basis.record->date.iso();
  pages.issued_on = request.from;
  pages.practitioner = request.practitioner;
  pages.letter = request.letter;
  pages.paper = request.paper;
  pages.imperial = request.imperial;
  return pages;
}

}  // namespace

Result<PlanBasis> plan_basis(body::Athlete athlete, PlanLibrary library,
                             std::optional<body::TestRecord> record) {
  PlanBasis basis;
  basis.athlete = std::move(athlete);
  basis.protocols = std::move(library.protocols);
  basis.drills = std::move(library.drills);
  basis.of_this_visit = record.has_value();
  if (record) {
    basis.record = std::move(record);
    basis.outcome =
        LINTEL_TRY(body::evaluate_record(*basis.record, basis.protocols, basis.athlete));
    basis.athlete = body::with_results(basis.athlete, *basis.outcome);
    return basis;
  }
  // Without a record of this visit the pages show what the athlete carries.
  basis.record = body::record_of_stored(basis.athlete, basis.protocols);
  auto outcome = body::evaluate_record(*basis.record, basis.protocols, basis.athlete);
  if (outcome) basis.outcome = std::move(outcome).value();
  return basis;
}

Result<MadePlan> make_plan_of(const PlanRequest& request, PlanBasis basis,
                              const std::optional<plan::History>& history,
                              const FindFindings& find) {
  plan::PlanInput input;
  input.from = LINTEL_TRY(Date::parse(request.from).map_error([](Error e) {
    e.place.field = "from";
    return e;
  }));
  const plan::EquipmentSet equipment = LINTEL_TRY(read_equipment(request.equipment));
  const int weeks = LINTEL_TRY(weeks_of(request, input.from));
  input.planner = frame_of(request, basis.athlete, equipment, weeks);
  LINTEL_TRY_VOID(plan::validate(input.planner));
  input.athlete_id = basis.athlete.id;
  input.athlete_name = basis.athlete.name;
  input.seed = request.seed;
  MadePlan made;
  if (plan::triage(basis.athlete.warning_signs).clearance != plan::Clearance::NoDrills) {
    made.found = LINTEL_TRY(find(basis.athlete));
    add_findings(*made.found, basis, request, input);
    if (history) LINTEL_TRY_VOID(add_history(*history, basis.protocols, basis.drills, input));
  }
  made.plan = LINTEL_TRY(plan::make_plan(plan::drills_in_use(basis.drills), input));
  made.basis = std::move(basis);
  return made;
}

Result<void> write_plan_files(const PlanRequest& request, const MadePlan& made) {
  auto folder = LINTEL_TRY(ResultFolder::create(*request.output, request.overwrite, "plan.json"));
  LINTEL_TRY_VOID(folder.write_text("plan.json", formats::write_plan_json(made.plan)));
  LINTEL_TRY_VOID(folder.write_text("plan.txt", plan_to_text(made.plan)));
  LINTEL_TRY_VOID(write_plan_pages(pages_of(request, made), folder));
  LINTEL_TRY_VOID(write_calendars(request, made.plan, folder));
  return folder.commit();
}

Result<PlanOutcome> plan_for_athlete(const PlanRequest& request, const WorkContext& work) {
  const auto protocols = LINTEL_TRY(load_protocols(request.protocols));
  const body::Athlete athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  auto record = LINTEL_TRY(read_record(request.tests, protocols));
  PlanBasis basis =
      LINTEL_TRY(plan_basis(athlete, {protocols, formats::built_in_drills()}, std::move(record))
                     .map_error([&request](Error e) {
                       if (request.tests) e.with_file(request.tests->filename().string());
                       return e;
                     }));
  std::optional<plan::History> history;
  const bool red = plan::triage(athlete.warning_signs).clearance == plan::Clearance::NoDrills;
  if (request.history && !red) {
    history = LINTEL_TRY(
        read_history(*request.history, athlete.id, protocols, formats::built_in_drills()));
  }
  const auto find = [&](const body::Athlete& tested) -> Result<AthleteFindings> {
    FindingsSubject subject{tested, {}, {}};
    if (request.overrulings) {
      subject.overrulings = LINTEL_TRY(read_overrulings(*request.overrulings, tested.id));
    }
    subject.seen = LINTEL_TRY(read_seen_squat(request.seen));
    return compute_findings(std::move(subject), {request.draws, request.seed, request.threads},
                            work);
  };
  const MadePlan made = LINTEL_TRY(make_plan_of(request, std::move(basis), history, find));
  PlanOutcome outcome{plan_to_text(made.plan), formats::write_plan_json(made.plan), {}};
  if (request.output) {
    LINTEL_TRY_VOID(write_plan_files(request, made));
    outcome.output = *request.output;
    outcome.text += "Files: " + request.output->string() + "\n";
  }
  return outcome;
}

}  // namespace lintel::app
