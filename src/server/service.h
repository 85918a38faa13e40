// From a request to its answer, without the line: guard, route, caller, permission, token,
// once-only keys, handler, audit trail, headers.
#pragma once

#include <memory>
#include <optional>
#include <stop_token>
#include <string>

#include "server/gate.h"
#include "server/guard.h"
#include "server/http.h"
#include "server/outgoing.h"
#include "server/router.h"
#include "server/static_files.h"

namespace lintel::server {

// A request whose route and caller are known and allowed.
struct Admitted {
  const Route* route = nullptr;  // null = a file of the web app
  std::map<std::string, std::string> path;
  app::Caller caller;
};
// Either it is admitted, or here is the answer.
struct Admission {
  std::optional<Admitted> admitted;
  Response refusal;
};

// Thread-safe.
class Service {
 public:
  Service(Router router, Gate gate, StaticFiles files, GuardOptions guard,
          std::function<void(const std::string&)> log);

  // Quick, for the io thread. The answer that refuses; nothing = go on.
  std::optional<Response> refuse(const Request& request);
  // How many bytes of body the request may have; 0 for what takes none.
  std::size_t body_limit(const Request& request) const;

  // These may wait for the database. `admit` needs no body.
  Admission admit(const Request& request);
  Response answer(const Request& request, const Admitted& admitted, std::stop_token stop);

  void log(const std::string& line) const;

 private:
  Response run_handler(const Call& call, const Route& route);
  Response answer_once(const Call& call, const Route& route);

  Router router_;
  Gate gate_;
  StaticFiles files_;
  Guard guard_;
  std::function<void(const std::string&)> log_;
};

}  // namespace lintel::server
