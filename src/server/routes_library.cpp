// Routes about test protocols and drills: those built in, the workplace's own, its standard errors.
#include <nlohmann/json.hpp>

#include "app/library_records.h"
#include "server/record_answers.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Faults;
using app::LibraryKind;
using app::Permission;
using app::Practice;

// Of one protocol or drill; their readers take no more.
constexpr std::size_t kEntryBody = std::size_t{256} << 10;
constexpr std::size_t kErrorBody = std::size_t{16} << 10;

// An id that another one has is no matter of versions, whatever If-Match says.
Result<Response> told(Result<Response> answer) {
  if (answer || answer.error().code != ErrorCode::Conflict || answer.error().place.field != "id") {
    return answer;
  }
  return problem(answer.error(), 409, "the id is taken");
}

// A built-in one has no version.
Response card_answer(app::Answer card) {
  if (card.version == 0) return Response::json(std::move(card.json));
  return record_answer(std::move(card));
}

Result<Response> list(Practice& practice, const Call& call, LibraryKind kind) {
  const bool archived = LINTEL_TRY(query_flag(call.request, "archived", false));
  return Response::json(LINTEL_TRY(app::list_library(
      practice, call.caller, kind, archived ? app::Listing::WithArchived : app::Listing::InUse)));
}

Result<Response> get_one(Practice& practice, const Call& call, LibraryKind kind) {
  return card_answer(
      LINTEL_TRY(app::show_library_entry(practice, call.caller, kind, path_of(call, "id"))));
}

Result<Response> get_drawing(Practice& practice, const Call& call, LibraryKind kind) {
  return Response::text(
      LINTEL_TRY(app::library_drawing(practice, call.caller, kind, path_of(call, "id"))),
      "image/svg+xml");
}

Result<Response> post_one(Practice& practice, const Call& call, LibraryKind kind) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return record_created(
        LINTEL_TRY(app::create_library_entry(practice, call.caller, kind, text, faults)),
        kind == LibraryKind::Protocol ? "/api/v1/protocols/" : "/api/v1/drills/");
  });
}

Result<Response> put_one(Practice& practice, const Call& call, LibraryKind kind) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    app::LibraryChange change;
    change.expected_version = LINTEL_TRY(if_match(call.request));
    change.document = LINTEL_TRY(json_text(call.request));
    change.reason = reason_of(call);
    return record_answer(LINTEL_TRY(app::change_library_entry(
        practice, call.caller, kind, path_of(call, "id"), change, faults)));
  });
}

Result<Response> archive_one(Practice& practice, const Call& call, LibraryKind kind) {
  const nlohmann::json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"archived", "version"}));
  const auto archived = body.find("archived");
  if (archived == body.end() || !archived->is_boolean()) {
    Error error{
        ErrorCode::Invalid, "is neither true nor false", {}, "say {\"archived\": true}", {}};
    error.place.field = "archived";
    return fail(std::move(error));
  }
  std::int64_t version = LINTEL_TRY(version_if_named(call.request));
  if (version == 0) version = LINTEL_TRY(integer_member_or(body, "version", 0));
  const auto offered = archived->get<bool>() ? app::Offered::No : app::Offered::Yes;
  return record_answer(LINTEL_TRY(app::archive_library_entry(
      practice, call.caller, kind, path_of(call, "id"), offered, version, reason_of(call))));
}

Result<Response> check_one(Practice& practice, const Call& call, LibraryKind kind) {
  const std::string_view text = LINTEL_TRY(json_text(call.request));
  const app::CheckedEntry checked = LINTEL_TRY(app::check_library_entry(
      practice, call.caller, kind, text, query_text(call.request, "changes")));
  nlohmann::ordered_json json;
  json["faults"] = nlohmann::ordered_json::parse(faults_json(checked.faults));
  json["drawing_svg"] = nullptr;
  if (!checked.drawing_svg.empty()) json["drawing_svg"] = checked.drawing_svg;
  return Response::json(
      json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
}

// ---- Standard errors

Result<Response> put_error(Practice& practice, const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    app::LibraryChange change;
    const bool named = !call.request.header("if-match").empty();
    if (named) change.expected_version = LINTEL_TRY(version_to_change(call.request));
    change.document = LINTEL_TRY(json_text(call.request));
    change.reason = reason_of(call);
    auto answer =
        app::put_standard_error(practice, call.caller, path_of(call, "id"), change, faults);
    // There is one to be changed, and the request does not say which version it saw.
    if (!answer && !named && answer.error().code == ErrorCode::Conflict) {
      return fail(if_match(call.request).error());
    }
    return record_answer(LINTEL_TRY(std::move(answer)));
  });
}

