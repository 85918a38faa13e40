// The server under load, on loopback, in one process: clients that mix reads and writes of records
// beside the same clients at a route that only says hello. Arguments: clients, seconds for each.
#include <cstdio>
#include <cstdlib>

#include "support/load.h"
#include "support/server_fixture.h"

namespace {

using namespace lintel;

void print(const char* what, const test::LoadResult& result) {
  std::printf("%-14s %9zu requests %8.0f/s   p50 %7.2f ms   p99 %7.2f ms   errors %lld\n", what,
              result.milliseconds.size(),
              static_cast<double>(result.milliseconds.size()) / result.seconds,
              result.quantile(0.5), result.quantile(0.99), static_cast<long long>(result.errors));
  if (!result.first_error.empty()) std::printf("  first error: %s\n", result.first_error.c_str());
}

int run(int clients, double seconds) {
  test::ServerFixture::Options options;
  options.more_routes = [](std::vector<server::Route>& routes) {
    server::Route hello;
    hello.pattern = "/api/v1/hello";
    hello.operation = "hello";
    hello.handler = [](const server::Call&) -> Result<server::Response> {
      return server::Response::text("hello", "text/plain; charset=utf-8");
    };
    routes.push_back(std::move(hello));
  };
  test::ServerFixture fixture(std::move(options));
  std::vector<std::string> athletes;
  for (int i = 0; i < 50; ++i) {
    athletes.push_back(fixture.add_athlete("Athlete " + std::to_string(i)));
  }
  fixture.person(app::Role::Practitioner);  // made before the clients ask for it all at once
  std::printf("%d clients, %.0f s each\n", clients, seconds);
  test::Load load;
  load.clients = clients;
  load.seconds = seconds;
  load.connect = [&](int) { return fixture.as(app::Role::Practitioner); };
  load.request = [](test::HttpClient& client, int, int) { return client.get("/api/v1/hello"); };
  const test::LoadResult hello = test::run_load(load);
  print("hello", hello);
  load.request = [&](test::HttpClient& client, int who, int step) {
    return test::mixed_step(client, who, step, athletes);
  };
  const test::LoadResult mixed = test::run_load(load);
  print("records, mixed", mixed);
  std::printf("p50 is %.1f times that of hello\n", mixed.quantile(0.5) / hello.quantile(0.5));
  return hello.errors + mixed.errors == 0 ? 0 : 1;
}

}  // namespace

int main(int count, char** arguments) {
  const int clients = count > 1 ? std::atoi(arguments[1]) : 200;
  const double seconds = count > 2 ? std::atof(arguments[2]) : 60.0;
  return run(clients, seconds);
}
