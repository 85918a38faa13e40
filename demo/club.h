// A caseload to look at: the invented lifting club of Skarnholm, told by
// examples/skarnholm/club.json and entered through the same use cases that the server calls.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "base/progress.h"
#include "base/result.h"

namespace lintel::demo {

struct ClubRequest {
  std::filesystem::path story;                 // lintel-demo-club-1
  std::filesystem::path data;                  // data folder of the workplace; without an owner yet
  std::optional<std::filesystem::path> clips;  // folder of rendered clips; empty = no trials
  std::filesystem::path models;                // of the networks; empty = found by itself
  std::string today;                           // ISO 8601: the story's last day is moved here
  std::string network = "lite";                // that measures the clips
  int threads = 0;
};

struct ClubEntered {
  std::string organization;
  std::string login, passphrase;  // of the owner; everybody in the story has the same passphrase
  std::int64_t people = 0, athletes = 0, visits = 0, trials = 0, plans = 0, log_days = 0;
};

// Day by day, with the workplace's clock set to the story's. Errors: those of the use cases, with
// the athlete and the day; Invalid for a story that does not hold together; Conflict when the
// workplace has an owner already.
Result<ClubEntered> enter_club(const ClubRequest& request, const WorkContext& work);

}  // namespace lintel::demo
