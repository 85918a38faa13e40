// Which route a request means.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/http.h"

namespace lintel::server {

class Router {
 public:
  // Errors: Invalid for a pattern that is none, or two routes that could mean the same request.
  static Result<Router> create(std::vector<Route> routes);

  struct Match {
    const Route* route = nullptr;             // null = none
    std::map<std::string, std::string> path;  // "{athlete}" -> its text
    std::string allow;  // without a route: the methods this path does have; empty = no such path
  };
  // A literal segment goes before a parameter. HEAD is answered by the GET route unless there is
  // a HEAD route.
  Match find(Method method, const std::string& path) const;

  const std::vector<Route>& routes() const { return routes_; }

 private:
  struct Pattern {
    std::vector<std::string> segments;  // "{name}" or literal
    std::size_t route = 0;
  };
  std::vector<Route> routes_;
  std::map<std::size_t, std::vector<Pattern>> by_length_;  // the most literal ones first
};

}  // namespace lintel::server
