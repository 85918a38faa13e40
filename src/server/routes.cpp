#include "server/routes.h"

namespace lintel::server {

std::vector<Route> all_routes(app::Practice& practice) {
  std::vector<Route> routes;
  add_account_routes(routes, practice);
  add_record_routes(routes, practice);
  add_library_routes(routes, practice);
  add_question_routes(routes, practice);
  add_plan_routes(routes, practice);
  add_clip_routes(routes, practice);
  add_safekeeping_routes(routes, practice);
  return routes;
}

}  // namespace lintel::server
