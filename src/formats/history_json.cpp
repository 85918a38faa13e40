#include "formats/history_json.h"

#include <algorithm>

#include "formats/json_numbers.h"
#include "formats/plan_words.h"
#include "formats/test_fields.h"

namespace lintel::formats {
namespace {

using body::TestProtocol;
using plan::DrillDone;
using plan::History;

constexpr const char* kSchema = "lintel-history-1";
constexpr const char* kDaySchema = "lintel-log-1";
constexpr std::size_t kMostEntries = 5000;
constexpr std::size_t kMostDrills = 40;
constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestNotes = 2000;
constexpr double kMostMass = 400.0;  // [kg], no lift overhead comes near it

std::vector<std::string> stop_sign_words() {
  std::vector<std::string> words;
  words.reserve(plan::kStopSignCount);
  for (int i = 0; i < plan::kStopSignCount; ++i) {
    words.emplace_back(plan::stop_sign_name(static_cast<plan::StopSign>(i)));
  }
  return words;
}

class HistoryReader {
 public:
  HistoryReader(FaultList& faults, const std::vector<TestProtocol>& protocols,
                const std::vector<plan::Drill>& drills)
      : read_(faults), faults_(faults), tests_(read_, protocols), drills_(drills) {
    for (const plan::Drill& drill : drills) drill_ids_.push_back(drill.id);
  }

  History read(const JsonValue& root) {
    History history;
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return history;
    read_.check_keys(
        root, "",
        {"schema", "athlete", "sessions", "tests", "standard_errors", "releases", "best_lifts"});
    read_.check_schema(root, kSchema);
    history.athlete = read_.text(root, "", "athlete", Presence::Required, kLongestName);
    each(root, "", "sessions", kMostEntries, [&](const JsonValue& item, const std::string& path) {
      history.sessions.push_back(read_session(item, path));
    });
    each(root, "", "tests", kMostEntries, [&](const JsonValue& item, const std::string& path) {
      if (auto test = read_test(item, path)) history.tests.push_back(*std::move(test));
    });
    each(root, "", "standard_errors", kMostDrills,
         [&](const JsonValue& item, const std::string& path) {
           if (auto own = tests_.own_error(item, path)) history.standard_errors.push_back(*own);
         });
    each(root, "", "releases", kMostEntries, [&](const JsonValue& item, const std::string& path) {
      history.releases.push_back(read_release(item, path));
    });
    each(root, "", "best_lifts", kMostEntries, [&](const JsonValue& item, const std::string& path) {
      if (auto best = read_best_lift(item, path)) history.best_lifts.push_back(*best);
    });
    plan::sort_by_date(history);
    return history;
  }

  DayLog read_day(const JsonValue& root) {
    DayLog log;
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return log;
    read_.check_keys(root, "", {"schema", "date", "drills", "releases", "best_lifts"});
    read_.check_schema(root, kDaySchema);
    log.session = read_dated_drills(root, "");
    each(root, "", "releases", kMostDrills, [&](const JsonValue& item, const std::string& path) {
      log.releases.push_back(read_release(item, path));
    });
    each(root, "", "best_lifts", kMostDrills, [&](const JsonValue& item, const std::string& path) {
      if (auto best = read_best_lift(item, path)) log.best_lifts.push_back(*best);
    });
    return log;
  }

 private:
  template <typename Read>
  void each(const JsonValue& object, const std::string& path, const std::string& key,
            std::size_t most, Read read) {
    const JsonValue* list =
        read_.member(object, path, key, JsonKind::Array, Presence::Optional, "give a list");
    if (list == nullptr) return;
    if (list->items.size() > most) {
      faults_.add(*list, path + key, "has more than " + std::to_string(most) + " entries",
                  "split the file by year");
      return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string field = path + key + "[" + std::to_string(i) + "]";
      if (read_.is_kind(list->items[i], field, JsonKind::Object)) read(list->items[i], field + ".");
    }
  }

  Date date_of(const JsonValue& item, const std::string& path) {
    const JsonValue* value = read_.member(item, path, "date", JsonKind::String, Presence::Required,
                                          "write the day as 2026-11-25");
    if (value == nullptr) return {};
    const auto date = Date::parse(value->text);
    if (date) return *date;
    faults_.add(*value, path + "date",
                "is \"" + value->text + "\", which is no day of the calendar",
                "write it as 2026-11-25");
    return {};
  }

