#include "support/load.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <mutex>
#include <thread>

namespace lintel::test {

using Clock = std::chrono::steady_clock;

double LoadResult::quantile(double share) const {
  if (milliseconds.empty()) return 0.0;
  const double place = std::ceil(share * static_cast<double>(milliseconds.size())) - 1.0;
  return milliseconds[static_cast<std::size_t>(std::max(place, 0.0))];
}

LoadResult run_load(const Load& load) {
  LoadResult result;
  std::mutex mutex;
  const auto start = Clock::now();
  const auto run_client = [&](int who) {
    HttpClient client = load.connect(who);
    std::vector<double> times;
    std::int64_t errors = 0;
    std::string first_error;
    const auto goes_on = [&](int step) {
      if (load.steps > 0) return step < load.steps;
      return std::chrono::duration<double>(Clock::now() - start).count() < load.seconds;
    };
    for (int step = 0; goes_on(step); ++step) {
      const auto before = Clock::now();
      const HttpReply reply = load.request(client, who, step);
      times.push_back(std::chrono::duration<double, std::milli>(Clock::now() - before).count());
      if (reply.status >= 200 && reply.status < 300 && reply.fault.empty()) continue;
      ++errors;
      if (first_error.empty()) {
        first_error = std::to_string(reply.status) + " " + reply.fault + " " + reply.body;
      }
    }
    const std::lock_guard lock(mutex);
    result.milliseconds.insert(result.milliseconds.end(), times.begin(), times.end());
    result.errors += errors;
    if (result.first_error.empty()) result.first_error = first_error;
  };
  std::vector<std::jthread> threads;
  for (int who = 0; who < load.clients; ++who) threads.emplace_back(run_client, who);
  threads.clear();
  result.seconds = std::chrono::duration<double>(Clock::now() - start).count();
  std::sort(result.milliseconds.begin(), result.milliseconds.end());
  return result;
}

HttpReply mixed_step(HttpClient& client, int who, int step,
                     const std::vector<std::string>& athletes) {
  const std::string& athlete = athletes[static_cast<std::size_t>(who + step) % athletes.size()];
  switch (step % 5) {
    case 0:
      return client.get("/api/v1/athletes?limit=20");
    case 1:
      return client.get("/api/v1/athletes/" + athlete);
    case 2:
      return client.get("/api/v1/athletes/" + athlete + "/timeline");
    case 3:
      return client.get("/api/v1/session");
    default:
      return client.post("/api/v1/athletes/" + athlete + "/visits",
                         R"({"date":"2026-03-09","purpose":"follow-up"})");
  }
}

}  // namespace lintel::test
