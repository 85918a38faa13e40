// Answers as libcurl reads them: problem+json for every refusal, HEAD, ranges, tags, headers,
// callers.
#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <nlohmann/json.hpp>
#include <optional>
#include <thread>

#include "server/line_server.h"
#include "server/route_tools.h"
#include "support/temporary_folder.h"

namespace lintel::test {
namespace {

using nlohmann::json;

// Refusals carry the members of RFC 9457 and the status in both places.
void expect_problem(const HttpReply& reply, int status) {
  EXPECT_EQ(reply.status, status) << reply.body << reply.fault;
  EXPECT_EQ(reply.header("content-type"), "application/problem+json");
  const json problem = json::parse(reply.body, nullptr, false);
  ASSERT_TRUE(problem.is_object()) << reply.body;
  EXPECT_EQ(problem.at("status"), status);
  for (const char* name : {"type", "title", "detail"}) {
    EXPECT_FALSE(problem.at(name).get<std::string>().empty()) << name;
  }
}

Result<app::Caller> caller_by_name(const Request& request) {
  const std::string name = request.header("authorization");
  app::Caller caller;
  if (name.empty() && request.cookies.count("lintel_session") == 0) return caller;
  if (name == "Bearer stale") {
    return fail(ErrorCode::Denied, "the token does not hold", "sign in again");
  }
  caller.person = "person-1";
  caller.organization = "organization-1";
  caller.role = name == "Bearer athlete" ? app::Role::Athlete : app::Role::Practitioner;
  caller.by_token = !name.empty();
  return caller;
}

server::Gate test_gate() {
  server::Gate gate;
  gate.authenticate = caller_by_name;
  gate.write_token_holds = [](const Request& request, const app::Caller&) {
    return request.header("x-lintel-token") == "right";
  };
  return gate;
}

TEST(Refusals, AreProblemsWithTheirHeaders) {
  LineServer server;
  HttpClient client = server.client();
  expect_problem(client.get("/api/v1/nothing"), 404);
  expect_problem(client.get("/nothing.js"), 404);
  const HttpReply wrong_method = client.remove("/api/v1/hello");
  expect_problem(wrong_method, 405);
  EXPECT_EQ(wrong_method.header("allow"), "GET, HEAD");
  expect_problem(client.post("/api/v1/echo", std::string(1'100'000, 'a')), 413);
  expect_problem(client.get("/api/v1/hello", {{"Host", "rebound.example"}}), 421);
  expect_problem(client.post("/api/v1/echo", "{}", {{"Origin", "https://evil.example"}}), 403);
  EXPECT_EQ(client.get("/api/v1/hello").body, "hello");
}

TEST(Refusals, OfAHandlerBecomeTheirStatus) {
  std::vector<Route> routes;
  routes.push_back(
      make_route(Method::Get, "/api/v1/fail/{code}", [](const Call& call) -> Result<Response> {
        const int code = std::stoi(call.path.at("code"));
        if (code == 99) throw std::runtime_error("Ansa Brinvik's record");
        return fail(static_cast<ErrorCode>(code), "said by the test", "mend it");
      }));
  std::string logged;
  server::ServerOptions options;
  options.log = [&](const std::string& line) { logged += line; };
  LineServer server(std::move(routes), options);
  HttpClient client = server.client();
  const std::pair<ErrorCode, int> table[] = {
      {ErrorCode::NotFound, 404},  {ErrorCode::Invalid, 422}, {ErrorCode::Unsupported, 415},
      {ErrorCode::Conflict, 409},  {ErrorCode::Denied, 401},  {ErrorCode::Limit, 413},
      {ErrorCode::Cancelled, 409}, {ErrorCode::Io, 503},      {ErrorCode::Internal, 500}};
  for (const auto& [code, status] : table) {
    expect_problem(client.get("/api/v1/fail/" + std::to_string(static_cast<int>(code))), status);
  }
  expect_problem(client.get("/api/v1/fail/99"), 500);
  EXPECT_EQ(logged.find("Ansa"), std::string::npos);  // no personal data in logs
  EXPECT_NE(logged.find("exception"), std::string::npos);
}

TEST(Callers, AreAskedForAndHeldToTheirPermission) {
  std::vector<Route> routes;
  const auto ok = [](const Call& call) -> Result<Response> {
    return Response::json("{\"person\":\"" + call.caller.person + "\"}");
  };
  routes.push_back(make_route(Method::Get, "/api/v1/open", ok));
  routes.push_back(make_route(Method::Get, "/api/v1/records", ok, app::Permission::ReadRecords));
  routes.push_back(make_route(Method::Post, "/api/v1/records", ok, app::Permission::WriteRecords));
  LineServer server(std::move(routes), {}, test_gate());
  HttpClient client = server.client();

  const HttpReply nobody = client.get("/api/v1/records");
  expect_problem(nobody, 401);
  EXPECT_FALSE(nobody.header("www-authenticate").empty());  // RFC 9110, section 15.5.2
  expect_problem(client.get("/api/v1/records", {{"Authorization", "Bearer stale"}}), 401);
  expect_problem(client.get("/api/v1/records", {{"Authorization", "Bearer athlete"}}), 403);
  EXPECT_EQ(client.get("/api/v1/records", {{"Authorization", "Bearer x"}}).status, 200);
  EXPECT_EQ(client.get("/api/v1/open", {{"Authorization", "Bearer stale"}}).status, 200);

  EXPECT_EQ(client.post("/api/v1/records", "{}", {{"Authorization", "Bearer x"}}).status, 200);
  client.set_cookie("lintel_session=1");
  expect_problem(client.post("/api/v1/records", "{}"), 403);
  expect_problem(client.post("/api/v1/records", "{}", {{"X-Lintel-Token", "wrong"}}), 403);
  EXPECT_EQ(client.post("/api/v1/records", "{}", {{"X-Lintel-Token", "right"}}).status, 200);
  EXPECT_EQ(client.get("/api/v1/records").status, 200);
}

TEST(Callers, WithALargeBodyAreRefusedBeforeItIsRead) {
  std::vector<Route> routes;
  Route route = make_route(
      Method::Put, "/api/v1/large",
      [](const Call& call) -> Result<Response> {
        return Response::text(std::to_string(call.request.body.size()), "text/plain");
      },
      app::Permission::WriteRecords);
  route.body_limit = std::size_t{8} << 20;
  routes.push_back(route);
  LineServer server(std::move(routes), {}, test_gate());
  // Not one byte of the body is sent, and the answer comes all the same.
  const std::string answer = server.raw(
      "PUT /api/v1/large HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 8000000\r\n\r\n");
  EXPECT_EQ(raw_status(answer), 401);
  HttpClient client = server.client();
  const HttpReply taken = client.send("PUT", "/api/v1/large", std::string(8'000'000, 'a'),
                                      {{"Authorization", "Bearer x"}});
  EXPECT_EQ(taken.body, "8000000") << taken.fault;
}

TEST(AuditHook, HearsOfEveryAnswerAndCanHoldAReadBack) {
  std::vector<Route> routes;
  const auto ok = [](const Call&) -> Result<Response> { return Response::json("{}"); };
  routes.push_back(make_route(Method::Get, "/api/v1/a/{record}", ok, app::Permission::ReadRecords));
  routes.push_back(
      make_route(Method::Post, "/api/v1/a/{record}", ok, app::Permission::WriteRecords));
  server::Gate gate = test_gate();
  std::mutex mutex;
  std::vector<std::string> heard;
  std::atomic<bool> works{true};
  gate.note = [&](const server::AccessNote& note) -> Result<void> {
    if (!works) return fail(ErrorCode::Io, "the trail cannot be written");
    const std::lock_guard lock(mutex);
    heard.push_back(note.route.operation + " " + note.path.at("record") + " " +
                    std::to_string(note.status) + " " + note.caller.person);
    return {};
  };
  LineServer server(std::move(routes), {}, std::move(gate));
  HttpClient client = server.client();
  client.set_header("Authorization", "Bearer x");
  client.get("/api/v1/a/7");
  client.post("/api/v1/a/7", "{}");
  EXPECT_EQ(heard, (std::vector<std::string>{"GET /api/v1/a/{record} 7 200 person-1",
                                             "POST /api/v1/a/{record} 7 200 person-1"}));
  works = false;
  expect_problem(client.get("/api/v1/a/7"), 503);
  EXPECT_EQ(client.post("/api/v1/a/7", "{}").status, 200);  // what was done stays done
}

TEST(OnceKeys, TheSecondRequestGetsTheFirstAnswer) {
  std::atomic<int> made{0};
  std::vector<Route> routes;
  routes.push_back(
      make_route(Method::Post, "/api/v1/make", [&](const Call& call) -> Result<Response> {
        if (call.request.body == "bad") return fail(ErrorCode::Invalid, "bad");
        return server::created("{\"number\":" + std::to_string(++made) + "}", "/api/v1/make/1");
      }));
  Route secret = routes.back();
  secret.pattern = "/api/v1/secret";
  secret.operation = "secret";
  secret.answer_holds_secret = true;
  routes.push_back(secret);
  // A gate that keeps answers in memory, by the rules of gate.h.
  server::Gate gate;
  std::map<std::string, std::optional<server::KeptAnswer>> kept;
  gate.begin_once = [&](const app::Caller&,
                        const Request& request) -> Result<std::optional<server::KeptAnswer>> {
    const auto [place, fresh] = kept.emplace(request.header("idempotency-key"), std::nullopt);
    if (fresh) return std::nullopt;
    if (!place->second) return fail(ErrorCode::Conflict, "the first one still runs");
    return place->second;
  };
  gate.finish_once = [&](const app::Caller&, const Request& request,
                         const std::optional<server::KeptAnswer>& answer) {
    if (answer) kept[request.header("idempotency-key")] = answer;
    if (!answer) kept.erase(request.header("idempotency-key"));
  };
  LineServer server(std::move(routes), {}, std::move(gate));
  HttpClient client = server.client();
  const Headers key{{"Idempotency-Key", "8e03978e-40d5-43e8-bc93-6894a57f9324"}};
  const HttpReply first = client.post("/api/v1/make", "{}", key);
  const HttpReply second = client.post("/api/v1/make", "{}", key);
  EXPECT_EQ(first.status, 201);
  EXPECT_EQ(second.status, 201);
  EXPECT_EQ(first.body, second.body);
  EXPECT_EQ(second.header("location"), "/api/v1/make/1");
  EXPECT_EQ(second.header("idempotency-replayed"), "true");
  EXPECT_EQ(made, 1);
  EXPECT_NE(client.post("/api/v1/make", "{}").body, first.body);  // without a key: another one
  const Headers other{{"Idempotency-Key", "b"}};
  expect_problem(client.post("/api/v1/make", "bad", other), 422);
  EXPECT_EQ(client.post("/api/v1/make", "{}", other).status, 201);  // what failed is not kept
  expect_problem(client.post("/api/v1/make", "{}", {{"Idempotency-Key", "a b"}}), 422);
  const Headers third{{"Idempotency-Key", "c"}};
  EXPECT_NE(client.post("/api/v1/secret", "{}", third).body,
            client.post("/api/v1/secret", "{}", third).body);
}

TEST(Versions, AnOldOneIs412AndAMissingOne428) {
  std::vector<Route> routes;
  routes.push_back(make_route(Method::Get, "/api/v1/a", [](const Call&) -> Result<Response> {
    return server::json_with_version("{\"a\":1}", 3);
  }));
  routes.push_back(make_route(Method::Put, "/api/v1/a", [](const Call& call) -> Result<Response> {
    const std::int64_t version = LINTEL_TRY(server::if_match(call.request));
    if (version != 0 && version != 3) return fail(ErrorCode::Conflict, "version 3 is the newest");
    return server::json_with_version("{\"a\":2}", 4);
  }));
  LineServer server(std::move(routes));
  HttpClient client = server.client();
  const HttpReply read = client.get("/api/v1/a");
  EXPECT_EQ(read.header("etag"), "\"3\"");
  const HttpReply again = client.get("/api/v1/a", {{"If-None-Match", "\"3\""}});
  EXPECT_EQ(again.status, 304);
  EXPECT_EQ(again.body, "");
  expect_problem(client.put("/api/v1/a", "{}"), 428);
  expect_problem(client.put("/api/v1/a", "{}", {{"If-Match", "\"2\""}}), 412);
  EXPECT_EQ(client.put("/api/v1/a", "{}", {{"If-Match", "\"3\""}}).header("etag"), "\"4\"");
}

class Clip : public ::testing::Test {
 protected:
  Clip() {
    for (int i = 0; bytes_.size() < 700'000; ++i) bytes_ += std::to_string(i) + " ";
    write_bytes(folder_ / "clip.mp4", bytes_);
    std::vector<Route> routes;
    routes.push_back(
        make_route(Method::Get, "/api/v1/clip", [this](const Call&) -> Result<Response> {
          return Response::file(folder_ / "clip.mp4", "video/mp4");
        }));
    server_ = std::make_unique<LineServer>(std::move(routes));
  }
  TemporaryFolder folder_;
  std::string bytes_;
  std::unique_ptr<LineServer> server_;
};

TEST_F(Clip, ComesWholeAndInParts) {
  HttpClient client = server_->client();
  const HttpReply whole = client.get("/api/v1/clip");
  EXPECT_EQ(whole.body, bytes_);
  EXPECT_EQ(whole.header("content-type"), "video/mp4");
  const HttpReply part = client.get("/api/v1/clip", {{"Range", "bytes=300000-599999"}});
  EXPECT_EQ(part.status, 206);
  EXPECT_EQ(part.body, bytes_.substr(300'000, 300'000));
  const HttpReply end = client.get("/api/v1/clip", {{"Range", "bytes=-10"}});
  EXPECT_EQ(end.body, bytes_.substr(bytes_.size() - 10));
  expect_problem(client.get("/api/v1/clip", {{"Range", "bytes=9999999-"}}), 416);
  const HttpReply head = client.head("/api/v1/clip");
  EXPECT_EQ(head.status, 200);
  EXPECT_EQ(head.header("content-length"), std::to_string(bytes_.size()));
  EXPECT_EQ(head.body, "");
  EXPECT_EQ(client.get("/api/v1/clip").body.size(), bytes_.size());  // the connection goes on
}

TEST(StaticPages, CarryThePolicyAndAnswerOtherPathsWithThePage) {
  TemporaryFolder folder;
  write_bytes(folder / "index.html", "<!doctype html><title>Lintel</title>");
  LineServer server(plain_routes(), {}, {}, *server::StaticFiles::folder(folder.path()));
  HttpClient client = server.client();
  for (const char* path : {"/", "/athletes/7", "/u/secret?x=1"}) {
    const HttpReply page = client.get(path);
    EXPECT_EQ(page.status, 200) << path;
    EXPECT_EQ(page.header("content-type"), "text/html; charset=utf-8");
    const std::string policy = page.header("content-security-policy");
    EXPECT_NE(policy.find("default-src 'self'"), std::string::npos);
    EXPECT_EQ(policy.find("unsafe-inline"), std::string::npos);
    EXPECT_EQ(page.header("x-content-type-options"), "nosniff");
    EXPECT_EQ(page.header("cross-origin-opener-policy"), "same-origin");
  }
  EXPECT_EQ(client.get("/", {{"If-None-Match", client.get("/").header("etag")}}).status, 304);
  expect_problem(client.post("/athletes/7", "{}"), 405);
  expect_problem(client.get("/api/v2/x"), 404);
}

TEST(Listening, RefusesOtherMachinesWithoutTlsAndAPortInUse) {
  server::ServerOptions options;
  options.address = "0.0.0.0";
  EXPECT_EQ(server::Server::start(options, {}, {}).error().code, ErrorCode::Denied);
  options.address = "not an address";
  EXPECT_EQ(server::Server::start(options, {}, {}).error().code, ErrorCode::Invalid);
  LineServer first;
  options.address = "127.0.0.1";
  options.port = first->port();
  EXPECT_EQ(server::Server::start(options, {}, {}).error().code, ErrorCode::Conflict);
}

TEST(Limits, OfConnectionsAndBodiesAreKept) {
  server::ServerOptions options;
  options.connections = 2;
  options.bodies_bytes = 1000;
  LineServer server(plain_routes(), options);
  std::optional<HttpClient> first = server.client();
  HttpClient second = server.client();
  EXPECT_EQ(first->get("/api/v1/hello").status, 200);
  EXPECT_EQ(second.get("/api/v1/hello").status, 200);
  EXPECT_EQ(server.client().get("/api/v1/hello").status, 0);
  EXPECT_EQ(second.post("/api/v1/echo", std::string(1000, 'a')).status, 200);
  expect_problem(second.post("/api/v1/echo", std::string(1001, 'a')), 503);
  first.reset();  // its place is free as soon as the server has seen it go
  const auto patience = std::chrono::steady_clock::now() + std::chrono::seconds(30);
  int status = 0;
  while (status != 200 && std::chrono::steady_clock::now() < patience) {
    status = server.client().get("/api/v1/hello").status;
  }
  EXPECT_EQ(status, 200);
}

// A handler that waits until the test lets it go on.
struct Door {
  std::mutex mutex;
  std::condition_variable changed;
  bool inside = false, open = false, stopped = false;

