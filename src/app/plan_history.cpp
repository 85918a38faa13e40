#include "app/plan_history.h"

#include <array>
#include <map>

#include "app/text_file.h"
#include "body/test_outcome.h"
#include "formats/history_json.h"
#include "plan/forecast.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestHistory = 4u << 20;  // [bytes], as the reader's own limit

void add_passed_steps(const plan::History& history, plan::PlannerInput& input) {
  std::map<std::string, int> last;  // sessions are in order of date
  for (const plan::Session& session : history.sessions) {
    for (const plan::DrillDone& done : session.drills) last[done.drill] = done.step;
  }
  for (const auto& [drill, step] : last) input.passed.push_back({drill, step - 1});
}

// Expected gain of a part a week, full dose of the drill that promises most.
plan::Gain best_gain(const std::vector<plan::Drill>& library, reasoning::Factor part) {
  plan::Gain best;
  for (const plan::Drill& drill : library) {
    for (const plan::Target& target : drill.targets) {
      if (target.part == part && target.gain.per_week > best.per_week) best = target.gain;
    }
  }
  return best;
}

// Gain of one side over the expectation; nothing with fewer than two sessions.
Result<std::optional<Estimate>> response_of(const plan::History& history,
                                            const plan::FollowedTest& test,
                                            const body::TestProtocol& protocol, body::TestSide side,
                                            const plan::Gain& expected) {
  const double sign = protocol.better == body::Better::Lower ? -1.0 : 1.0;
  std::vector<plan::Observed> observed;
  for (const plan::TestSession& session : history.tests) {
    if (session.protocol != test.protocol || session.side != side) continue;
    Estimate value = body::mean_of_tries(session.tries, test.error);
    value.value *= sign;
    observed.push_back({session.date, value});
  }
  if (observed.size() < 2) return std::optional<Estimate>{};
  const plan::GainModel model{
      {expected.per_week * test.per_gain, expected.standard_deviation * test.per_gain}, 0.0};
  const plan::GainPosterior posterior = LINTEL_TRY(plan::posterior_gain(model, observed));
  return plan::response_multiplier(posterior, model);
}

Result<void> add_responses(const plan::History& history,
                           const std::vector<body::TestProtocol>& protocols,
                           const std::vector<plan::Drill>& library, plan::PlanInput& input) {
  constexpr std::array<body::TestSide, 3> kSides = {body::TestSide::Left, body::TestSide::Right,
                                                    body::TestSide::Both};
  for (const plan::FollowedTest& test : input.tests) {
    const body::TestProtocol* protocol = body::find_protocol(protocols, test.protocol);
    const plan::Gain expected = best_gain(library, test.part);
    if (protocol == nullptr || expected.per_week <= 0.0 || test.per_gain <= 0.0) continue;
    std::optional<Estimate> slowest;  // the worse side is what binds
    for (const body::TestSide side : kSides) {
      const auto response = LINTEL_TRY(response_of(history, test, *protocol, side, expected));
      if (response && (!slowest || response->value < slowest->value)) slowest = response;
    }
    if (slowest) input.planner.responses.push_back({test.part, *slowest});
  }
  return {};
}

}  // namespace

Result<void> add_history(const plan::History& history,
                         const std::vector<body::TestProtocol>& protocols,
                         const std::vector<plan::Drill>& library, plan::PlanInput& input) {
  add_passed_steps(history, input.planner);
  return add_responses(history, protocols, library, input);
}

Result<plan::History> read_history(const std::filesystem::path& file, const std::string& athlete_id,
                                   const std::vector<body::TestProtocol>& protocols,
                                   const std::vector<plan::Drill>& library) {
  const std::string name = file.filename().string();
  const std::string bytes =
      LINTEL_TRY(read_text_file(file, kLargestHistory, "give the athlete's lintel-history-1"));
  auto reading = formats::read_history_json(bytes, name, protocols, library);
  if (!reading.history) return fail(joined_faults(reading.faults));
  if (reading.history->athlete != athlete_id) {
    Error error{ErrorCode::Conflict,
                "the history is of athlete \"" + reading.history->athlete + "\", not of \"" +
                    athlete_id + "\"",
                {},
                "give the file of this athlete",
                {}};
    error.place.field = "athlete";
    return fail(std::move(error.with_file(name)));
  }
  return *std::move(reading.history);
}

}  // namespace lintel::app
