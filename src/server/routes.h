// All routes of the API, and the functions that add them, one for each routes_<subject>.cpp.
#pragma once

#include <vector>

#include "app/practice.h"
#include "server/gate.h"
#include "server/http.h"

namespace lintel::server {

// The practice must outlive the routes.
std::vector<Route> all_routes(app::Practice& practice);

void add_account_routes(std::vector<Route>& routes, app::Practice& practice);
void add_library_routes(std::vector<Route>& routes, app::Practice& practice);
void add_record_routes(std::vector<Route>& routes, app::Practice& practice);
void add_question_routes(std::vector<Route>& routes, app::Practice& practice);
void add_plan_routes(std::vector<Route>& routes, app::Practice& practice);
void add_clip_routes(std::vector<Route>& routes, app::Practice& practice);
void add_safekeeping_routes(std::vector<Route>& routes, app::Practice& practice);

// Who asks, from cookie or token, and what is noted in the audit trail (routes_accounts.cpp).
Gate account_gate(app::Practice& practice);
// The same with the once-only keys (app/idempotency.h).
Gate whole_gate(app::Practice& practice);

}  // namespace lintel::server
