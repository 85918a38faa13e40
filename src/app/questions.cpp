#include "app/questions.h"

#include <algorithm>
#include <span>

#include "app/figure.h"
#include "app/recent_answers.h"
#include "base/text.h"
#include "body/tables.h"
#include "formats/athlete_json.h"
#include "formats/json_defaults.h"
#include "formats/posture_json.h"
#include "formats/question_json.h"
#include "jobs/thread_pool.h"
#include "reasoning/change_text.h"
#include "reasoning/grip.h"
#include "reasoning/what_if_errors.h"
#include "secure/sha256.h"

namespace lintel::app {
namespace {

using formats::Question;
using reasoning::Lever;

constexpr double kEyeError = 3.0 * kRadiansPerDegree;  // of an angle read off a still, from memory
constexpr int kTableDraws = 200;                       // the shares are not shown with the table
constexpr double kMobilityBelow = 20.0 * kRadiansPerDegree;  // how far a slider of a range goes
constexpr double kMobilityAbove = 25.0 * kRadiansPerDegree;
constexpr std::size_t kRemembered = 64;
constexpr std::size_t kRememberedToday = 16;  // some 100 kB each: every draw's posture

std::string text_of(double value) {
  return lintel::text("%.4g", value);
}

Result<Question> read_question(const Caller& caller, std::string_view text,
                               formats::ChangesInQuestion changes, Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::Compute));
  auto reading = formats::read_question_json(text, changes);
  if (!reading.question) return document_fault(std::move(reading.faults), faults);
  return *std::move(reading.question);
}

// One athlete as the model sees it, before any change.
struct Subject {
  posture::BodyParameters body;
  body::Setup setup;
  posture::Limits limits;
  posture::AthleteLimits tested;  // the same limits, with their errors
};
Result<Subject> subject_of(const body::Athlete& athlete) {
  Subject out;
  out.body = LINTEL_TRY(posture::body_parameters(athlete));
  out.setup = athlete.setup;
  out.tested = LINTEL_TRY(posture::limits_from_tests(athlete, out.body.lengths));
  out.limits = out.tested.limits;
  return out;
}

bool is_arm(Lever lever) {
  return lever == Lever::Grip || lever == Lever::ShoulderRange || lever == Lever::LatissimusRange;
}

double now_of(const Subject& subject, Lever lever) {
  body::Setup setup = subject.setup;
  switch (lever) {
    case Lever::Stance:
    case Lever::ToeOut:
    case Lever::Heel:
    case Lever::Grip:
      return reasoning::lever_of(setup, reasoning::factor_of(lever));
    case Lever::BarMass:
      return setup.bar_mass;
    case Lever::Depth:
      return setup.depth;
    case Lever::Surface:
      return setup.surface_height.value_or(0.0);
    default:
      return subject.limits[reasoning::limits_of(reasoning::factor_of(lever)).front()].edge;
  }
}

reasoning::Range ends_of(const reasoning::AllowedSetup& allowed, Lever lever, double now) {
  const auto clipped = [&](std::string_view row, double low, double high) {
    const body::Number& range = body::range_table()[row];
    return reasoning::Range{std::max(low, range.low), std::min(high, range.high)};
  };
  switch (lever) {
    case Lever::Stance:
    case Lever::ToeOut:
    case Lever::Heel:
    case Lever::Grip:
      return allowed[reasoning::factor_of(lever)];
    case Lever::BarMass:
      return {std::min(0.0, now), std::max(allowed.bar_mass.high, now)};
    case Lever::Depth:
      return clipped("depth", now - 0.30, now + 0.08);
    case Lever::Surface:
      return clipped("surface_height", 0.0, 1.0);
    default:
      return {now - kMobilityBelow, now + kMobilityAbove};
  }
}

std::vector<formats::LeverRange> levers_of(const Subject& subject) {
  const auto allowed = reasoning::default_allowed_setup(subject.body, subject.setup);
  const bool overhead = subject.setup.bar_position == body::BarPosition::Overhead;
  std::vector<formats::LeverRange> out;
  for (int i = 0; i < reasoning::kLeverCount; ++i) {
    const auto lever = static_cast<Lever>(i);
    if (is_arm(lever) && !overhead) continue;
    if (lever == Lever::BarMass && subject.setup.bar_position == body::BarPosition::None) continue;
    const double now = now_of(subject, lever);
    const reasoning::Range ends = ends_of(allowed, lever, now);
    out.push_back({lever, now, ends.low, ends.high});
  }
  return out;
}

