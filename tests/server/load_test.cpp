// Clients at once on the whole server: not one request may fail. How fast is bench/serve_load.cpp.
#include <gtest/gtest.h>

#include "support/load.h"
#include "support/server_fixture.h"

namespace lintel::test {
namespace {

TEST(Load, ThirtyClientsThatReadAndWriteMeetNoError) {
  ServerFixture fixture;
  std::vector<std::string> athletes;
  for (int i = 0; i < 5; ++i)
    athletes.push_back(fixture.add_athlete("Athlete " + std::to_string(i)));
  fixture.person(app::Role::Practitioner);
  Load load;
  load.clients = 30;
  load.steps = 10;
  load.connect = [&](int) { return fixture.as(app::Role::Practitioner); };
  load.request = [&](HttpClient& client, int who, int step) {
    return mixed_step(client, who, step, athletes);
  };
  const LoadResult result = run_load(load);
  EXPECT_EQ(result.milliseconds.size(), 300U);
  EXPECT_EQ(result.errors, 0) << result.first_error;
  // What was written is there: each of the thirty wrote twice.
  HttpClient client = fixture.as(app::Role::Practitioner);
  std::size_t visits = 0;
  for (const std::string& athlete : athletes) {
    const HttpReply reply = client.get("/api/v1/athletes/" + athlete + "/visits?limit=500");
    for (std::size_t at = reply.body.find("\"kind\""); at != std::string::npos;
         at = reply.body.find("\"kind\"", at + 1)) {
      ++visits;
    }
  }
  EXPECT_EQ(visits, 60U);
}

}  // namespace
}  // namespace lintel::test
