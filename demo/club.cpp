#include "demo/club.h"

#include <algorithm>
#include <fstream>
#include <functional>
#include <iterator>
#include <map>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "app/accounts.h"
#include "app/athlete_records.h"
#include "app/log_records.h"
#include "app/plan_records.h"
#include "app/practice.h"
#include "app/trials.h"
#include "app/uploads.h"
#include "app/visit_records.h"
#include "app/worker.h"
#include "base/date.h"

namespace lintel::demo {
namespace {

using Json = nlohmann::json;

Result<std::string> read_bytes(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) {
    return fail(Error{ErrorCode::NotFound, "the file cannot be read"}.with_file(file.string()));
  }
  return std::string(std::istreambuf_iterator<char>(in), {});
}

// Moves every "date" and "taken_in" below a value by so many days; birthdays stay.
void move_days(Json& value, int days) {
  if (value.is_array()) {
    for (Json& item : value) move_days(item, days);
    return;
  }
  if (!value.is_object()) return;
  for (auto& [key, member] : value.items()) {
    if (member.is_string() && (key == "date" || key == "taken_in")) {
      const auto date = Date::parse(member.get<std::string>());
      if (date) member = (*date + days).iso();
    } else {
      move_days(member, days);
    }
  }
}

class Club {
 public:
  Club(const ClubRequest& request, const WorkContext& work, Json story)
      : request_(request), work_(work), story_(std::move(story)) {}

  Result<ClubEntered> enter() {
    app::PracticeOptions options;
    options.data = request_.data;
    options.models = request_.models;
    // Half a minute passes between two acts, so that they keep their order.
    options.now = [this] { return instant(); };
    practice_ = LINTEL_TRY(app::open_practice(options));
    plan_acts();
    double done = 0;
    for (const Act& act : acts_) {
      if (work_.cancelled()) return fail(cancelled_error());
      work_.report("enter the club", done++, static_cast<double>(acts_.size()));
      if (act.date != day_) {
        day_ = act.date;
        seconds_ = 8 * 3600;
      }
      if (auto outcome = act.run(); !outcome) {
        return fail(std::move(outcome.error().with_context(act.date + ", " + act.who)));
      }
    }
    entered_.login = story_["people"][0]["login"];
    entered_.passphrase = story_["passphrase"];
    entered_.organization = story_["organization"];
    return entered_;
  }

 private:
  struct Act {
    std::string date, who;
    std::function<Result<void>()> run;
  };

  std::string instant() {
    seconds_ = std::min<std::int64_t>(seconds_ + 30, 86399);
    char text[32];
    std::snprintf(text, sizeof text, "T%02d:%02d:%02d.000Z", static_cast<int>(seconds_ / 3600),
                  static_cast<int>(seconds_ / 60 % 60), static_cast<int>(seconds_ % 60));
    return day_ + text;
  }

  void add_act(const std::string& date, const std::string& who, std::function<Result<void>()> run) {
    acts_.push_back({date, who, std::move(run)});
  }

  // Everything that happens, in order of days; on one day in the order of the story.
  void plan_acts() {
    std::string first = story_["today"];
    for (const Json& athlete : story_["athletes"]) {
      first = std::min(first, athlete["taken_in"].get<std::string>());
    }
    add_act(first, story_["organization"], [this] { return found_club(); });
    for (const Json& athlete : story_["athletes"]) plan_athlete(athlete);
    std::stable_sort(acts_.begin(), acts_.end(),
                     [](const Act& a, const Act& b) { return a.date < b.date; });
    day_ = first;
  }

  void plan_athlete(const Json& athlete) {
    const std::string name = athlete["intake"]["athlete"]["name"];
    add_act(athlete["taken_in"], name, [this, &athlete, name] { return take_in(athlete, name); });
    for (const Json& visit : athlete["visits"]) {
      add_act(visit["date"], name, [this, &visit, name] { return hold_visit(visit, name); });
    }
    std::string last = athlete["taken_in"];
    for (const Json& day : athlete["log"]) {
      last = std::max(last, day["date"].get<std::string>());
      add_act(day["date"], name, [this, &day, name] { return write_day(day, name); });
    }
    if (athlete.value("archived", false)) {
      for (const Json& visit : athlete["visits"]) {
        last = std::max(last, visit["date"].get<std::string>());
      }
      add_act(last, name, [this, name] { return archive(name); });
    }
  }

  Result<void> found_club() {
    const Json& people = story_["people"];
    app::NewOwner owner;
    owner.name = people[0]["name"];
    owner.login = people[0]["login"];
    owner.organization = story_["organization"];
    owner.passphrase = story_["passphrase"];
    owner.peer = "127.0.0.1";
    owner.loopback = true;
    owner_ = LINTEL_TRY(app::create_first_owner(*practice_, owner)).caller;
    entered_.people = 1;
    for (std::size_t i = 1; i < people.size(); ++i) {
      if (!people[i].contains("athlete")) LINTEL_TRY_VOID(add_person(people[i], ""));
    }
    return {};
  }

