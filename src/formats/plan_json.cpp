#include "formats/plan_json.h"

#include <algorithm>

#include "base/cautions.h"
#include "formats/field_reader.h"
#include "formats/json_place.h"
#include "formats/plan_words.h"
#include "formats/protocol_words.h"

namespace lintel::formats {
namespace {

using plan::Plan;

constexpr std::size_t kLongestWord = 120;
constexpr std::size_t kLongestText = 4000;
constexpr std::size_t kMostEntries = 60;
constexpr double kAnyNumber = 1e6;

class PlanReader {
 public:
  explicit PlanReader(FaultList& faults) : read_(faults), faults_(faults) {}

  Plan read(const JsonValue& root) {
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return {};
    read_.check_keys(root, "",
                     {"schema",
                      "athlete",
                      "from",
                      "last_day",
                      "weeks",
                      "sessions_per_week",
                      "minutes_per_session",
                      "equipment",
                      "warning_signs",
                      "clearance",
                      "referral",
                      "setup_changes",
                      "goals",
                      "drills",
                      "schedule",
                      "retests",
                      "stop_rules",
                      "notes",
                      "seated_hold",
                      "cautions"});
    read_.check_schema(root, "lintel-plan-1");
    read_frame(root);
    read_clearance(root);
    each_object(root, "", "setup_changes",
                [this](const JsonValue& v, const std::string& p) { read_setup_change(v, p); });
    each_object(root, "", "goals",
                [this](const JsonValue& v, const std::string& p) { read_goal(v, p); });
    each_object(root, "", "drills",
                [this](const JsonValue& v, const std::string& p) { read_drill(v, p); });
    each_object(root, "", "schedule",
                [this](const JsonValue& v, const std::string& p) { read_week(v, p); });
    each_object(root, "", "retests",
                [this](const JsonValue& v, const std::string& p) { read_retest(v, p); });
    out_.stop_rules = read_.texts(root, "", "stop_rules", 0, kLongestText);
    out_.notes = read_.texts(root, "", "notes", 0, kLongestText);
    if (const JsonValue* hold =
            read_.member(root, "", "seated_hold", JsonKind::Object, Presence::Optional)) {
      read_seated_hold(*hold);
    }
    read_cautions(root);
    if (faults_.empty()) add_with_places(root, plan::find_faults(out_), faults_);
    return std::move(out_);
  }

 private:
  template <typename ReadEntry>
  void each_object(const JsonValue& object, const std::string& path, const std::string& key,
                   ReadEntry read_entry) {
    const JsonValue* list =
        read_.member(object, path, key, JsonKind::Array, Presence::Required, "give a list");
    if (list == nullptr) return;
    if (list->items.size() > kMostEntries) {
      faults_.add(*list, path + key, "has more than " + std::to_string(kMostEntries) + " entries");
      return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string field = path + key + "[" + std::to_string(i) + "]";
      if (read_.is_kind(list->items[i], field, JsonKind::Object)) {
        read_entry(list->items[i], field + ".");
      }
    }
  }

  double number(const JsonValue& v, const std::string& path, const std::string& key, double unit,
                double lowest = -kAnyNumber, double highest = kAnyNumber) {
    return unit * read_.number(v, path, key, Presence::Required, {lowest, highest}).value_or(0.0);
  }
  double minutes(const JsonValue& v, const std::string& path, const std::string& key) {
    return number(v, path, key, 60.0, 0.0, 1440.0);
  }
  int whole(const JsonValue& v, const std::string& path, const std::string& key, int lowest,
            int highest) {
    return read_.whole_number(v, path, key, Presence::Required, lowest, highest).value_or(lowest);
  }
  bool boolean(const JsonValue& v, const std::string& path, const std::string& key) {
    return read_.boolean(v, path, key, Presence::Required).value_or(false);
  }
  std::string text(const JsonValue& v, const std::string& path, const std::string& key,
                   std::size_t longest = kLongestText) {
    return read_.text(v, path, key, Presence::Required, longest);
  }
  // Text that may be empty.
  std::string maybe_empty(const JsonValue& v, const std::string& path, const std::string& key) {
    const JsonValue* value = read_.member(v, path, key, JsonKind::String, Presence::Required);
    if (value == nullptr || value->text.empty()) return {};
    return text(v, path, key);
  }
  Date date(const JsonValue& v, const std::string& path, const std::string& key) {
    const std::string iso = text(v, path, key, kLongestWord);
    if (iso.empty()) return {};
    auto read = Date::parse(iso);
    if (read) return *read;
    faults_.add(*v.find(key), path + key, read.error().message, read.error().mend);
    return {};
  }

