// Requests that no library would send: each must be refused, and none may reach a handler twice or
// be read in two ways (RFC 9112, sections 2 to 9 and 11.2, "request smuggling").
#include <gtest/gtest.h>

#include <atomic>

#include "server/line_server.h"

namespace lintel::test {
namespace {

std::string get(const std::string& more = {}, const std::string& target = "/api/v1/hello") {
  return "GET " + target + " HTTP/1.1\r\nHost: 127.0.0.1\r\n" + more + "Connection: close\r\n\r\n";
}
std::string post(const std::string& headers, const std::string& body) {
  return "POST /api/v1/echo HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n" + headers +
         "\r\n" + body;
}
// How many answers came back.
int answers(std::string_view text) {
  int count = 0;
  for (std::size_t at = text.find("HTTP/1.1 "); at != std::string_view::npos;
       at = text.find("HTTP/1.1 ", at + 1)) {
    ++count;
  }
  return count;
}

class Malformed : public ::testing::Test {
 protected:
  int status(const std::string& bytes) {
    const std::string answer = server_.raw(bytes);
    EXPECT_EQ(answers(answer), 1) << bytes.substr(0, 200) << "\n--\n" << answer.substr(0, 300);
    return raw_status(answer);
  }
  LineServer server_;
};

TEST_F(Malformed, TheSameRequestsInGoodFormAreAnswered) {
  EXPECT_EQ(status(get()), 200);
  EXPECT_EQ(status(post("Content-Length: 3\r\n", "abc")), 200);
  EXPECT_EQ(status(post("Transfer-Encoding: chunked\r\n", "3\r\nabc\r\n0\r\n\r\n")), 200);
  EXPECT_EQ(status(get({}, "http://127.0.0.1/api/v1/hello")), 200);  // RFC 9112, section 3.2.2
}

TEST_F(Malformed, TwoWaysToSayHowLongTheBodyIs) {
  EXPECT_EQ(status(post("Content-Length: 3\r\nContent-Length: 4\r\n", "abcd")), 400);
  EXPECT_EQ(status(post("Content-Length: 3, 4\r\n", "abcd")), 400);
  EXPECT_EQ(status(post("Content-Length: 5\r\nTransfer-Encoding: chunked\r\n", "0\r\n\r\n")), 400);
  EXPECT_EQ(status(post("Transfer-Encoding: chunked\r\nContent-Length: 5\r\n", "0\r\n\r\n")), 400);
  EXPECT_EQ(status(post("Content-Length: -1\r\n", "a")), 400);
  EXPECT_EQ(status(post("Content-Length: +1\r\n", "a")), 400);
  EXPECT_EQ(status(post("Content-Length: 0x1\r\n", "a")), 400);
  EXPECT_EQ(status(post("Content-Length: 99999999999999999999999\r\n", "a")), 400);
}

TEST_F(Malformed, OtherTransferCodings) {
  EXPECT_EQ(status(post("Transfer-Encoding: gzip, chunked\r\n", "0\r\n\r\n")), 501);
  EXPECT_EQ(status(post("Transfer-Encoding: identity\r\n", "abc")), 501);
  EXPECT_EQ(status(post("Transfer-Encoding: xchunked\r\n", "0\r\n\r\n")), 501);
  EXPECT_GE(
      status(post("Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n", "0\r\n\r\n")),
      400);
}

TEST_F(Malformed, BrokenChunks) {
  for (const char* body :
       {"3\nabc\n0\n\n", "-3\r\nabc\r\n0\r\n\r\n", "x\r\nabc\r\n0\r\n\r\n",
        "ffffffffffffffffff\r\nabc", "3\r\nabcd\r\n0\r\n\r\n", "3 \r\nabc\r\n0"}) {
    EXPECT_GE(status(post("Transfer-Encoding: chunked\r\n", body) + "\r\n\r\n"), 400) << body;
  }
}

TEST_F(Malformed, LinesAndNames) {
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\nHost: 127.0.0.1\n\n"), 400);  // bare LF
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\nX: y\r\n\r\n"), 400);
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost : 127.0.0.1\r\n\r\n"), 400);  // space
  EXPECT_EQ(status(post("Content-Length : 3\r\n", "abc")), 400);
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\n Host: 127.0.0.1\r\n\r\n"), 400);
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\nA\r\n\r\n"), 400);
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\nA: b\x01\r\n\r\n"), 400);
  EXPECT_EQ(status("GET  /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"), 400);
  EXPECT_EQ(status("GET /api/v1/hello\r\n\r\n"), 400);
  EXPECT_EQ(status("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n"),
            400);  // TLS on a plain port
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\n: b\r\n\r\n"), 400);
}

TEST_F(Malformed, HostMustBeThereOnceAndOurs) {
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nConnection: close\r\n\r\n"), 400);
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: 127.0.0.1\r\n"
                   "Connection: close\r\n\r\n"),
            400);
  EXPECT_EQ(
      status("GET /api/v1/hello HTTP/1.1\r\nHost: rebound.example\r\nConnection: close\r\n\r\n"),
      421);
  EXPECT_EQ(status(get({}, "http://rebound.example/api/v1/hello")), 421);
}

