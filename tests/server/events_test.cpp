// Event streams: many at once on few threads, closed by either side.
#include <gtest/gtest.h>

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "server/line_server.h"

namespace lintel::test {
namespace {

using server::Event;
using server::EventBatch;
using server::EventSource;

// Counts from 1 to `last`, one number each time it is asked.
std::vector<Route> counting(int last, std::atomic<int>* asked = nullptr) {
  std::vector<Route> routes = plain_routes();
  routes.push_back(
      make_route(Method::Get, "/api/v1/count", [last, asked](const Call&) -> Result<Response> {
        EventSource source;
        source.interval_ms = 10;
        source.next = [last, asked](std::string_view last_id) {
          if (asked != nullptr) ++*asked;
          const int next = last_id.empty() ? 1 : std::stoi(std::string(last_id)) + 1;
          EventBatch batch;
          batch.events.push_back(
              {std::to_string(next), "count", "{\"n\":" + std::to_string(next) + "}"});
          batch.last = next == last;
          return batch;
        };
        Response response;
        response.body = std::move(source);
        return response;
      }));
  return routes;
}

TEST(EventStream, SendsEachEventOnceAndEnds) {
  LineServer server(counting(3));
  HttpClient client = server.client();
  const HttpReply reply = client.get("/api/v1/count");
  EXPECT_EQ(reply.status, 200) << reply.fault;
  EXPECT_EQ(reply.fault, "");
  EXPECT_EQ(reply.header("content-type"), "text/event-stream");
  EXPECT_EQ(reply.header("cache-control"), "no-store");
  EXPECT_EQ(reply.body,
            ": open\n\n"
            "id: 1\nevent: count\ndata: {\"n\":1}\n\n"
            "id: 2\nevent: count\ndata: {\"n\":2}\n\n"
            "id: 3\nevent: count\ndata: {\"n\":3}\n\n");
  EXPECT_EQ(client.get("/api/v1/hello").body, "hello");  // the same connection
}

TEST(EventStream, OfAnOldClientEndsWithTheConnection) {
  LineServer server(counting(2));
  const std::string answer = server.raw("GET /api/v1/count HTTP/1.0\r\nHost: 127.0.0.1\r\n\r\n");
  EXPECT_EQ(raw_status(answer), 200);
  EXPECT_EQ(answer.find("transfer-encoding"), std::string::npos);
  const std::string end = "data: {\"n\":2}\n\n";
  EXPECT_EQ(answer.substr(answer.size() - end.size()), end);
}

TEST(EventStream, HoldsNoThreadWhileItWaits) {
  server::ServerOptions options;
  options.pool_threads = 2;
  LineServer server(counting(1'000'000), options);
  std::mutex mutex;
  std::condition_variable changed;
  int open = 0;
  bool done = false;
  std::vector<std::thread> readers;
  for (int i = 0; i < 60; ++i) {
    readers.emplace_back([&] {
      bool first = true;
      server.client().stream("/api/v1/count", [&](std::string_view) {
        const std::lock_guard lock(mutex);
        if (first) ++open;
        first = false;
        changed.notify_all();
        return !done;
      });
    });
  }
  {
    std::unique_lock lock(mutex);
    EXPECT_TRUE(changed.wait_for(lock, std::chrono::seconds(60), [&] { return open == 60; }));
  }
  // Thirty times as many streams as threads, and a plain request is answered all the same.
  EXPECT_EQ(server.client().get("/api/v1/hello").body, "hello");
  {
    const std::lock_guard lock(mutex);
    done = true;
  }
  for (std::thread& reader : readers) reader.join();
}

TEST(EventStream, EndsWhenTheServerStops) {
  LineServer server(counting(1'000'000));
  std::mutex mutex;
  std::condition_variable changed;
  bool open = false;
  HttpReply reply;
  std::thread reader([&] {
    reply = server.client().stream("/api/v1/count", [&](std::string_view) {
      const std::lock_guard lock(mutex);
      open = true;
      changed.notify_all();
      return true;
    });
  });
  {
    std::unique_lock lock(mutex);
    ASSERT_TRUE(changed.wait_for(lock, std::chrono::seconds(30), [&] { return open; }));
  }
  server->stop();
  reader.join();
  EXPECT_EQ(reply.fault, "");  // a whole answer with its last chunk, no cut
}

}  // namespace
}  // namespace lintel::test