// The changes with where they start from. Errors: a lever that is not there, or goes too far.
Result<std::vector<reasoning::Change>> changes_of(const Question& question,
                                                  const std::vector<formats::LeverRange>& levers) {
  std::vector<reasoning::Change> out;
  for (std::size_t i = 0; i < question.changes.size(); ++i) {
    const Question::Change& change = question.changes[i];
    const auto found = std::find_if(levers.begin(), levers.end(),
                                    [&](const auto& l) { return l.lever == change.lever; });
    const std::string field = "changes[" + std::to_string(i) + "].";
    Error error{ErrorCode::Invalid, "", {}, "", {}};
    if (found == levers.end()) {
      error.message = "\"" + std::string(reasoning::lever_name(change.lever)) +
                      "\" does nothing with the bar where it is";
      error.mend = "leave it out";
      error.place.field = field + "lever";
      return fail(std::move(error));
    }
    constexpr double kRounding = 1e-6;
    if (change.to < found->low - kRounding || change.to > found->high + kRounding) {
      const double factor = formats::lever_factor(change.lever);
      error.message = "is out of reach; allowed are " + text_of(found->low * factor) + " to " +
                      text_of(found->high * factor) + " " +
                      std::string(formats::lever_unit(change.lever));
      error.mend = "stay within \"levers\" of the answer";
      error.place.field = field + "to";
      return fail(std::move(error));
    }
    out.push_back({change.lever, found->now, change.to});
  }
  return out;
}

// A balanced posture with this lean; where there is none, the most upright one.
Result<view::Figure> figure_at(const Subject& subject, double lean) {
  const double disc =
      subject.setup.bar_position == body::BarPosition::None ? 0.0 : subject.setup.disc_diameter;
  const auto posture =
      LINTEL_TRY(reasoning::posture_at_lean(subject.body, subject.setup, subject.limits, lean));
  if (posture) return figure_of(*posture, disc);
  const auto model = LINTEL_TRY(
      posture::Model::create(subject.body, subject.setup, reasoning::elastic(subject.limits)));
  return figure_of(posture::solve_most_upright(model).posture, disc);
}

reasoning::Observation observation_of(const Question& question) {
  reasoning::Observation seen;
  if (question.observed) {
    seen.trunk_inclination =
        Estimate{*question.observed, question.observed_error.value_or(kEyeError)};
  }
  return seen;
}

Result<reasoning::ExplainResult> explain(const body::Athlete& athlete,
                                         const reasoning::Observation& seen, int draws,
                                         std::uint64_t seed, const WorkContext& work) {
  jobs::ThreadPool pool(0);
  reasoning::ExplainOptions options;
  options.draws = draws;
  options.seed = seed;
  return reasoning::explain(athlete, seen, options, pool, work);
}

std::string key_of(std::string_view kind, const Question& question, int draws) {
  const auto seen = observation_of(question).trunk_inclination.value_or(Estimate{-9.0, -9.0});
  const std::string text = std::string(kind) + "\n" +
                           formats::write_athlete_json(question.athlete) +
                           std::to_string(seen.value) + " " + std::to_string(seen.standard_error) +
                           " " + std::to_string(draws) + " " + std::to_string(question.seed);
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(text.data());
  return secure::sha256_hex(std::span(bytes, text.size()));
}

RecentAnswers<std::string>& remembered() {
  static RecentAnswers<std::string> answers(kRemembered);
  return answers;
}

// What every move of a slider starts from; the same until another athlete is asked about.
struct Today {
  reasoning::Evaluated upright;
  double lean = 0.0;
  view::Figure figure;
  reasoning::WhatIfDraws draws;
};
Result<std::shared_ptr<const Today>> today_of(const Question& question, const Subject& subject) {
  static RecentAnswers<Today> answers(kRememberedToday);
  const std::string key = key_of("today", question, 0);
  if (auto before = answers.find(key)) return before;
  Today today;
  today.upright =
      LINTEL_TRY(reasoning::evaluate_most_upright(subject.body, subject.setup, subject.limits));
  today.lean = question.observed.value_or(today.upright.trunk_inclination);
  today.figure = LINTEL_TRY(figure_at(subject, today.lean));
  const reasoning::UncertainInput input{subject.body,
                                        subject.setup,
                                        subject.setup,
                                        subject.tested,
                                        observation_of(question).trunk_inclination,
                                        std::nullopt,
                                        0.0};
  today.draws = LINTEL_TRY(reasoning::WhatIfDraws::create(input, question.seed));
  return answers.keep(key, std::move(today));
}

}  // namespace