TEST_F(Malformed, VersionsAndMethods) {
  EXPECT_GE(status("GET /api/v1/hello HTTP/2.0\r\nHost: 127.0.0.1\r\n\r\n"), 400);
  EXPECT_GE(status("GET /api/v1/hello HTTP/1.9\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"),
            400);
  EXPECT_EQ(status("BREW /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"),
            501);
  EXPECT_EQ(status("TRACE /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"),
            405);
  EXPECT_EQ(status("CONNECT 127.0.0.1:22 HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"),
            405);
}

TEST_F(Malformed, PathsThatLeadElsewhere) {
  for (const char* target : {"/../../etc/passwd", "/api/v1/../../x", "/%2e%2e/%2e%2e/etc/passwd",
                             "/..%2f..%2fetc/passwd", "/api//v1/hello", "/api/v1/hello%00",
                             "/..%5c..%5cetc", "/api/v1/%c0%ae%c0%ae/x"}) {
    EXPECT_EQ(status(get({}, target)), 400) << target;
  }
  EXPECT_EQ(status(get({}, "/etc/passwd")), 404);
}

TEST_F(Malformed, TooMuchHeader) {
  EXPECT_EQ(status(get("X: " + std::string(20'000, 'a') + "\r\n")), 431);
  std::string many;
  for (int i = 0; i < 3000; ++i) many += "X" + std::to_string(i) + ": y\r\n";
  EXPECT_EQ(status(get(many)), 431);
  EXPECT_EQ(status(get({}, "/" + std::string(20'000, 'a'))), 431);
  EXPECT_EQ(status(get("X: " + std::string(8'000, 'a') + "\r\n")), 200);
}

TEST_F(Malformed, ASecondRequestBehindARefusedBodyIsNotRead) {
  // What would be smuggled stands where a careless server would go on reading.
  const std::string hidden = "GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n";
  EXPECT_EQ(
      status("POST /api/v1/echo HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 2000000\r\n\r\n" +
             hidden),
      413);
  EXPECT_EQ(
      status("POST /api/v1/nothing HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 60\r\n\r\n" +
             hidden),
      404);
  EXPECT_EQ(status("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 60\r\n\r\n" +
                   hidden),
            413);
}

TEST_F(Malformed, TwoRequestsInOnePieceAreBothAnswered) {
  const std::string first = "GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n";
  EXPECT_EQ(answers(server_.raw(first + get())), 2);
}

TEST_F(Malformed, ABodyLargerThanItsRouteTakes) {
  const std::string large(1'100'000, 'a');
  EXPECT_EQ(status(post("Content-Length: 1100000\r\n", large)), 413);
  EXPECT_EQ(status(post("Transfer-Encoding: chunked\r\n", "10c8e0\r\n" + large + "\r\n0\r\n\r\n")),
            413);
}

TEST(Expectation, IsAnsweredBeforeTheBodyComes) {
  server::ServerOptions options;
  options.stall_time = std::chrono::milliseconds(100);
  LineServer server(plain_routes(), options);
  const std::string answer = server.raw(post("Content-Length: 3\r\nExpect: 100-continue\r\n", ""));
  EXPECT_EQ(answer, "HTTP/1.1 100 Continue\r\n\r\n");  // and then nothing, for the body never came
}

TEST(UnknownExpectation, IsRefused) {
  LineServer server;
  EXPECT_EQ(raw_status(server.raw(post("Content-Length: 3\r\nExpect: soup\r\n", "abc"))), 417);
}

TEST(SlowSender, IsCutOffWithoutATouchOfItsRequest) {
  std::atomic<int> handled{0};
  std::vector<Route> routes;
  routes.push_back(make_route(Method::Post, "/api/v1/echo", [&](const Call&) -> Result<Response> {
    ++handled;
    return Response::empty();
  }));
  server::ServerOptions options;
  options.header_time = std::chrono::milliseconds(150);
  options.stall_time = std::chrono::milliseconds(150);
  options.idle_time = std::chrono::milliseconds(150);
  LineServer server(std::move(routes), options);
  // Closed without a word: the connection, not the test's patience, has ended.
  EXPECT_EQ(server.raw("POST /api/v1/echo HTTP/1.1\r\nHost: 127.0"), "");
  EXPECT_EQ(server.raw(post("Content-Length: 5\r\n", "abc")), "");
  EXPECT_EQ(server.raw(""), "");
  EXPECT_EQ(handled, 0);
}

}  // namespace
}  // namespace lintel::test
