// lintel_demo_club: enters the Skarnholm club into an empty data folder.
#include <chrono>
#include <cstdio>
#include <ctime>
#include <exception>
#include <string>

#include <CLI/CLI.hpp>

#include "demo/club.h"

namespace {

std::string day_of_clock() {
  const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  std::tm utc{};
  gmtime_r(&now, &utc);
  char text[16];
  return std::string(text, std::strftime(text, sizeof text, "%Y-%m-%d", &utc));
}

int run(int argc, char** argv) {
  lintel::demo::ClubRequest request;
  std::string clips, today = day_of_clock();
  CLI::App app{"Enters the invented lifting club of Skarnholm into an empty data folder."};
  app.add_option("--story", request.story, "examples/skarnholm/club.json")->required();
  app.add_option("--data", request.data, "data folder for `lintel serve`")->required();
  app.add_option("--clips", clips, "folder of the rendered clips (default: no clips)");
  app.add_option("--today", today, "day on which the story ends, YYYY-MM-DD")
      ->capture_default_str();
  app.add_option("--network", request.network, "lite, full, heavy")->capture_default_str();
  CLI11_PARSE(app, argc, argv);
  if (!clips.empty()) request.clips = clips;
  request.today = today;
  const auto entered = lintel::demo::enter_club(request, {});
  if (!entered) {
    std::fprintf(stderr, "lintel_demo_club: %s\n", lintel::describe(entered.error()).c_str());
    return lintel::exit_status(entered.error().code);
  }
  std::printf("%s: %lld people, %lld athletes, %lld visits, %lld clips, %lld plans, %lld days\n",
              entered->organization.c_str(), static_cast<long long>(entered->people),
              static_cast<long long>(entered->athletes), static_cast<long long>(entered->visits),
              static_cast<long long>(entered->trials), static_cast<long long>(entered->plans),
              static_cast<long long>(entered->log_days));
  std::printf("sign in as \"%s\" with \"%s\"\n", entered->login.c_str(),
              entered->passphrase.c_str());
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "lintel_demo_club: internal fault: %s\n", error.what());
    return 10;
  }
}
