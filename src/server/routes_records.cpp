// Routes about athletes, visits, tests, findings, cohort and files for other programs, and the
// description of all routes.
#include <array>
#include <charconv>
#include <cmath>

#include "app/athlete_records.h"
#include "app/findings_records.h"
#include "app/test_photo_records.h"
#include "app/trend_records.h"
#include "app/visit_question.h"
#include "app/visit_records.h"
#include "server/record_answers.h"
#include "server/routes.h"

namespace lintel::embedded {
extern const std::string_view openapi_json;
}

namespace lintel::server {
namespace {

using app::Faults;
using app::ListAs;
using app::Permission;
using app::Practice;

constexpr std::size_t kPhotoBody = std::size_t{32} << 20;
constexpr double kLongestKnown_cm = 1000;
constexpr double kLargestPixel = 1e5;

// The description is read for longer than a moment; programs ask for it at each start.
constexpr const char* kDescriptionAge = "max-age=300";

ListAs list_as(const Call& call) {
  return wants_csv(call.request) ? ListAs::Csv : ListAs::Json;
}

Response list_answer(std::string text, ListAs as, std::string_view file) {
  return as == ListAs::Csv ? csv(std::move(text), file) : Response::json(std::move(text));
}

Result<store::Page> page_of(const Call& call) {
  PageQuery query = LINTEL_TRY(page_query(call.request));
  return store::Page{std::move(query.after), query.limit};
}

// ---- Athletes

Result<Response> list_athletes(Practice& practice, const Call& call) {
  const PageQuery page = LINTEL_TRY(page_query(call.request));
  app::CaseloadRequest request;
  request.view = query_text(call.request, "view", "all");
  request.search = query_text(call.request, "q");
  request.tag = query_text(call.request, "tag");
  request.after = page.after;
  request.limit = page.limit;
  request.as = list_as(call);
  return list_answer(LINTEL_TRY(app::list_athletes(practice, call.caller, request)), request.as,
                     "athletes.csv");
}

Result<Response> post_athlete(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return record_created(LINTEL_TRY(app::create_athlete(practice, call.caller, text, faults)),
                          "/api/v1/athletes/");
  });
}

Result<Response> get_athlete(Practice& practice, const Call& call) {
  return record_answer(
      LINTEL_TRY(app::show_athlete(practice, call.caller, path_of(call, "athlete"))));
}

Result<Response> put_athlete(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    app::AthleteChange change;
    change.expected_version = LINTEL_TRY(if_match(call.request));
    change.document = LINTEL_TRY(json_text(call.request));
    change.reason = reason_of(call);
    return record_answer(LINTEL_TRY(
        app::change_athlete(practice, call.caller, path_of(call, "athlete"), change, faults)));
  });
}

Result<Response> archive_athlete(Practice& practice, const Call& call) {
  const std::int64_t version = LINTEL_TRY(version_if_named(call.request));
  const bool back = LINTEL_TRY(query_flag(call.request, "back", false));
  return record_answer(LINTEL_TRY(
      app::archive_athlete(practice, call.caller, path_of(call, "athlete"), version,
                           back ? app::Archive::Back : app::Archive::In, reason_of(call))));
}

Result<Response> list_versions(Practice& practice, const Call& call, const std::string& name) {
  return Response::json(
      LINTEL_TRY(app::list_versions(practice, call.caller, path_of(call, name))).json);
}

Result<Response> get_timeline(Practice& practice, const Call& call) {
  const auto limit = LINTEL_TRY(query_integer(call.request, "limit", 200, 1, 500));
  return Response::json(LINTEL_TRY(app::athlete_timeline(
      practice, call.caller, path_of(call, "athlete"), static_cast<int>(limit))));
}

Result<Response> get_trends(Practice& practice, const Call& call) {
  const ListAs as = list_as(call);
  return list_answer(
      LINTEL_TRY(app::athlete_trends(practice, call.caller, path_of(call, "athlete"), as)), as,
      "trends.csv");
}

Result<Response> get_my_athlete(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::own_athlete(practice, call.caller)));
}

// ---- Visits, tests, decisions

Result<Response> list_visits(Practice& practice, const Call& call) {
  const store::Page page = LINTEL_TRY(page_of(call));
  return Response::json(
      LINTEL_TRY(app::list_visits(practice, call.caller, path_of(call, "athlete"), page)));
}

Result<Response> post_visit(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return record_created(LINTEL_TRY(app::create_visit(practice, call.caller,
                                                       path_of(call, "athlete"), text, faults)),
                          "/api/v1/visits/");
  });
}

Result<Response> get_visit(Practice& practice, const Call& call) {
  return record_answer(LINTEL_TRY(app::show_visit(practice, call.caller, path_of(call, "visit"))));
}

// A PUT below or of a visit.
using PutUseCase = Result<app::Answer> (*)(Practice&, const app::Caller&, std::string_view,
                                           const app::Change&, Faults&);
Result<Response> put_of_visit(Practice& practice, const Call& call, PutUseCase use_case) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    app::Change change;
    change.expected_version = LINTEL_TRY(version_to_change(call.request));
    change.document = LINTEL_TRY(json_text(call.request));
    change.reason = reason_of(call);
    return record_answer(
        LINTEL_TRY(use_case(practice, call.caller, path_of(call, "visit"), change, faults)));
  });
}