  void read_frame(const JsonValue& root) {
    if (const JsonValue* athlete =
            read_.member(root, "", "athlete", JsonKind::Object, Presence::Required)) {
      read_.check_keys(*athlete, "athlete.", {"id", "name"});
      out_.athlete_id = text(*athlete, "athlete.", "id");
      out_.athlete_name = maybe_empty(*athlete, "athlete.", "name");
    }
    out_.from = date(root, "", "from");
    out_.weeks = whole(root, "", "weeks", 1, 52);
    out_.sessions_per_week = whole(root, "", "sessions_per_week", 1, 7);
    out_.time_per_session = minutes(root, "", "minutes_per_session");
    const Date last = date(root, "", "last_day");
    if (faults_.empty() && last != out_.last_day()) {
      faults_.add(*root.find("last_day"), "last_day", "does not follow from start and weeks");
    }
  }

  // Calls read_word(index) for each known word of a list.
  template <typename ReadWord>
  void each_word(const JsonValue& root, const std::string& key,
                 const std::vector<std::string>& words, ReadWord read_word) {
    const JsonValue* list = read_.member(root, "", key, JsonKind::Array, Presence::Required);
    if (list == nullptr) return;
    for (std::size_t i = 0; i < std::min(list->items.size(), kMostEntries); ++i) {
      const auto word = read_.word_of(list->items[i], key + "[" + std::to_string(i) + "]", words);
      if (word) read_word(*word);
    }
  }

  void read_clearance(const JsonValue& root) {
    each_word(root, "equipment", words::equipment(),
              [this](std::size_t i) { out_.equipment.add(static_cast<plan::Equipment>(i)); });
    each_word(root, "warning_signs", words::warning_signs(), [this](std::size_t i) {
      out_.warning_signs.push_back(static_cast<body::WarningSign>(i));
    });
    if (const auto word =
            read_.word(root, "", "clearance", Presence::Required, words::clearances())) {
      out_.clearance = static_cast<plan::Clearance>(*word);
    }
    out_.referral = maybe_empty(root, "", "referral");
  }

  void read_setup_change(const JsonValue& v, const std::string& path) {
    plan::SetupChange change;
    if (const auto lever = read_.word(v, path, "lever", Presence::Required, words::levers())) {
      change.lever = static_cast<reasoning::Factor>(*lever);
    }
    const bool angle = change.lever == reasoning::Factor::ToeOut;
    const double unit = angle ? kRadiansPerDegree : 0.01;
    const std::string suffix = angle ? "_deg" : "_cm";
    read_.check_keys(v, path, {"lever", "from" + suffix, "to" + suffix, "lean_gain_deg", "text"});
    change.from = number(v, path, "from" + suffix, unit);
    change.to = number(v, path, "to" + suffix, unit);
    if (const JsonValue* gain =
            read_.member(v, path, "lean_gain_deg", JsonKind::Object, Presence::Required)) {
      const std::string inner = path + "lean_gain_deg.";
      read_.check_keys(*gain, inner, {"value", "standard_error"});
      change.lean_gain.value = number(*gain, inner, "value", kRadiansPerDegree);
      change.lean_gain.standard_error =
          number(*gain, inner, "standard_error", kRadiansPerDegree, 0.0);
    }
    change.text = maybe_empty(v, path, "text");
    out_.setup_changes.push_back(std::move(change));
  }

  void read_goal(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path,
                     {"code", "measure", "from_deg", "target_deg", "date", "probability", "basis"});
    plan::Goal goal;
    goal.code = text(v, path, "code", kLongestWord);
    goal.measure = text(v, path, "measure", kLongestWord);
    goal.from = number(v, path, "from_deg", kRadiansPerDegree);
    goal.target = number(v, path, "target_deg", kRadiansPerDegree);
    goal.date = date(v, path, "date");
    goal.probability = number(v, path, "probability", 1.0, 0.0, 1.0);
    goal.basis = text(v, path, "basis");
    out_.goals.push_back(std::move(goal));
  }

  plan::Dose read_dose(const JsonValue& v, const std::string& path) {
    plan::Dose dose;
    const JsonValue* object = read_.member(v, path, "dose", JsonKind::Object, Presence::Required);
    if (object == nullptr) return dose;
    const std::string inner = path + "dose.";
    read_.check_keys(*object, inner,
                     {"sets", "repetitions", "hold_s", "times_per_week", "minutes_per_session"});
    dose.sets = whole(*object, inner, "sets", 1, 20);
    dose.repetitions = whole(*object, inner, "repetitions", 0, 100);
    dose.hold = number(*object, inner, "hold_s", 1.0, 0.0, 600.0);
    dose.times_per_week = whole(*object, inner, "times_per_week", 1, 7);
    dose.time_per_session = minutes(*object, inner, "minutes_per_session");
    return dose;
  }