  Result<void> add_person(const Json& person, const std::string& athlete) {
    app::NewPerson fresh;
    fresh.name = person["name"];
    fresh.login = person["login"];
    fresh.passphrase = story_["passphrase"];
    const auto role = app::role_from(person["role"].get<std::string>());
    if (!role) return fail(ErrorCode::Invalid, "no such role: " + person["role"].dump());
    fresh.role = *role;
    fresh.athlete = athlete;
    LINTEL_TRY(app::add_person(*practice_, owner_, fresh));
    ++entered_.people;
    return {};
  }

  Result<void> take_in(const Json& athlete, const std::string& name) {
    Json intake = athlete["intake"];
    intake["schema"] = "lintel-intake-1";
    intake["athlete"]["schema"] = "lintel-athlete-1";
    const app::Answer made =
        LINTEL_TRY(app::create_athlete(*practice_, owner_, intake.dump(), faults_));
    athletes_[name] = made.id;
    ++entered_.athletes;
    for (const Json& person : story_["people"]) {
      if (person.value("athlete", "") == name) LINTEL_TRY_VOID(add_person(person, made.id));
    }
    return {};
  }

  Result<void> hold_visit(const Json& visit, const std::string& name) {
    Json document = {{"date", visit["date"]}, {"purpose", visit["purpose"]}};
    if (visit.contains("notes")) document["notes"] = visit["notes"];
    const std::string id =
        LINTEL_TRY(app::create_visit(*practice_, owner_, athletes_[name], document.dump(), faults_))
            .id;
    ++entered_.visits;
    if (visit.contains("tests")) {
      const std::string tests = visit["tests"].dump();
      LINTEL_TRY(app::put_tests(*practice_, owner_, id, {0, tests, ""}, faults_));
    }
    if (request_.clips) {
      for (const Json& clip : visit["clips"]) LINTEL_TRY_VOID(add_trial(id, clip));
    }
    if (!visit.contains("plan")) return {};
    Json wish = visit["plan"];
    wish["from"] = visit["date"];
    LINTEL_TRY(app::create_plan(*practice_, owner_, id, wish.dump(), faults_, work_));
    ++entered_.plans;
    return {};
  }

  Result<void> add_trial(const std::string& visit, const Json& clip) {
    const std::string file = clip["clip"].get<std::string>() + ".mp4";
    const std::string bytes = LINTEL_TRY(read_bytes(*request_.clips / file));
    const auto size = static_cast<std::int64_t>(bytes.size());
    std::string upload = LINTEL_TRY(app::begin_upload(*practice_, owner_, {file, size, ""})).id;
    for (std::int64_t at = 0; at < size; at += app::kChunkBytes) {
      const std::int64_t end = std::min(size, at + app::kChunkBytes);
      LINTEL_TRY(
          app::put_chunk(*practice_, owner_, upload, {at, end - 1, size},
                         std::string_view(bytes).substr(static_cast<std::size_t>(at),
                                                        static_cast<std::size_t>(end - at))));
    }
    Json body = {{"upload", upload},
                 {"name", clip["name"]},
                 {"view", clip["view"]},
                 {"network", request_.network}};
    if (clip.contains("setup")) body["setup"] = clip["setup"];
    LINTEL_TRY(app::make_trial(*practice_, owner_, visit, body.dump()));
    ++entered_.trials;
    app::WorkerOptions options;
    options.threads_each = request_.threads;
    while (LINTEL_TRY(app::work_once(*practice_, options, {work_.stop, {}}))) {
    }
    return {};
  }

  Result<void> write_day(const Json& day, const std::string& name) {
    LINTEL_TRY(app::write_log(*practice_, owner_, athletes_[name], day.dump(), faults_));
    ++entered_.log_days;
    return {};
  }

  Result<void> archive(const std::string& name) {
    LINTEL_TRY(app::archive_athlete(*practice_, owner_, athletes_[name], 1, app::Archive::In,
                                    "moved away"));
    return {};
  }

  const ClubRequest& request_;
  const WorkContext& work_;
  Json story_;
  std::unique_ptr<app::Practice> practice_;
  app::Caller owner_;
  app::Faults faults_;
  std::vector<Act> acts_;
  std::map<std::string, std::string> athletes_;  // name -> id of the record
  std::string day_;
  std::int64_t seconds_ = 8 * 3600;
  ClubEntered entered_;
};

}  // namespace

Result<ClubEntered> enter_club(const ClubRequest& request, const WorkContext& work) {
  const std::string text = LINTEL_TRY(read_bytes(request.story));
  try {
    Json story = Json::parse(text);
    if (story.at("schema") != "lintel-demo-club-1") {
      Error error{ErrorCode::Invalid, "not a story of a club"};
      error.mend = "\"schema\" must be \"lintel-demo-club-1\"";
      return fail(error.with_file(request.story.string()));
    }
    const Date last = LINTEL_TRY(Date::parse(story.at("today").get<std::string>()));
    const Date today = LINTEL_TRY(Date::parse(request.today));
    move_days(story, today - last);
    story["today"] = request.today;
    return Club(request, work, std::move(story)).enter();
  } catch (const Json::exception& fault) {
    return fail(Error{ErrorCode::Invalid, fault.what()}.with_file(request.story.string()));
  }
}

}  // namespace lintel::demo
