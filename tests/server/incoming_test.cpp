#include "server/incoming.h"

#include <gtest/gtest.h>

namespace lintel::server {
namespace {

Request from(std::string peer, std::map<std::string, std::string> headers) {
  Request request;
  request.peer = std::move(peer);
  request.headers = std::move(headers);
  request.headers.emplace("host", "127.0.0.1");
  return request;
}

TEST(Incoming, ListsAreJoinedAndSinglesStaySingle) {
  Request request;
  EXPECT_TRUE(add_header(request, "accept", "text/csv"));
  EXPECT_TRUE(add_header(request, "accept", "text/plain"));
  EXPECT_EQ(request.header("accept"), "text/csv, text/plain");
  EXPECT_TRUE(add_header(request, "cookie", "a=1"));
  EXPECT_TRUE(add_header(request, "cookie", "b=2"));
  EXPECT_EQ(request.header("cookie"), "a=1; b=2");
  EXPECT_TRUE(add_header(request, "authorization", "Bearer a"));
  EXPECT_FALSE(add_header(request, "authorization", "Bearer b"));
}

TEST(Incoming, ATargetWithAHostTakesThePlaceOfHost) {
  Request request = from("127.0.0.1", {});
  EXPECT_FALSE(complete(request, "http://gym.example:80/a?b=c", ""));
  EXPECT_EQ(request.header("host"), "gym.example:80");
  EXPECT_EQ(request.path, "/a");
  EXPECT_EQ(request.query.at("b"), "c");
}

TEST(Incoming, OnlyADirectConnectionFromThisMachineIsLoopback) {
  Request direct = from("127.0.0.1", {});
  EXPECT_FALSE(complete(direct, "/", ""));
  EXPECT_TRUE(direct.loopback);
  Request other = from("192.168.1.7", {});
  EXPECT_FALSE(complete(other, "/", ""));
  EXPECT_FALSE(other.loopback);
  // A proxy on this machine that nobody told us of: its requests come from elsewhere all the same.
  for (const char* name : {"x-forwarded-for", "forwarded"}) {
    Request proxied = from("127.0.0.1", {{name, "198.51.100.7"}});
    EXPECT_FALSE(complete(proxied, "/", ""));
    EXPECT_FALSE(proxied.loopback);
    EXPECT_EQ(proxied.peer, "127.0.0.1");  // its word about the peer is not taken
  }
}

TEST(Incoming, AKnownProxyIsBelievedForItsLastEntryAlone) {
  Request request = from(
      "127.0.0.1", {{"x-forwarded-for", "10.0.0.1, 198.51.100.7"}, {"x-forwarded-proto", "https"}});
  EXPECT_FALSE(complete(request, "/", "127.0.0.1"));
  EXPECT_EQ(request.peer, "198.51.100.7");
  EXPECT_TRUE(request.tls);
  EXPECT_FALSE(request.loopback);
  Request stranger =
      from("203.0.113.5", {{"x-forwarded-for", "127.0.0.1"}, {"x-forwarded-proto", "https"}});
  EXPECT_FALSE(complete(stranger, "/", "127.0.0.1"));
  EXPECT_EQ(stranger.peer, "203.0.113.5");
  EXPECT_FALSE(stranger.tls);
}

}  // namespace
}  // namespace lintel::server
