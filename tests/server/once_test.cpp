// Once-only keys through the whole server (their rules: tests/store/once_keys_test.cpp).
#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "server/route_tools.h"
#include "support/server_fixture.h"

namespace lintel::test {
namespace {

TEST(OnceOverTheLine, ManyAtOnceMakeOneAndAllGetTheSameOrAreToldToWait) {
  std::atomic<int> made{0};
  ServerFixture::Options options;
  options.more_routes = [&](std::vector<server::Route>& routes) {
    server::Route route;
    route.method = server::Method::Post;
    route.pattern = "/api/v1/make-one";
    route.operation = "makeOne";
    route.permission = app::Permission::SignedIn;
    route.handler = [&](const server::Call&) -> Result<server::Response> {
      return server::created("{\"number\":" + std::to_string(++made) + "}", "/here");
    };
    routes.push_back(std::move(route));
  };
  ServerFixture fixture(std::move(options));
  fixture.person(app::Role::Practitioner);
  std::atomic<int> created{0}, waited{0};
  std::vector<std::jthread> clients;
  for (int i = 0; i < 8; ++i) {
    clients.emplace_back([&] {
      HttpClient client = fixture.as(app::Role::Practitioner);
      for (int k = 0; k < 5; ++k) {
        const HttpReply reply =
            client.post("/api/v1/make-one", "{}", {{"Idempotency-Key", "the-one"}});
        if (reply.status == 201 && reply.body == "{\"number\":1}") ++created;
        if (reply.status == 409) ++waited;
      }
    });
  }
  clients.clear();
  EXPECT_EQ(made, 1);
  EXPECT_EQ(created + waited, 40);
  EXPECT_GE(created, 1);
}

// The slider asks dozens of questions a second: none of them may wait for the disk.
TEST(OnceOverTheLine, QuestionsAreAnsweredAnew) {
  std::atomic<int> asked{0};
  ServerFixture::Options options;
  options.more_routes = [&](std::vector<server::Route>& routes) {
    server::Route route;
    route.method = server::Method::Post;
    route.pattern = "/api/v1/ask";
    route.operation = "ask";
    route.changes_nothing = true;
    route.handler = [&](const server::Call&) -> Result<server::Response> {
      return server::Response::json("{\"number\":" + std::to_string(++asked) + "}");
    };
    routes.push_back(std::move(route));
  };
  ServerFixture fixture(std::move(options));
  const Headers key{{"Idempotency-Key", "the-one"}};
  EXPECT_EQ(fixture.client().post("/api/v1/ask", "{}", key).body, "{\"number\":1}");
  const HttpReply second = fixture.client().post("/api/v1/ask", "{\"other\":1}", key);
  EXPECT_EQ(second.body, "{\"number\":2}");
  EXPECT_EQ(second.header("idempotency-replayed"), "");
}

TEST(OnceOverTheLine, OutlivesARestart) {
  std::atomic<int> made{0};
  ServerFixture::Options options;
  options.more_routes = [&](std::vector<server::Route>& routes) {
    server::Route route;
    route.method = server::Method::Post;
    route.pattern = "/api/v1/make-one";
    route.operation = "makeOne";
    route.handler = [&](const server::Call&) -> Result<server::Response> {
      return server::created("{\"number\":" + std::to_string(++made) + "}", "/here");
    };
    routes.push_back(std::move(route));
  };
  ServerFixture fixture(std::move(options));
  const Headers key{{"Idempotency-Key", "the-one"}};
  const HttpReply first = fixture.client().post("/api/v1/make-one", "{}", key);
  fixture.restart();
  const HttpReply second = fixture.client().post("/api/v1/make-one", "{}", key);
  EXPECT_EQ(first.body, second.body);
  EXPECT_EQ(second.header("idempotency-replayed"), "true");
  EXPECT_EQ(made, 1);
}

}  // namespace
}  // namespace lintel::test
