// Routes about plans, the log and the athlete's own page.
#include "app/log_records.h"
#include "app/plan_records.h"
#include "server/record_answers.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Faults;
using app::Permission;
using app::Practice;

Result<store::Page> page_of(const Call& call) {
  PageQuery query = LINTEL_TRY(page_query(call.request));
  return store::Page{std::move(query.after), query.limit};
}

Result<Response> post_plan(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    std::string_view wish;
    if (!call.request.body.empty()) wish = LINTEL_TRY(json_text(call.request));
    return record_created(LINTEL_TRY(app::create_plan(practice, call.caller, path_of(call, "visit"),
                                                      wish, faults, call.work)),
                          "/api/v1/plans/");
  });
}

Result<Response> list_plans(Practice& practice, const Call& call) {
  const store::Page page = LINTEL_TRY(page_of(call));
  return Response::json(
      LINTEL_TRY(app::list_plans(practice, call.caller, path_of(call, "athlete"), page)));
}

Result<Response> get_plan(Practice& practice, const Call& call) {
  return record_answer(LINTEL_TRY(app::show_plan(practice, call.caller, path_of(call, "plan"))));
}

Result<Response> put_plan(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    app::PlanChange change;
    change.expected_version = LINTEL_TRY(if_match(call.request));
    change.update = LINTEL_TRY(json_text(call.request));
    return record_answer(LINTEL_TRY(
        app::edit_plan(practice, call.caller, path_of(call, "plan"), change, faults, call.work)));
  });
}

Result<Response> get_plan_file(Practice& practice, const Call& call) {
  const std::string name = path_of(call, "name");
  const app::PlanFile file =
      LINTEL_TRY(app::plan_file(practice, call.caller, path_of(call, "plan"), name));
  return Response::file(file.path, file.media_type)
      .with("content-disposition", "inline; filename=\"" + name + "\"");
}

Result<Response> get_calendar(Practice& practice, const Call& call) {
  return Response::text(
             LINTEL_TRY(app::plan_calendar(practice, call.caller, path_of(call, "athlete"))),
             "text/calendar")
      .with("content-disposition", "attachment; filename=\"calendar.ics\"");
}

Result<Response> post_log(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    app::LogAnswer log =
        LINTEL_TRY(app::write_log(practice, call.caller, path_of(call, "athlete"), text, faults));
    return json_with_version(std::move(log.answer.json), log.answer.version,
                             log.is_new ? 201 : 200);
  });
}

Result<Response> list_log(Practice& practice, const Call& call) {
  const store::Page page = LINTEL_TRY(page_of(call));
  return Response::json(
      LINTEL_TRY(app::list_log(practice, call.caller, path_of(call, "athlete"), page)));
}

Result<Response> get_progress(Practice& practice, const Call& call) {
  app::ProgressOn on;
  on.date = query_text(call.request, "date");
  on.bar_mass = LINTEL_TRY(query_number(call.request, "bar_mass_kg", 20.0, 5.0, 25.0));
  return Response::json(
      LINTEL_TRY(app::progress_of_athlete(practice, call.caller, path_of(call, "athlete"), on)));
}

Result<Response> get_today(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::today_of_athlete(
      practice, call.caller, path_of(call, "athlete"), query_text(call.request, "date"))));
}

}  // namespace

void add_plan_routes(std::vector<Route>& routes, Practice& practice) {
  const auto add = [&](Method method, const std::string& path, const std::string& operation,
                       Permission permission, Result<Response> (*handler)(Practice&, const Call&)) {
    routes.push_back({method, "/api/v1" + path, operation, permission,
                      [&practice, handler](const Call& call) { return handler(practice, call); }});
  };
  const auto own = Permission::ReadOwnPlan;
  add(Method::Post, "/visits/{visit}/plan", "createPlan", Permission::WriteRecords, post_plan);
  add(Method::Get, "/athletes/{athlete}/plans", "listPlans", own, list_plans);
  add(Method::Get, "/plans/{plan}", "getPlan", own, get_plan);
  add(Method::Put, "/plans/{plan}", "changePlan", Permission::WriteRecords, put_plan);
  add(Method::Get, "/plans/{plan}/files/{name}", "getPlanFile", own, get_plan_file);
  add(Method::Get, "/athletes/{athlete}/calendar.ics", "getCalendar", own, get_calendar);
  add(Method::Get, "/athletes/{athlete}/log", "listLog", own, list_log);
  add(Method::Post, "/athletes/{athlete}/log", "createLogEntry", Permission::WriteOwnLog, post_log);
  add(Method::Get, "/athletes/{athlete}/progress", "getProgress", Permission::ReadRecords,
      get_progress);
  add(Method::Get, "/athletes/{athlete}/today", "getToday", own, get_today);
}

}  // namespace lintel::server