  // The drill of this id, or a fault that names the nearest one.
  const plan::Drill* drill_of(const JsonValue& item, const std::string& path) {
    const std::string mend = "take the id from the plan, or list: lintel plan drills";
    const JsonValue* value =
        read_.member(item, path, "drill", JsonKind::String, Presence::Required, mend);
    if (value == nullptr) return nullptr;
    const plan::Drill* drill = plan::find_drill(drills_, value->text);
    if (drill != nullptr) return drill;
    const std::string_view nearest = nearest_word(value->text, drill_ids_);
    faults_.add(*value, path + "drill", "is \"" + value->text + "\", which is not known",
                nearest.empty() ? mend : "did you mean \"" + std::string(nearest) + "\"?");
    return nullptr;
  }

  plan::Session read_session(const JsonValue& item, const std::string& path) {
    read_.check_keys(item, path, {"date", "drills"});
    return read_dated_drills(item, path);
  }

  plan::Session read_dated_drills(const JsonValue& item, const std::string& path) {
    plan::Session session;
    session.date = date_of(item, path);
    each(item, path, "drills", kMostDrills, [&](const JsonValue& drill, const std::string& inner) {
      session.drills.push_back(read_drill(drill, inner));
    });
    return session;
  }

  DrillDone read_drill(const JsonValue& item, const std::string& path) {
    read_.check_keys(item, path,
                     {"drill", "step", "sets", "repetitions", "hold_s", "load_kg", "effort",
                      "pain_during", "pain_next_morning", "stop_sign", "notes"});
    DrillDone done;
    const plan::Drill* drill = drill_of(item, path);
    if (drill != nullptr) {
      done.drill = drill->id;
      const int steps = static_cast<int>(drill->ladder.size());
      done.step =
          read_.whole_number(item, path, "step", Presence::Optional, 1, steps).value_or(1) - 1;
    }
    done.sets = read_.whole_number(item, path, "sets", Presence::Required, 0, 100).value_or(0);
    done.repetitions =
        read_.whole_number(item, path, "repetitions", Presence::Optional, 0, 1000).value_or(0);
    done.hold =
        read_.number(item, path, "hold_s", Presence::Optional, {0, 3600, "s"}).value_or(0.0);
    done.load =
        read_.number(item, path, "load_kg", Presence::Optional, {0, kMostMass, "kg"}).value_or(0.0);
    done.effort = read_.number(item, path, "effort", Presence::Optional, {0, 10});
    done.pain_during = read_.whole_number(item, path, "pain_during", Presence::Optional, 0, 10);
    done.pain_next_morning =
        read_.whole_number(item, path, "pain_next_morning", Presence::Optional, 0, 10);
    if (const auto sign =
            read_.word(item, path, "stop_sign", Presence::Optional, stop_sign_words())) {
      done.stop_sign = static_cast<plan::StopSign>(*sign);
    }
    done.note = read_.text(item, path, "notes", Presence::Optional, kLongestNotes);
    return done;
  }

  std::optional<plan::TestSession> read_test(const JsonValue& item, const std::string& path) {
    plan::TestSession test;
    test.date = date_of(item, path);
    const TestProtocol* protocol = tests_.protocol(item, path);
    if (protocol == nullptr) return {};
    read_.check_keys(item, path, {"date", "protocol", "side", tries_key(*protocol)});
    test.protocol = protocol->id;
    test.unit = protocol->unit;
    test.side = tests_.side(item, path, *protocol);
    test.tries = tests_.tries(item, path, *protocol);
    return test;
  }

  plan::ClinicianRelease read_release(const JsonValue& item, const std::string& path) {
    read_.check_keys(item, path, {"date", "by", "notes"});
    return {date_of(item, path), read_.text(item, path, "by", Presence::Required, kLongestName),
            read_.text(item, path, "notes", Presence::Optional, kLongestNotes)};
  }

  std::optional<plan::BestLift> read_best_lift(const JsonValue& item, const std::string& path) {
    read_.check_keys(item, path, {"date", "lift", "load_kg"});
    const Date date = date_of(item, path);
    const auto lift = read_.word(item, path, "lift", Presence::Required, words::lifts());
    const auto mass = read_.number(item, path, "load_kg", Presence::Required, {1, kMostMass, "kg"});
    if (!lift || !mass) return {};
    return plan::BestLift{date, static_cast<plan::Lift>(*lift), *mass};
  }

