#include "report/record_parts.h"

#include <cmath>

#include "report/blocks.h"
#include "report/page_parts.h"
#include "report/plan_pages.h"

namespace lintel::report::record {
namespace {

using kinematics::Channel;

constexpr double kAfter = 7;  // below a section

std::string with_error_words(const body::TestOutcome& outcome) {
  return outcome.own_error ? "own" : "published";
}

std::string tries_text(const body::TestOutcome& outcome, UnitSystem units) {
  if (outcome.entry == nullptr) return {};
  if (outcome.entry->reached) {
    return *outcome.entry->reached == body::Reached::Yes ? "reaches" : "does not reach";
  }
  const std::size_t tries = outcome.entry->tries.size();
  std::string text = std::to_string(tries);
  if (tries > 1) {
    const body::ProtocolUnit unit = outcome.protocol->unit;
    const double sd = outcome.standard_deviation;
    text +=
        ", SD " + (unit == body::ProtocolUnit::Degrees ? fixed_text(sd * kDegreesPerRadian, 1) + "°"
                                                       : value_text(sd, unit, units));
  }
  return text;
}

void add_measurement(Table& table, const view::Assessment& assessment, Channel channel,
                     UnitSystem units) {
  const BottomMean mean = mean_at_bottom(assessment.side, channel);
  const kinematics::ChannelInfo& info = kinematics::channel_info(channel);
  const bool is_angle = info.unit == kinematics::ChannelUnit::Radian;
  std::string value = "not seen";
  if (mean.count > 0) {
    value = is_angle ? degrees_text(mean.estimate) : length_text(mean.estimate, units);
  }
  std::string each;
  if (assessment.side != nullptr) {
    for (const kinematics::Repetition& repetition : assessment.side->repetitions) {
      if (repetition.outcome != kinematics::RepetitionOutcome::Completed) continue;
      const Estimate& bottom = repetition.channels[static_cast<std::size_t>(channel)].bottom;
      each += (each.empty() ? "" : "  ") +
              (is_angle ? fixed_text(bottom.value * kDegreesPerRadian, 0) + "°"
                        : value_text(bottom.value, body::ProtocolUnit::Centimetres, units));
    }
  }
  table.rows.push_back({{capitalised(std::string(info.label)), value, each}});
}

std::string intake_facts(const body::Athlete& athlete, UnitSystem units) {
  const auto cm = [&](double metres) {
    return value_text(metres, body::ProtocolUnit::Centimetres, units);
  };
  std::string text = athlete.sex == body::Sex::Female ? "Female" : "Male";
  if (!athlete.id.empty()) text = "Record " + athlete.id + ". " + text;
  if (athlete.stature > 0) text += ", stature " + cm(athlete.stature);
  if (athlete.body_mass > 0) text += ", mass " + mass_text(athlete.body_mass, units);
  int measured = 0;
  for (const auto& length : athlete.measured_lengths) measured += length ? 1 : 0;
  text += ". Segment lengths: " +
          (measured == 0 ? std::string("all from stature")
                         : std::to_string(measured) + " measured, the others from stature") +
          ".";
  const body::Setup& setup = athlete.setup;
  text += " Setup: stance " + cm(setup.stance_width) + ", toes out " +
          fixed_text(setup.toe_out * kDegreesPerRadian, 0) + "°, heels up " +
          cm(setup.heel_elevation) + ", grip " + cm(setup.grip_width) + ", bar " +
          mass_text(setup.bar_mass, units) + " " +
          std::string(body::bar_position_name(setup.bar_position)) + ".";
  return text;
}

}  // namespace

TextStyle plain() {
  return {8.2, Weight::Regular, kInk, Align::Left, 0, 0, 0.5};
}
TextStyle strong() {
  return {8.6, Weight::Bold, kInk, Align::Left, 0, 0, 0.4};
}
TextStyle quiet() {
  return {7.6, Weight::Regular, kGranite, Align::Left, 0, 0, 0.4};
}

std::string pass_text(const body::PassCheck& pass) {
  std::string text = pass.passes ? "passes" : "short of it";
  if (pass.within_error) text += ", within the error";
  return text;
}

std::string outcome_text(const body::TestOutcome& outcome, UnitSystem units) {
  const body::TestSide side = outcome.entry == nullptr ? body::TestSide::Both : outcome.entry->side;
  std::string text =
      side == body::TestSide::Both ? "" : std::string(body::test_side_name(side)) + " ";
  text += result_text(outcome.result, outcome.protocol->unit, units);
  if (outcome.pass) {
    text += ", line " + value_text(outcome.pass->line.value, outcome.protocol->unit, units) + ": " +
            pass_text(*outcome.pass);
  }
  return text;
}

void draw_intake(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  flow.heading("Intake", kHeading, 30);
  flow.paragraph(intake_facts(*visit.athlete, units), plain());
  for (const std::string& line : visit.intake) flow.bullet(line, plain());
  flow.skip(2);
  const auto& signs = visit.athlete->warning_signs;
  if (signs.empty()) {
    flow.paragraph("No warning sign was named.", plain());
    flow.skip(kAfter);
    return;
  }
  const plan::Triage triage = plan::triage(signs);
  std::vector<std::string> labels;
  for (const plan::WarningRule& rule : triage.referrals) labels.push_back(rule.label);
  flow_panel(flow,
             {{"Warning signs: " + listed(labels) + ".", strong()},
              {plan::referral_text(triage), plain(), 2}},
             kInk, kLimewash);
  flow.skip(kAfter - 5);
}

void draw_measurement(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  flow.heading("Measured on the film", kHeading, 40);
  const view::Assessment* assessment = visit.assessment;
  if (assessment == nullptr || assessment->side == nullptr) {
    flow.paragraph("No side view was measured at this visit.", plain());
    flow.skip(kAfter);
    return;
  }
  std::string film = long_date(assessment->assessed_on);
  if (!assessment->clip.file_name.empty()) film += ", film " + assessment->clip.file_name;
  flow.paragraph(film + ". At the bottom, mean of the completed repetitions ± one standard error.",
                 quiet());
  Table table;
  table.columns = {{"Quantity", 1.6}, {"Mean", 1}, {"Each repetition", 3}};
  for (const Channel channel :
       {Channel::TrunkInclination, Channel::ShankInclination, Channel::KneeFlexion,
        Channel::HipFlexion, Channel::ShoulderElevation, Channel::HeelLift, Channel::Depth}) {
    add_measurement(table, *assessment, channel, units);
  }
  flow_table(flow, table);
  for (const kinematics::Warning& warning : assessment->side->warnings) {
    flow.bullet(warning.message, quiet());
  }
  flow.skip(kAfter);
}

void draw_tests(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  const std::string when = visit.tests_on.empty() ? "" : ", " + long_date(visit.tests_on);
  flow.heading("Mobility tests" + when, kHeading, 40);
  if (visit.tests == nullptr || visit.tests->results.empty()) {
    flow.paragraph("No mobility test was done at this visit.", plain());
    flow.skip(kAfter);
    return;
  }
  Table table;
  table.columns = {{"Test", 2.4},      {"Side", 0.6},   {"Mean ± SE", 1.3}, {"Tries", 1.2},
                   {"Pass line", 1.3}, {"Result", 1.7}, {"P(passes)", 0.9}, {"Error", 1.1}};
  for (const body::TestOutcome& outcome : visit.tests->results) {
    const bool has_side = outcome.entry != nullptr && outcome.entry->side != body::TestSide::Both;
    TableRow row{{outcome.protocol->name,
                  has_side ? std::string(body::test_side_name(outcome.entry->side)) : "",
                  result_text(outcome.result, outcome.protocol->unit, units),
                  tries_text(outcome, units)}};
    if (outcome.pass) {
      // Most lines are fixed numbers; one that goes by the body's size has an error.
      const Estimate& line = outcome.pass->line;
      row.cells.push_back(line.standard_error > 0.0
                              ? result_text(line, outcome.protocol->unit, units)
                              : value_text(line.value, outcome.protocol->unit, units));
      row.cells.push_back(pass_text(*outcome.pass));
      row.cells.push_back(fixed_text(100 * outcome.pass->probability, 0) + " %");
    } else {
      row.cells.insert(row.cells.end(), {"none", "", ""});
    }
    row.cells.push_back(with_error_words(outcome));
    table.rows.push_back(std::move(row));
  }
  flow_table(flow, table);
  flow.skip(2);
  for (const body::SideComparison& side : visit.tests->sides) {
    const body::ProtocolUnit unit = side.protocol->unit;
    flow.bullet(side.protocol->name + ": left less right " +
                    result_text(side.difference, unit, units) + "; detectable from " +
                    value_text(side.detectable, unit, units) + " on. " +
                    (side.beyond_error ? "The sides differ" : "No difference beyond the error") +
                    (side.beyond_usual ? ", by more than is usual in healthy people." : "."),
                plain());
  }
  for (const body::TestOutcome& outcome : visit.tests->results) {
    if (!outcome.done_against.empty()) {
      flow.bullet(outcome.protocol->name + " was done although a warning sign speaks against it.",
                  strong());
    }
  }
  for (const std::string& remark : visit.tests->remarks) flow.bullet(typeset(remark), plain());
  flow.skip(kAfter);
}

void draw_next(PageFlow& flow, const view::Visit& visit) {
  const bool has_test = visit.next_test != nullptr && !visit.next_test->sentence.empty();
  if (!has_test && visit.setups_to_film.empty()) return;
  flow.heading("Worth doing next", kHeading, 26);
  for (const reasoning::SetupToFilm& setup : visit.setups_to_film) {
    flow.bullet("Film: " + typeset(setup.how + ". " + setup.why + " " + setup.shows), plain());
  }
  if (has_test) flow.bullet(typeset(visit.next_test->sentence), plain());
  flow.skip(kAfter);
}

}  // namespace lintel::report::record