  Result<Response> wait(const Call& call) {
    std::unique_lock lock(mutex);
    inside = true;
    changed.notify_all();
    const std::stop_callback stop(call.work.stop, [this] {
      const std::lock_guard inner(mutex);
      stopped = true;
      changed.notify_all();
    });
    changed.wait_for(lock, std::chrono::seconds(30), [&] { return open || stopped; });
    return Response::text(stopped ? "stopped" : "open", "text/plain");
  }
  template <typename Condition>
  bool until(const Condition& condition) {
    std::unique_lock lock(mutex);
    return changed.wait_for(lock, std::chrono::seconds(30), condition);
  }
};

TEST(Stopping, LetsWhatRunsEndAndTakesNothingNew) {
  Door door;
  std::vector<Route> routes = plain_routes();
  routes.push_back(
      make_route(Method::Get, "/api/v1/wait", [&](const Call& call) { return door.wait(call); }));
  LineServer server(std::move(routes));
  HttpReply reply;
  std::thread asking([&] { reply = server.client().get("/api/v1/wait"); });
  ASSERT_TRUE(door.until([&] { return door.inside; }));
  server->stop();
  asking.join();
  EXPECT_EQ(reply.status, 200) << reply.fault;
  EXPECT_EQ(reply.body, "stopped");
  EXPECT_EQ(server.client().get("/api/v1/hello").status, 0);
}

TEST(AnImpatientClient, TellsItsHandlerThatNobodyWaits) {
  Door door;
  std::vector<Route> routes;
  routes.push_back(
      make_route(Method::Get, "/api/v1/wait", [&](const Call& call) { return door.wait(call); }));
  LineServer server(std::move(routes));
  HttpClient client = server.client();
  client.set_time_limit_ms(100);
  EXPECT_EQ(client.get("/api/v1/wait").status, 0);
  EXPECT_TRUE(door.until([&] { return door.stopped; }));
}

TEST(AFullQueue, IsAnsweredWithTryAgain) {
  Door door;
  std::vector<Route> routes;
  routes.push_back(
      make_route(Method::Get, "/api/v1/wait", [&](const Call& call) { return door.wait(call); }));
  server::ServerOptions options;
  options.pool_threads = 1;
  options.queue = 1;
  LineServer server(std::move(routes), options);
  int refused = 0;  // under the door's mutex
  const auto ask = [&] {
    const HttpReply reply = server.client().get("/api/v1/wait");
    if (reply.status != 503) return;
    EXPECT_EQ(reply.header("retry-after"), "1");
    const std::lock_guard lock(door.mutex);
    ++refused;
    door.changed.notify_all();
  };
  std::vector<std::jthread> clients;
  clients.emplace_back(ask);
  ASSERT_TRUE(door.until([&] { return door.inside; }));
  // One is inside; of three more one waits, and two are told to come again.
  for (int i = 0; i < 3; ++i) clients.emplace_back(ask);
  EXPECT_TRUE(door.until([&] { return refused == 2; }));
  {
    const std::lock_guard lock(door.mutex);
    door.open = true;
    door.changed.notify_all();
  }
  clients.clear();
  EXPECT_EQ(refused, 2);
}

}  // namespace
}  // namespace lintel::test