  FieldReader read_;
  FaultList& faults_;
  TestFields tests_;
  const std::vector<plan::Drill>& drills_;
  std::vector<std::string> drill_ids_;
};

Json drill_json(const DrillDone& done) {
  Json json = {{"drill", done.drill}, {"step", done.step + 1}, {"sets", done.sets}};
  if (done.repetitions > 0) json["repetitions"] = done.repetitions;
  if (done.hold > 0) json["hold_s"] = number(done.hold);
  if (done.load > 0) json["load_kg"] = number(done.load);
  if (done.effort) json["effort"] = number(*done.effort);
  if (done.pain_during) json["pain_during"] = *done.pain_during;
  if (done.pain_next_morning) json["pain_next_morning"] = *done.pain_next_morning;
  if (done.stop_sign) json["stop_sign"] = plan::stop_sign_name(*done.stop_sign);
  if (!done.note.empty()) json["notes"] = done.note;
  return json;
}

Json test_json(const plan::TestSession& test) {
  const double si = body::si_per_unit(test.unit);
  Json json = {{"date", test.date.iso()}, {"protocol", test.protocol}};
  if (test.side != body::TestSide::Both) json["side"] = body::test_side_name(test.side);
  Json& tries = json["tries_" + std::string(body::protocol_unit_name(test.unit))];
  tries = Json::array();
  for (const double value : test.tries) tries.push_back(number(value / si));
  return json;
}

void add_releases_and_lifts(const std::vector<plan::ClinicianRelease>& releases,
                            const std::vector<plan::BestLift>& best_lifts, Json& json) {
  json["releases"] = Json::array();
  for (const plan::ClinicianRelease& release : releases) {
    Json entry = {{"date", release.date.iso()}, {"by", release.by}};
    if (!release.note.empty()) entry["notes"] = release.note;
    json["releases"].push_back(std::move(entry));
  }
  json["best_lifts"] = Json::array();
  for (const plan::BestLift& best : best_lifts) {
    json["best_lifts"].push_back({{"date", best.date.iso()},
                                  {"lift", plan::lift_name(best.lift)},
                                  {"load_kg", number(best.mass)}});
  }
}

Json own_error_json(const body::OwnError& own, const std::vector<TestProtocol>& protocols) {
  const TestProtocol* protocol = body::find_protocol(protocols, own.protocol);
  LINTEL_CHECK(protocol != nullptr);
  const std::string unit(body::protocol_unit_name(protocol->unit));
  return {{"protocol", own.protocol},
          {"value_" + unit, number(own.error.value / body::si_per_unit(protocol->unit))},
          {"tries", own.error.tries},
          {"share_between_tries", number(own.error.share_between_tries)},
          {"source", own.error.source}};
}

}  // namespace

HistoryReading read_history_json(std::string_view text, std::string_view file_name,
                                 const std::vector<TestProtocol>& protocols,
                                 const std::vector<plan::Drill>& drills) {
  HistoryReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{4} << 20, 8, 400000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    History history = HistoryReader(faults, protocols, drills).read(*root);
    if (faults.empty()) reading.history = std::move(history);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_history_json(const History& history, const std::vector<TestProtocol>& protocols) {
  Json json = {{"schema", kSchema}, {"athlete", history.athlete}};
  json["sessions"] = Json::array();
  for (const plan::Session& session : history.sessions) {
    Json drills = Json::array();
    for (const DrillDone& done : session.drills) drills.push_back(drill_json(done));
    json["sessions"].push_back({{"date", session.date.iso()}, {"drills", std::move(drills)}});
  }
  json["tests"] = Json::array();
  for (const plan::TestSession& test : history.tests) json["tests"].push_back(test_json(test));
  json["standard_errors"] = Json::array();
  for (const body::OwnError& own : history.standard_errors) {
    json["standard_errors"].push_back(own_error_json(own, protocols));
  }
  add_releases_and_lifts(history.releases, history.best_lifts, json);
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

DayLogReading read_day_log_json(std::string_view text, std::string_view file_name,
                                const std::vector<plan::Drill>& drills) {
  DayLogReading reading;
  FaultList faults;
  const std::vector<TestProtocol> none;
  auto root = parse_json(text, {std::size_t{256} << 10, 6, 4000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    DayLog log = HistoryReader(faults, none, drills).read_day(*root);
    if (faults.empty()) reading.log = std::move(log);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_day_log_json(const DayLog& log) {
  Json json = {{"schema", kDaySchema}, {"date", log.session.date.iso()}};
  json["drills"] = Json::array();
  for (const DrillDone& done : log.session.drills) json["drills"].push_back(drill_json(done));
  add_releases_and_lifts(log.releases, log.best_lifts, json);
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
