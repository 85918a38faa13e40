#include "server/guard.h"

#include <gtest/gtest.h>

namespace lintel::server {
namespace {

Request from(Method method, std::map<std::string, std::string> headers, bool tls = false) {
  Request request;
  request.method = method;
  request.headers = std::move(headers);
  request.tls = tls;
  request.loopback = true;
  request.peer = "127.0.0.1";
  return request;
}

int status(Guard& guard, const Request& request) {
  const auto refusal = guard.refuse(request);
  return refusal ? refusal->status : 200;
}

TEST(Guard, TakesAddressesAndKnownNamesAndNothingElse) {
  Guard guard({{"gym.example"}, 0, 0, true});
  for (const char* host : {"localhost", "127.0.0.1:8421", "[::1]", "192.168.1.7:8421",
                           "gym.example", "GYM.example:8421"}) {
    EXPECT_EQ(status(guard, from(Method::Get, {{"host", host}})), 200) << host;
  }
  // What a page of rebound.example would send after its name was turned to 127.0.0.1.
  for (const char* host : {"rebound.example", "localhost.rebound.example", "gym.example.evil", "",
                           "127.0.0.1.nip.example", "a b"}) {
    EXPECT_EQ(status(guard, from(Method::Get, {{"host", host}})), 421) << host;
  }
}

TEST(Guard, RefusesWritesFromOtherSites) {
  Guard guard({{}, 0, 0, true});
  const auto write = [&](std::map<std::string, std::string> headers, bool tls = false) {
    headers["host"] = "127.0.0.1:8421";
    return status(guard, from(Method::Post, std::move(headers), tls));
  };
  EXPECT_EQ(write({}), 200);  // no browser: the token decides
  EXPECT_EQ(write({{"origin", "http://127.0.0.1:8421"}}), 200);
  EXPECT_EQ(write({{"origin", "https://127.0.0.1:8421"}}, true), 200);
  EXPECT_EQ(write({{"sec-fetch-site", "same-origin"}}), 200);
  EXPECT_EQ(write({{"sec-fetch-site", "none"}}), 200);
  EXPECT_EQ(write({{"origin", "http://evil.example"}}), 403);
  EXPECT_EQ(write({{"origin", "http://127.0.0.1:9000"}}), 403);
  EXPECT_EQ(write({{"origin", "https://127.0.0.1:8421"}}), 403);
  EXPECT_EQ(write({{"origin", "null"}}), 403);
  EXPECT_EQ(write({{"sec-fetch-site", "cross-site"}}), 403);
  EXPECT_EQ(write({{"sec-fetch-site", "same-site"}}), 403);
  EXPECT_EQ(status(guard, from(Method::Get, {{"host", "127.0.0.1"}, {"origin", "null"}})), 200);
}

TEST(Guard, LimitsOtherPeersAndRoutes) {
  Guard guard({{}, 2, 2, true});
  Request request = from(Method::Get, {{"host", "127.0.0.1"}});
  for (int i = 0; i < 10; ++i) EXPECT_EQ(status(guard, request), 200);  // loopback: none
  request.loopback = false;
  request.peer = "192.168.1.7";
  EXPECT_EQ(status(guard, request), 200);
  EXPECT_EQ(status(guard, request), 200);
  const auto refusal = guard.refuse(request);
  ASSERT_TRUE(refusal);
  EXPECT_EQ(refusal->status, 429);
  EXPECT_GE(std::stoi(*refusal->header("retry-after")), 1);
  request.peer = "192.168.1.8";
  EXPECT_EQ(status(guard, request), 200);

  Route route;
  route.operation = "signIn";
  route.per_minute = 1;
  request.loopback = true;
  EXPECT_FALSE(guard.refuse_route(request, route));
  EXPECT_TRUE(guard.refuse_route(request, route));
  app::Caller caller;
  caller.person = "p";
  request.loopback = false;
  EXPECT_FALSE(guard.refuse_caller(request, caller));
  EXPECT_FALSE(guard.refuse_caller(request, caller));
  EXPECT_TRUE(guard.refuse_caller(request, caller));
}

TEST(TokenBuckets, FillAgainAndHoldABoundedNumberOfNames) {
  TokenBuckets buckets(100);
  auto now = TokenBuckets::Clock::now();
  for (int i = 0; i < 60; ++i) EXPECT_EQ(buckets.take("a", 60, now), 0);
  EXPECT_EQ(buckets.take("a", 60, now), 1);
  now += std::chrono::seconds(2);
  EXPECT_EQ(buckets.take("a", 60, now), 0);
  EXPECT_EQ(buckets.take("a", 60, now), 0);
  EXPECT_GT(buckets.take("a", 60, now), 0);
  // A flood of names neither grows without end nor gives the emptied one a new start.
  for (int i = 0; i < 10'000; ++i) buckets.take("flood " + std::to_string(i), 60, now);
  EXPECT_GT(buckets.take("a", 60, now), 0);
}

TEST(SafetyHeaders, AllowNoInlineScriptAndNoFrames) {
  Response page = Response::text("<!doctype html>", "text/html; charset=utf-8");
  add_safety_headers(page, from(Method::Get, {}));
  const std::string policy = *page.header("content-security-policy");
  EXPECT_NE(policy.find("default-src 'self'"), std::string::npos);
  EXPECT_NE(policy.find("frame-ancestors 'none'"), std::string::npos);
  EXPECT_EQ(policy.find("unsafe"), std::string::npos);
  EXPECT_EQ(*page.header("x-content-type-options"), "nosniff");
  EXPECT_EQ(*page.header("referrer-policy"), "no-referrer");
  EXPECT_EQ(page.header("strict-transport-security"), nullptr);

  Response data = Response::json("{}");
  add_safety_headers(data, from(Method::Get, {}, true));
  EXPECT_NE(data.header("content-security-policy")->find("default-src 'none'"), std::string::npos);
  EXPECT_EQ(*data.header("cache-control"), "no-store");
  EXPECT_NE(data.header("strict-transport-security"), nullptr);
}

}  // namespace
}  // namespace lintel::server