std::vector<formats::RawMember> figure_members(const reasoning::ExplainResult& explained,
                                               double disc_diameter) {
  const auto figure = [&](const std::optional<posture::Posture>& posture) {
    return posture ? std::optional(figure_of(*posture, disc_diameter)) : std::nullopt;
  };
  const formats::FigureSet figures{figure(explained.seen), figure(explained.upright),
                                   figure(explained.after_best)};
  const std::string change =
      explained.best_change
          ? formats::json_text_of(reasoning::describe_changes(explained.best_change->changes))
          : "null";
  return {{"figures", formats::write_figures_json(figures)}, {"best_change", change}};
}

Result<std::string> ask_what_if(const Caller& caller, std::string_view text, Faults& faults) {
  const Question question =
      LINTEL_TRY(read_question(caller, text, formats::ChangesInQuestion::Expected, faults));
  const Subject today = LINTEL_TRY(subject_of(question.athlete));
  formats::WhatIfAnswer answer;
  answer.levers = levers_of(today);
  const auto changes = LINTEL_TRY(changes_of(question, answer.levers));
  const bool overhead = today.setup.bar_position == body::BarPosition::Overhead;
  const reasoning::WhatIfInput input{
      today.body,
      today.setup,
      today.limits,
      reasoning::default_allowed_setup(today.body, today.setup),
      overhead ? reasoning::hip_crease_grip(today.body).value : today.setup.grip_width,
      0.0};
  const std::shared_ptr<const Today> before = LINTEL_TRY(today_of(question, today));
  const auto row = LINTEL_TRY(reasoning::evaluate_changes(input, before->upright, changes));
  const Subject changed{today.body, reasoning::changed_setup(today.setup, changes),
                        reasoning::changed_limits(today.limits, changes), today.tested};
  answer.today = before->figure;
  answer.after = LINTEL_TRY(figure_at(changed, before->lean + row.trunk_change));
  answer.trunk_change = row.trunk_change;
  answer.errors = before->draws.errors_of(changes);
  answer.draws = before->draws.size();
  answer.sources = today.tested.source;
  answer.possible = row.possible;
  answer.costs = row.costs;
  answer.words = reasoning::describe_changes(changes);
  return formats::write_what_if_answer_json(answer);
}

Result<std::string> ask_what_if_table(const Caller& caller, std::string_view text, Faults& faults,
                                      const WorkContext& work) {
  const Question question =
      LINTEL_TRY(read_question(caller, text, formats::ChangesInQuestion::NotAllowed, faults));
  const int draws = std::min(question.draws, kTableDraws);
  const std::string key = key_of("what-if", question, draws);
  if (const auto before = remembered().find(key)) return *before;
  const auto result = LINTEL_TRY(explain(question.athlete, {}, draws, question.seed, work));
  return *remembered().keep(key, formats::write_what_if_json(*result.what_if, question.athlete.id));
}

Result<std::string> ask_grip(const Caller& caller, std::string_view text, Faults& faults) {
  const Question question =
      LINTEL_TRY(read_question(caller, text, formats::ChangesInQuestion::NotAllowed, faults));
  const Subject subject = LINTEL_TRY(subject_of(question.athlete));
  const auto advice =
      LINTEL_TRY(reasoning::advise_grip(subject.body, subject.setup, subject.limits));
  return formats::write_grip_json(advice, subject.setup, question.athlete.id);
}

Result<std::string> ask_explanation(const Caller& caller, std::string_view text, Faults& faults,
                                    const WorkContext& work) {
  const Question question =
      LINTEL_TRY(read_question(caller, text, formats::ChangesInQuestion::NotAllowed, faults));
  const std::string key = key_of("explanation", question, question.draws);
  if (const auto before = remembered().find(key)) return *before;
  const auto result = LINTEL_TRY(
      explain(question.athlete, observation_of(question), question.draws, question.seed, work));
  return *remembered().keep(
      key, formats::with_members(formats::write_explanation_json(result, question.athlete.id),
                                 figure_members(result, question.athlete.setup.disc_diameter)));
}

}  // namespace lintel::app