Result<Response> get_tests(Practice& practice, const Call& call) {
  return record_answer(LINTEL_TRY(app::show_tests(practice, call.caller, path_of(call, "visit"))));
}

Result<Response> get_overrulings(Practice& practice, const Call& call) {
  return record_answer(
      LINTEL_TRY(app::show_overrulings(practice, call.caller, path_of(call, "visit"))));
}

Result<body::TestSide> side_of(const Call& call) {
  const std::string word = query_text(call.request, "side", "both");
  for (const auto side : {body::TestSide::Left, body::TestSide::Right, body::TestSide::Both}) {
    if (body::test_side_name(side) == word) return side;
  }
  Error error{ErrorCode::Invalid, "\"" + word + "\" is no side", {}, "left, right or both", {}};
  error.place.field = "side";
  return fail(std::move(error));
}

Error invalid_query(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return error;
}

// ?between=x1,y1,x2,y2: the ends of the known length [px].
Result<std::array<double, 4>> ends_of_length(const std::string& text) {
  std::array<double, 4> ends{};
  const char* at = text.data();
  const char* const last = text.data() + text.size();
  for (std::size_t i = 0; i < ends.size(); ++i) {
    const auto [end, fault] = std::from_chars(at, last, ends[i]);
    const bool is_whole = i + 1 == ends.size() ? end == last : end != last && *end == ',';
    if (fault != std::errc() || !is_whole || !(std::abs(ends[i]) <= kLargestPixel)) {
      return fail(invalid_query("between", "\"" + text.substr(0, 60) + "\" is not two points",
                                "write x1,y1,x2,y2 in pixels of the picture"));
    }
    at = end + 1;
  }
  return ends;
}

Result<std::optional<kinematics::KnownLength>> known_length_of(const Call& call) {
  const std::string between = query_text(call.request, "between");
  const bool has_length = !query_text(call.request, "known_length_cm").empty();
  if (between.empty() && !has_length) return std::optional<kinematics::KnownLength>();
  if (between.empty() || !has_length) {
    return fail(invalid_query(between.empty() ? "between" : "known_length_cm",
                              "a known length is a length and its two ends",
                              "give known_length_cm and between=x1,y1,x2,y2"));
  }
  const double length_cm =
      LINTEL_TRY(query_number(call.request, "known_length_cm", 0, 1, kLongestKnown_cm));
  const std::array<double, 4> p = LINTEL_TRY(ends_of_length(between));
  return kinematics::KnownLength{
      {p[0], p[1]}, {p[2], p[3]}, Length::centimetres(length_cm).metres()};
}

Result<Response> post_test_photo(Practice& practice, const Call& call) {
  app::VisitPhoto photo;
  photo.protocol = LINTEL_TRY(required_query(call.request, "protocol"));
  photo.side = LINTEL_TRY(side_of(call));
  photo.points = query_text(call.request, "points");
  photo.keep = LINTEL_TRY(query_flag(call.request, "keep", false));
  const auto person = LINTEL_TRY(query_integer(call.request, "person", 0, 0, 50));
  if (person > 0) photo.person = static_cast<int>(person);
  photo.known_length = LINTEL_TRY(known_length_of(call));
  const std::string type = content_type(call.request);
  if (type == "application/json") {
    photo.media = LINTEL_TRY(required_query(call.request, "media"));
    photo.points = LINTEL_TRY(json_text(call.request));
  } else if (call.request.body.empty()) {
    photo.media = LINTEL_TRY(required_query(call.request, "media"));
  } else if (type == "image/jpeg" || type == "image/png") {
    photo.picture = call.request.body;
  } else {
    return fail(ErrorCode::Unsupported, "the body is neither a JPEG nor a PNG picture",
                "send the picture as image/jpeg or image/png");
  }
  return Response::json(LINTEL_TRY(
      app::measure_visit_photo(practice, call.caller, path_of(call, "visit"), photo, call.work)));
}

Result<Response> get_findings(Practice& practice, const Call& call) {
  app::VisitFindingsRequest request;
  request.trial = query_text(call.request, "assessment");
  request.draws =
      static_cast<int>(LINTEL_TRY(query_integer(call.request, "draws", 10000, 100, 10000)));
  return Response::json(LINTEL_TRY(
      app::findings_of_visit(practice, call.caller, path_of(call, "visit"), request, call.work)));
}

Result<Response> get_question(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::question_of_visit(
      practice, call.caller, path_of(call, "visit"), query_text(call.request, "assessment"))));
}

// ---- Cohort, and out

using CohortUseCase = Result<std::string> (*)(Practice&, const app::Caller&, const std::string&,
                                              ListAs);
Result<Response> get_cohort(Practice& practice, const Call& call, CohortUseCase use_case,
                            std::string_view file) {
  const std::string protocol = LINTEL_TRY(required_query(call.request, "protocol"));
  const ListAs as = list_as(call);
  return list_answer(LINTEL_TRY(use_case(practice, call.caller, protocol, as)), as, file);
}