  void read_drill(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path,
                     {"id", "name", "part", "dose", "step", "step_name", "step_how", "move_on",
                      "loaded", "reason", "cues", "cautions", "source"});
    plan::PlannedDrill drill;
    drill.id = text(v, path, "id", kLongestWord);
    drill.name = text(v, path, "name", kLongestWord);
    if (const auto part = read_.word(v, path, "part", Presence::Required, words::parts())) {
      drill.part = static_cast<reasoning::Factor>(*part);
    }
    drill.dose = read_dose(v, path);
    drill.step = whole(v, path, "step", 1, 12) - 1;
    drill.step_name = text(v, path, "step_name");
    drill.step_how = text(v, path, "step_how");
    drill.move_on = text(v, path, "move_on");
    drill.loaded = boolean(v, path, "loaded");
    drill.reason = text(v, path, "reason");
    drill.cues = read_.texts(v, path, "cues", 1, kLongestText);
    drill.cautions = read_.texts(v, path, "cautions", 1, kLongestText);
    drill.source = text(v, path, "source");
    out_.drills.push_back(std::move(drill));
  }

  void read_week(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path, {"week", "start", "deload", "sessions"});
    plan::PlannedWeek week;
    week.number = whole(v, path, "week", 1, 52);
    week.start = date(v, path, "start");
    week.deload = boolean(v, path, "deload");
    each_object(v, path, "sessions",
                [&](const JsonValue& s, const std::string& p) { read_session(s, p, week); });
    out_.schedule.push_back(std::move(week));
  }

  void read_session(const JsonValue& v, const std::string& path, plan::PlannedWeek& week) {
    read_.check_keys(v, path, {"date", "minutes", "items"});
    plan::PlannedSession session;
    session.day = date(v, path, "date") - week.start;
    session.time = minutes(v, path, "minutes");
    each_object(v, path, "items",
                [&](const JsonValue& i, const std::string& p) { read_item(i, p, session); });
    week.sessions.push_back(std::move(session));
  }

  void read_item(const JsonValue& v, const std::string& path, plan::PlannedSession& session) {
    read_.check_keys(v, path, {"drill", "sets", "minutes"});
    plan::SessionItem item;
    const std::string id = text(v, path, "drill", kLongestWord);
    const auto found = std::find_if(out_.drills.begin(), out_.drills.end(),
                                    [&id](const plan::PlannedDrill& d) { return d.id == id; });
    if (found == out_.drills.end() && !id.empty()) {
      faults_.add(*v.find("drill"), path + "drill",
                  "is \"" + id + "\", which is no drill of this plan");
    }
    item.drill = static_cast<std::size_t>(found - out_.drills.begin());
    item.sets = whole(v, path, "sets", 1, 20);
    item.time = minutes(v, path, "minutes");
    session.items.push_back(item);
  }

  void read_retest(const JsonValue& v, const std::string& path) {
    plan::PlannedRetest retest;
    retest.is_length = v.find("expected_gain_cm") != nullptr;
    const std::string suffix = retest.is_length ? "_cm" : "_deg";
    const double unit = retest.is_length ? 0.01 : kRadiansPerDegree;
    read_.check_keys(v, path,
                     {"test", "label", "date", "trials", "detectable", "expected_gain" + suffix,
                      "detectable_change" + suffix, "reason"});
    retest.test = text(v, path, "test", kLongestWord);
    retest.label = text(v, path, "label", kLongestWord);
    retest.date = date(v, path, "date");
    retest.trials = whole(v, path, "trials", 1, 20);
    retest.detectable = boolean(v, path, "detectable");
    retest.expected_gain = number(v, path, "expected_gain" + suffix, unit);
    retest.detectable_change = number(v, path, "detectable_change" + suffix, unit);
    retest.reason = text(v, path, "reason");
    out_.retests.push_back(std::move(retest));
  }

  posture::JointMoments read_moments(const JsonValue& v, const std::string& path,
                                     const std::string& key) {
    posture::JointMoments moments;
    const JsonValue* object = read_.member(v, path, key, JsonKind::Object, Presence::Required);
    if (object == nullptr) return moments;
    const std::string inner = path + key + ".";
    read_.check_keys(*object, inner,
                     {"ankle_plantarflexion", "knee_extension", "hip_extension",
                      "low_back_extension", "shoulder_flexion"});
    moments.ankle_plantarflexion = number(*object, inner, "ankle_plantarflexion", 1.0);
    moments.knee_extension = number(*object, inner, "knee_extension", 1.0);
    moments.hip_extension = number(*object, inner, "hip_extension", 1.0);
    moments.low_back_extension = number(*object, inner, "low_back_extension", 1.0);
    moments.shoulder_flexion = number(*object, inner, "shoulder_flexion", 1.0);
    return moments;
  }

  void read_hold_now(const JsonValue& v, const std::string& path, plan::SeatedHold& now) {
    read_.check_keys(v, path,
                     {"surface_height_cm", "depth_cm", "trunk_inclination_deg",
                      "lifted_inclination_deg", "possible", "total_kg", "on_surface_kg",
                      "on_feet_kg", "moments_n_m", "lifted_moments_n_m"});
    now.surface_height = number(v, path, "surface_height_cm", 0.01);
    now.depth = number(v, path, "depth_cm", 0.01);
    now.trunk_inclination = number(v, path, "trunk_inclination_deg", kRadiansPerDegree);
    now.lifted_inclination = number(v, path, "lifted_inclination_deg", kRadiansPerDegree);
    now.possible = boolean(v, path, "possible");
    now.total_weight = number(v, path, "total_kg", 1.0, 0.0);
    now.on_surface = number(v, path, "on_surface_kg", 1.0, 0.0);
    now.on_feet = number(v, path, "on_feet_kg", 1.0, 0.0);
    now.moments = read_moments(v, path, "moments_n_m");
    now.lifted = read_moments(v, path, "lifted_moments_n_m");
  }

  void read_seated_hold(const JsonValue& v) {
    const std::string path = "seated_hold.";
    read_.check_keys(v, path,
                     {"seat_share", "rise_cm", "acceptable_inclination_deg", "full_depth_height_cm",
                      "starts_at_full_depth", "now", "ladder", "notes"});
    plan::SeatedHoldPlan hold;
    hold.seat_share = number(v, path, "seat_share", 1.0, 0.0, 0.95);
    hold.rise = number(v, path, "rise_cm", 0.01);
    hold.acceptable_inclination = number(v, path, "acceptable_inclination_deg", kRadiansPerDegree);
    hold.full_depth_height = number(v, path, "full_depth_height_cm", 0.01);
    hold.starts_at_full_depth = boolean(v, path, "starts_at_full_depth");
    if (const JsonValue* now = read_.member(v, path, "now", JsonKind::Object, Presence::Required)) {
      read_hold_now(*now, path + "now.", hold.now);
    }
    each_object(v, path, "ladder", [&](const JsonValue& r, const std::string& p) {
      read_.check_keys(r, p,
                       {"week", "surface_height_cm", "depth_cm", "trunk_inclination_deg",
                        "on_surface_kg", "on_feet_kg"});
      hold.ladder.push_back(
          {whole(r, p, "week", 1, 52), number(r, p, "surface_height_cm", 0.01),
           number(r, p, "depth_cm", 0.01), number(r, p, "trunk_inclination_deg", kRadiansPerDegree),
           number(r, p, "on_surface_kg", 1.0, 0.0), number(r, p, "on_feet_kg", 1.0, 0.0)});
    });
    hold.notes = read_.texts(v, path, "notes", 0, kLongestText);
    out_.seated_hold = std::move(hold);
  }

  // A plan travels with its cautions; one from which somebody took them is refused.
  void read_cautions(const JsonValue& root) {
    const JsonValue* list = read_.member(root, "", "cautions", JsonKind::Array, Presence::Required,
                                         "a plan carries its cautions: make it anew");
    if (list == nullptr) return;
    std::vector<std::string> found;
    for (const JsonValue& item : list->items) {
      if (const JsonValue* code = item.find("code")) found.push_back(code->text);
    }
    for (const Caution& caution : cautions()) {
      if (std::find(found.begin(), found.end(), caution.code) != found.end()) continue;
      faults_.add(*list, "cautions", "lacks \"" + std::string(caution.code) + "\"",
                  "a plan carries its cautions: make it anew");
    }
  }

  FieldReader read_;
  FaultList& faults_;
  Plan out_;
};

}  // namespace

PlanReading read_plan_json(std::string_view text, std::string_view file_name) {
  PlanReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 21, 12, 50000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    Plan plan = PlanReader(faults).read(*root);
    if (faults.empty()) reading.plan = std::move(plan);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

}  // namespace lintel::formats