Result<Response> delete_error(Practice& practice, const Call& call) {
  const std::int64_t version = LINTEL_TRY(version_if_named(call.request));
  return card_answer(LINTEL_TRY(app::drop_standard_error(practice, call.caller, path_of(call, "id"),
                                                         version, reason_of(call))));
}

Result<Response> post_reliability(Practice& practice, const Call& call) {
  const std::string type = content_type(call.request);
  if (!type.empty() && type != "text/csv" && type != "text/plain") {
    return fail(ErrorCode::Unsupported, "the body is no table", "send it as text/csv");
  }
  const auto tries = LINTEL_TRY(query_integer(call.request, "tries", 1, 1, 10));
  return Response::json(LINTEL_TRY(app::reliability_of_protocol(
      practice, call.caller, path_of(call, "id"), call.request.body, static_cast<int>(tries))));
}

// ---- The table

using OfKind = Result<Response> (*)(Practice&, const Call&, LibraryKind);

class Routes {
 public:
  Routes(std::vector<Route>& routes, Practice& practice) : routes_(routes), practice_(practice) {}

  void add(Method method, const std::string& path, const std::string& operation,
           Permission permission, Result<Response> (*handler)(Practice&, const Call&)) {
    routes_.push_back(
        {method, "/api/v1" + path, operation, permission,
         [&practice = practice_, handler](const Call& call) { return handler(practice, call); }});
  }

  void add(Method method, const std::string& path, const std::string& operation,
           Permission permission, LibraryKind kind, OfKind handler) {
    routes_.push_back({method, "/api/v1" + path, operation, permission,
                       [&practice = practice_, kind, handler](const Call& call) {
                         return told(handler(practice, call, kind));
                       }});
    routes_.back().body_limit = kEntryBody;
  }

  void add_kind(LibraryKind kind, const std::string& path, const std::string& word) {
    const auto reading = Permission::SignedIn;
    const auto writing = Permission::WriteRecords;
    add(Method::Get, path, "list" + word + "s", reading, kind, list);
    add(Method::Post, path, "create" + word, writing, kind, post_one);
    add(Method::Post, path + "/check", "check" + word, writing, kind, check_one);
    last().changes_nothing = true;
    add(Method::Get, path + "/{id}", "get" + word, reading, kind, get_one);
    add(Method::Put, path + "/{id}", "change" + word, writing, kind, put_one);
    add(Method::Post, path + "/{id}/archive", "archive" + word, writing, kind, archive_one);
    add(Method::Get, path + "/{id}/drawing.svg", "get" + word + "Drawing", reading, kind,
        get_drawing);
  }

  Route& last() { return routes_.back(); }

 private:
  std::vector<Route>& routes_;
  Practice& practice_;
};

}  // namespace

void add_library_routes(std::vector<Route>& routes, Practice& practice) {
  Routes table(routes, practice);
  table.add_kind(LibraryKind::Protocol, "/protocols", "Protocol");
  table.add_kind(LibraryKind::Drill, "/drills", "Drill");
  table.add(Method::Put, "/protocols/{id}/standard-error", "putStandardError",
            Permission::WriteRecords, put_error);
  table.last().body_limit = kErrorBody;
  table.add(Method::Delete, "/protocols/{id}/standard-error", "deleteStandardError",
            Permission::WriteRecords, delete_error);
  table.add(Method::Post, "/protocols/{id}/reliability", "computeReliability", Permission::Compute,
            post_reliability);
  table.last().changes_nothing = true;
}

}  // namespace lintel::server