Result<Response> get_fhir(Practice& practice, const Call& call) {
  return Response::text(
      LINTEL_TRY(app::fhir_of_visit(practice, call.caller, path_of(call, "athlete"),
                                    query_text(call.request, "visit"))),
      "application/fhir+json");
}

Result<Response> get_description(const Call&) {
  return Response::json(std::string(embedded::openapi_json)).with("cache-control", kDescriptionAge);
}

// ---- The table

using WithPractice = Result<Response> (*)(Practice&, const Call&);

void add(std::vector<Route>& routes, Practice& practice, Method method, const std::string& pattern,
         const std::string& operation, Permission permission, WithPractice handler) {
  routes.push_back({method, "/api/v1" + pattern, operation, permission,
                    [&practice, handler](const Call& call) { return handler(practice, call); }});
}

void add_athlete_routes(std::vector<Route>& r, Practice& p) {
  const auto reading = Permission::ReadRecords;
  add(r, p, Method::Get, "/athletes", "listAthletes", Permission::ReadCaseload, list_athletes);
  add(r, p, Method::Post, "/athletes", "createAthlete", Permission::WriteRecords, post_athlete);
  add(r, p, Method::Get, "/athletes/{athlete}", "getAthlete", reading, get_athlete);
  add(r, p, Method::Put, "/athletes/{athlete}", "changeAthlete", Permission::WriteRecords,
      put_athlete);
  add(r, p, Method::Post, "/athletes/{athlete}/archive", "archiveAthlete", Permission::WriteRecords,
      archive_athlete);
  add(r, p, Method::Get, "/athletes/{athlete}/versions", "listAthleteVersions", reading,
      [](Practice& practice, const Call& call) {
        return list_versions(practice, call, "athlete");
      });
  add(r, p, Method::Get, "/athletes/{athlete}/timeline", "getTimeline", reading, get_timeline);
  add(r, p, Method::Get, "/athletes/{athlete}/trends", "getTrends", reading, get_trends);
  add(r, p, Method::Get, "/me/athlete", "getMyAthlete", Permission::ReadOwnPlan, get_my_athlete);
}

void add_visit_routes(std::vector<Route>& r, Practice& p) {
  const auto reading = Permission::ReadVisits;
  const auto entering = Permission::EnterTests;
  add(r, p, Method::Get, "/athletes/{athlete}/visits", "listVisits", reading, list_visits);
  add(r, p, Method::Post, "/athletes/{athlete}/visits", "createVisit", entering, post_visit);
  add(r, p, Method::Get, "/visits/{visit}", "getVisit", reading, get_visit);
  add(r, p, Method::Put, "/visits/{visit}", "changeVisit", entering,
      [](Practice& practice, const Call& call) {
        return put_of_visit(practice, call, app::change_visit);
      });
  add(r, p, Method::Get, "/records/{record}/versions", "listVersions", Permission::SignedIn,
      [](Practice& practice, const Call& call) { return list_versions(practice, call, "record"); });
  add(r, p, Method::Get, "/visits/{visit}/tests", "getTests", reading, get_tests);
  add(r, p, Method::Put, "/visits/{visit}/tests", "putTests", entering,
      [](Practice& practice, const Call& call) {
        return put_of_visit(practice, call, app::put_tests);
      });
  add(r, p, Method::Post, "/visits/{visit}/test-photo", "measureTestPhoto", entering,
      post_test_photo);
  r.back().body_limit = kPhotoBody;
  add(r, p, Method::Get, "/visits/{visit}/findings", "getFindings", Permission::ReadRecords,
      get_findings);
  add(r, p, Method::Get, "/visits/{visit}/question", "getVisitQuestion", Permission::ReadRecords,
      get_question);
  add(r, p, Method::Get, "/visits/{visit}/overrulings", "getOverrulings", Permission::ReadRecords,
      get_overrulings);
  add(r, p, Method::Put, "/visits/{visit}/overrulings", "putOverrulings", Permission::WriteRecords,
      [](Practice& practice, const Call& call) {
        return put_of_visit(practice, call, app::put_overrulings);
      });
}

void add_cohort_routes(std::vector<Route>& r, Practice& p) {
  add(r, p, Method::Get, "/cohort/range", "getCohortRange", Permission::ReadRecords,
      [](Practice& practice, const Call& call) {
        return get_cohort(practice, call, app::cohort_range, "range.csv");
      });
  add(r, p, Method::Get, "/cohort/change", "getCohortChange", Permission::ReadRecords,
      [](Practice& practice, const Call& call) {
        return get_cohort(practice, call, app::cohort_change, "change.csv");
      });
  add(r, p, Method::Get, "/athletes/{athlete}/fhir", "getFhir", Permission::TakeOut, get_fhir);
}

}  // namespace

void add_record_routes(std::vector<Route>& routes, Practice& practice) {
  routes.push_back(
      {Method::Get, "/api/v1/openapi.json", "getDescription", Permission::None, get_description});
  add_athlete_routes(routes, practice);
  add_visit_routes(routes, practice);
  add_cohort_routes(routes, practice);
}

}  // namespace lintel::server
