// A small workplace with something in every table: two organizations, people, two athletes with all
// kinds of records and several versions, media, a job, an API token, an invitation.
#pragma once

#include <string>

#include "app/accounts.h"
#include "app/practice.h"

namespace lintel::test {

// A name that stands nowhere else, so that a trace of it is one.
inline constexpr const char* kAthleteName = "Ansa Brinvik";
inline constexpr const char* kHistoryWords = "tore the left meniscus at Hollerhavn in 2019";

struct FilledWorkplace {
  app::Caller owner;               // of the first organization
  app::Caller other_owner;         // of the second
  std::string athlete;             // kAthleteName, with an account
  std::string companion;           // another athlete of the same organization
  std::string visit, trial;        // of the athlete
  std::string own_clip, own_page;  // digests that only the athlete has
  std::string shared_picture;      // a digest that both athletes have
};

// Fails the test when something fails.
FilledWorkplace fill(app::Practice& practice);

// The intake of an athlete of this name.
std::string intake_of(const std::string& name);

}  // namespace lintel::test
