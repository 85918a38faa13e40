#include "server/router.h"

#include <algorithm>

namespace lintel::server {
namespace {

std::vector<std::string> segments_of(std::string_view path) {
  std::vector<std::string> out;
  path.remove_prefix(1);
  while (true) {
    const std::size_t end = path.find('/');
    out.emplace_back(path.substr(0, end));
    if (end == std::string_view::npos) return out;
    path.remove_prefix(end + 1);
  }
}

bool is_parameter(const std::string& segment) {
  return segment.size() > 2 && segment.front() == '{' && segment.back() == '}';
}

// Sorts literal segments before parameters, from the left.
std::string rank_of(const std::vector<std::string>& segments) {
  std::string rank;
  for (const std::string& segment : segments) rank += is_parameter(segment) ? '1' : '0';
  return rank;
}

bool matches(const std::vector<std::string>& pattern, const std::vector<std::string>& path,
             std::map<std::string, std::string>& values) {
  values.clear();
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (is_parameter(pattern[i])) {
      values[pattern[i].substr(1, pattern[i].size() - 2)] = path[i];
    } else if (pattern[i] != path[i]) {
      return false;
    }
  }
  return true;
}

// The pattern without the names of its parameters: two alike mean the same requests.
std::string shape_of(const Route& route, const std::vector<std::string>& segments) {
  std::string shape(method_name(route.method));
  for (const std::string& segment : segments) {
    shape += is_parameter(segment) ? "/{}" : "/" + segment;
  }
  return shape;
}

}  // namespace

Result<Router> Router::create(std::vector<Route> routes) {
  Router router;
  router.routes_ = std::move(routes);
  std::vector<std::string> shapes;
  for (std::size_t i = 0; i < router.routes_.size(); ++i) {
    const Route& route = router.routes_[i];
    if (route.pattern.empty() || route.pattern.front() != '/' || !route.handler) {
      return fail(ErrorCode::Invalid, "the route \"" + route.pattern + "\" has no path or handler");
    }
    std::vector<std::string> segments = segments_of(route.pattern);
    shapes.push_back(shape_of(route, segments));
    router.by_length_[segments.size()].push_back({std::move(segments), i});
  }
  std::sort(shapes.begin(), shapes.end());
  const auto twin = std::adjacent_find(shapes.begin(), shapes.end());
  if (twin != shapes.end()) {
    return fail(ErrorCode::Invalid, "two routes mean the same requests: " + *twin);
  }
  for (auto& [length, patterns] : router.by_length_) {
    std::stable_sort(patterns.begin(), patterns.end(), [](const Pattern& a, const Pattern& b) {
      return rank_of(a.segments) < rank_of(b.segments);
    });
  }
  return router;
}

Router::Match Router::find(Method method, const std::string& path) const {
  Match match;
  if (path.empty() || path.front() != '/') return match;
  const std::vector<std::string> segments = segments_of(path);
  const auto patterns = by_length_.find(segments.size());
  if (patterns == by_length_.end()) return match;
  const Route* get = nullptr;
  std::map<std::string, std::string> values, get_values;
  std::vector<std::string_view> allowed;
  for (const Pattern& pattern : patterns->second) {
    const Route& route = routes_[pattern.route];
    if (!matches(pattern.segments, segments, values)) continue;
    if (route.method == method) return {&route, std::move(values), {}};
    if (route.method == Method::Get && get == nullptr) {
      get = &route;
      get_values = values;
      allowed.push_back("HEAD");
    }
    allowed.push_back(method_name(route.method));
  }
  if (method == Method::Head && get != nullptr) return {get, std::move(get_values), {}};
  std::sort(allowed.begin(), allowed.end());
  allowed.erase(std::unique(allowed.begin(), allowed.end()), allowed.end());
  for (const std::string_view name : allowed) {
    match.allow += (match.allow.empty() ? "" : ", ") + std::string(name);
  }
  return match;
}

}  // namespace lintel::server
