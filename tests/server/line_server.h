// A server with routes of the test's own, without a workplace behind it.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "server/server.h"
#include "support/http_client.h"

namespace lintel::test {

using server::Call;
using server::Method;
using server::Request;
using server::Response;
using server::Route;

inline Route make_route(Method method, std::string pattern,
                        std::function<Result<Response>(const Call&)> handler,
                        app::Permission permission = app::Permission::None) {
  Route route;
  route.method = method;
  route.operation = std::string(server::method_name(method)) + " " + pattern;
  route.pattern = std::move(pattern);
  route.permission = permission;
  route.handler = std::move(handler);
  return route;
}

// "GET /api/v1/hello" -> "hello", "POST /api/v1/echo" -> the body.
inline std::vector<Route> plain_routes() {
  std::vector<Route> routes;
  routes.push_back(make_route(Method::Get, "/api/v1/hello", [](const Call&) -> Result<Response> {
    return Response::text("hello", "text/plain; charset=utf-8");
  }));
  routes.push_back(
      make_route(Method::Post, "/api/v1/echo", [](const Call& call) -> Result<Response> {
        return Response::text(call.request.body, "text/plain; charset=utf-8");
      }));
  return routes;
}

class LineServer {
 public:
  explicit LineServer(std::vector<Route> routes = plain_routes(),
                      server::ServerOptions options = {}, server::Gate gate = {},
                      server::StaticFiles files = {}) {
    auto started = server::Server::start(std::move(options), std::move(routes), std::move(gate),
                                         std::move(files));
    if (!started) throw std::runtime_error(describe(started.error()));
    server_ = std::move(*started);
  }
  HttpClient client() const { return HttpClient(server_->url()); }
  std::string raw(std::string_view bytes) const { return raw_exchange(server_->port(), bytes); }
  server::Server& operator*() { return *server_; }
  server::Server* operator->() { return server_.get(); }

 private:
  std::unique_ptr<server::Server> server_;
};

}  // namespace lintel::test
