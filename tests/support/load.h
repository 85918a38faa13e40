// Many clients at once: each a thread with its own connection, doing one step after another.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "support/http_client.h"

namespace lintel::test {

struct LoadResult {
  std::vector<double> milliseconds;  // of each request, sorted
  std::int64_t errors = 0;
  std::string first_error;
  double seconds = 0.0;

  double quantile(double share) const;  // of the milliseconds; 0 when there are none
};

struct Load {
  int clients = 20;
  int steps = 0;  // of each client; 0 = until `seconds` have gone
  double seconds = 0.0;
  std::function<HttpClient(int client)> connect;
  // One request; its reply is an error unless its status is from 200 to 299. `step` counts from 0.
  std::function<HttpReply(HttpClient&, int client, int step)> request;
};
LoadResult run_load(const Load& load);

// The mix of the load test: a list, an athlete, a timeline; every fifth step a write.
HttpReply mixed_step(HttpClient& client, int who, int step,
                     const std::vector<std::string>& athletes);

}  // namespace lintel::test
