// Routes of questions to the posture model, which touch no record.
#include "app/questions.h"
#include "server/record_answers.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Faults;
using app::Permission;

Result<Response> what_if(const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return Response::json(LINTEL_TRY(app::ask_what_if(call.caller, text, faults)));
  });
}

Result<Response> what_if_table(const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return Response::json(LINTEL_TRY(app::ask_what_if_table(call.caller, text, faults, call.work)));
  });
}

Result<Response> grip(const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return Response::json(LINTEL_TRY(app::ask_grip(call.caller, text, faults)));
  });
}

Result<Response> explanation(const Call& call) {
  return with_faults([&](Faults& faults) -> Result<Response> {
    const std::string_view text = LINTEL_TRY(json_text(call.request));
    return Response::json(LINTEL_TRY(app::ask_explanation(call.caller, text, faults, call.work)));
  });
}

}  // namespace

void add_question_routes(std::vector<Route>& routes, app::Practice&) {
  const auto add = [&](const std::string& path, const std::string& operation, Handler handler) {
    routes.push_back({Method::Post, "/api/v1/questions/" + path, operation, Permission::Compute,
                      std::move(handler)});
    routes.back().changes_nothing = true;
  };
  add("what-if", "askWhatIf", what_if);
  add("what-if/table", "askWhatIfTable", what_if_table);
  add("grip", "askGrip", grip);
  add("explanation", "askExplanation", explanation);
}

}  // namespace lintel::server
