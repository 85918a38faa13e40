#include "server/router.h"

#include <gtest/gtest.h>

namespace lintel::server {
namespace {

Route route(Method method, std::string pattern) {
  Route out;
  out.method = method;
  out.operation = std::string(method_name(method)) + " " + pattern;
  out.pattern = std::move(pattern);
  out.handler = [](const Call&) -> Result<Response> { return Response::empty(); };
  return out;
}

Router made(std::vector<Route> routes) {
  auto router = Router::create(std::move(routes));
  EXPECT_TRUE(router);
  return *std::move(router);
}

TEST(Router, TakesParametersOutOfThePath) {
  const Router router = made({route(Method::Get, "/api/v1/plans/{plan}/files/{name}")});
  const auto match = router.find(Method::Get, "/api/v1/plans/7/files/record.pdf");
  ASSERT_NE(match.route, nullptr);
  EXPECT_EQ(match.path.at("plan"), "7");
  EXPECT_EQ(match.path.at("name"), "record.pdf");
}

TEST(Router, ALiteralGoesBeforeAParameterInWhateverOrderTheyCame) {
  const Router router = made({route(Method::Get, "/a/{id}"), route(Method::Get, "/a/list"),
                              route(Method::Put, "/a/{id}")});
  EXPECT_EQ(router.find(Method::Get, "/a/list").route->pattern, "/a/list");
  EXPECT_EQ(router.find(Method::Get, "/a/lists").route->pattern, "/a/{id}");
  EXPECT_EQ(router.find(Method::Put, "/a/list").route->pattern, "/a/{id}");
}

TEST(Router, HeadIsAnsweredByGetUnlessThereIsAHeadRoute) {
  const Router router =
      made({route(Method::Get, "/a"), route(Method::Get, "/b"), route(Method::Head, "/b")});
  EXPECT_EQ(router.find(Method::Head, "/a").route->method, Method::Get);
  EXPECT_EQ(router.find(Method::Head, "/b").route->method, Method::Head);
}

TEST(Router, TellsTheMethodsThatAPathHas) {
  const Router router = made({route(Method::Get, "/a/{id}"), route(Method::Put, "/a/{id}")});
  const auto match = router.find(Method::Delete, "/a/1");
  EXPECT_EQ(match.route, nullptr);
  EXPECT_EQ(match.allow, "GET, HEAD, PUT");
  EXPECT_EQ(router.find(Method::Get, "/b").allow, "");
  EXPECT_EQ(router.find(Method::Get, "/a").allow, "");
  EXPECT_EQ(router.find(Method::Get, "/a/1/2").allow, "");
}

TEST(Router, RefusesTwoRoutesThatMeanTheSameRequests) {
  EXPECT_FALSE(Router::create({route(Method::Get, "/a/{id}"), route(Method::Get, "/a/{name}")}));
  EXPECT_TRUE(Router::create({route(Method::Get, "/a/{id}"), route(Method::Put, "/a/{name}")}));
  EXPECT_FALSE(Router::create({route(Method::Get, "a")}));
}

}  // namespace
}  // namespace lintel::server
