#include "report/letter.h"

#include <algorithm>
#include <cmath>

#include "base/cautions.h"
#include "report/blocks.h"
#include "report/page_parts.h"
#include "report/plan_pages.h"
#include "report/record_parts.h"

namespace lintel::report {
namespace {

using kinematics::Channel;

constexpr double kSize = 9.4;
constexpr double kBetween = 6;  // between paragraphs
constexpr double kItem = 1.5;
constexpr std::size_t kMostFindings = 6;  // the others are counted

TextStyle words() {
  return {kSize, Weight::Regular, kInk, Align::Left, 0, 0, 0.7};
}
TextStyle strong() {
  return {kSize, Weight::Bold, kInk, Align::Left, 0, 0, 0.7};
}

std::string name_of(const body::Athlete& athlete) {
  if (!athlete.name.empty()) return athlete.name;
  return athlete.id.empty() ? "the athlete" : athlete.id;
}

std::string or_else(const std::string& text, const std::string& otherwise) {
  return text.empty() ? otherwise : text;
}

// Recipient on the left, sender on the right, as high as the higher of the two.
void draw_addresses(PageFlow& flow, const LetterOptions& options) {
  const auto stack_of = [](const std::vector<std::string>& lines) {
    Stack stack;
    for (const std::string& line : lines) {
      stack.push_back({line, stack.empty() ? strong() : words(), 0.5});
    }
    return stack;
  };
  const Stack to = stack_of(options.recipient);
  const Stack from = stack_of(options.sender);
  if (to.empty() && from.empty()) return;
  const double column = 0.47 * flow.width();
  const double height =
      std::max(stack_height(flow.canvas(), to, column), stack_height(flow.canvas(), from, column));
  if (height > flow.page_room()) {
    flow_stack(flow, to);
    flow_stack(flow, from);
  } else {
    const Box box = flow.take(height);
    draw_stack(flow.canvas(), {box.x, box.y}, column, to);
    draw_stack(flow.canvas(), {box.right() - column, box.y}, column, from);
  }
  flow.skip(14);
}

void say(PageFlow& flow, const std::string& text) {
  if (text.empty()) return;
  flow.paragraph(text, words());
  flow.skip(kBetween);
}

void title(PageFlow& flow, const char* text) {
  flow.need(3 * 1.4 * kSize);  // never alone at the foot of a page
  flow.paragraph(text, strong());
  flow.skip(kItem);
}

void item(PageFlow& flow, const std::string& text) {
  flow.bullet(text, words());
  flow.skip(kItem);
}

void draw_measured(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  const view::Assessment* assessment = visit.assessment;
  const bool has_film = assessment != nullptr && assessment->side != nullptr &&
                        mean_at_bottom(assessment->side, Channel::TrunkInclination).count > 0;
  const bool has_tests = visit.tests != nullptr && !visit.tests->results.empty();
  if (!has_film && !has_tests) return;
  title(flow, "Measured (± is one standard error)");
  if (has_film) {
    const auto angle = [&](Channel channel) {
      return degrees_text(mean_at_bottom(assessment->side, channel).estimate);
    };
    const int count = mean_at_bottom(assessment->side, Channel::TrunkInclination).count;
    item(flow,
         "Squat from the side, " + long_date(assessment->assessed_on) + ", " +
             (count == 1 ? std::string("one repetition") : std::to_string(count) + " repetitions") +
             ", at the bottom: trunk " + angle(Channel::TrunkInclination) +
             " from vertical, shank " + angle(Channel::ShankInclination) + ", knee flexion " +
             angle(Channel::KneeFlexion) + ".");
  }
  if (!has_tests) return flow.skip(kBetween - kItem);
  // One line for a protocol, both sides in it.
  std::vector<const body::TestProtocol*> said;
  for (const body::TestOutcome& outcome : visit.tests->results) {
    if (std::find(said.begin(), said.end(), outcome.protocol) != said.end()) continue;
    said.push_back(outcome.protocol);
    std::string text;
    for (const body::TestOutcome& other : visit.tests->results) {
      if (other.protocol != outcome.protocol) continue;
      text += (text.empty() ? "" : "; ") + record::outcome_text(other, units);
    }
    item(flow, outcome.protocol->name + ": " + text + ".");
  }
  flow.skip(kBetween - kItem);
}

std::string finding_text(const reasoning::Finding& finding) {
  std::string text = finding.title + ": " + record::certainty_text(finding);
  if (finding.size) text += ", " + record::size_text(*finding.size);
  text += ".";
  if (!finding.conflict.empty()) text += " " + typeset(finding.conflict);
  if (finding.overruling) text += " " + record::overruling_text(*finding.overruling);
  return text;
}

void draw_findings(PageFlow& flow, const view::Visit& visit) {
  if (visit.findings == nullptr || visit.findings->all.empty()) return;
  title(flow, "Findings (size in degrees with its 95 % interval)");
  const auto& all = visit.findings->all;
  const std::size_t shown = std::min(all.size(), kMostFindings);
  for (std::size_t i = 0; i < shown; ++i) item(flow, finding_text(all[i]));
  if (shown < all.size()) {
    item(flow, "And " + std::to_string(all.size() - shown) + " smaller ones, in the record.");
  }
  flow.paragraph(reasoning::confidence_explanation(),
                 {7.6, Weight::Regular, kGranite, Align::Left, 0, 0, 0.4});
  flow.skip(kBetween);
}

void draw_plan(PageFlow& flow, const view::Visit& visit) {
  if (visit.plan == nullptr) return;
  const plan::Plan& plan = *visit.plan;
  const auto drills = shown_drills(visit);
  title(flow, "Plan");
  for (const plan::SetupChange& change : plan.setup_changes) item(flow, typeset(change.text));
  if (drills.empty()) {
    item(flow, "No exercises for now.");
  } else {
    std::vector<std::string> names;
    for (const ShownDrill& shown : drills) {
      names.push_back(shown.planned->name + " (" +
                      std::string(reasoning::factor_label(shown.planned->part)) + ")");
    }
    item(flow, "From " + date_words(plan.from) + " for " + std::to_string(plan.weeks) + " weeks, " +
                   std::to_string(plan.sessions_per_week) + " sessions a week of at most " +
                   minutes_text(plan.time_per_session) + ": " + listed(names) + ".");
  }
  for (const plan::Goal& goal : plan.goals) {
    if (drills.empty()) break;
    item(flow, "Goal: " + goal.measure + " from " + fixed_text(goal.from * kDegreesPerRadian, 0) +
                   "° to " + fixed_text(goal.target * kDegreesPerRadian, 0) + "° by " +
                   date_words(goal.date) + ", probability " +
                   fixed_text(100 * goal.probability, 0) + " %.");
  }
  std::vector<std::string> tests;
  for (const plan::PlannedRetest& retest : plan.retests) {
    tests.push_back(retest.label + " on " + date_words(retest.date));
  }
  if (!tests.empty()) item(flow, "To be tested again: " + listed(tests) + ".");
  flow.skip(kBetween - kItem);
}

std::string default_request(const plan::Triage& triage) {
  if (triage.clearance == plan::Clearance::NoDrills) {
    return "I ask you to look into this before anything is trained, and to let me know what may be "
           "done.";
  }
  if (triage.clearance == plan::Clearance::UnloadedOnly) {
    return "I ask you to look into this before any load is used, and to let me know what may be "
           "done.";
  }
  return "I would be glad of your view, and of anything that speaks against this plan.";
}

void draw_letter(PageFlow& flow, const view::Visit& visit, const LetterOptions& options) {
  const body::Athlete& athlete = *visit.athlete;
  const std::string who = name_of(athlete);
  const plan::Triage triage = triage_of(visit);
  draw_addresses(flow, options);
  flow.paragraph(or_else(options.subject, "Overhead squat of " + who),
                 {11.5, Weight::Bold, kInk, Align::Left, 0, 0, 0.5});
  flow.skip(8);
  say(flow, or_else(options.salutation, "Dear colleague,"));
  say(flow, or_else(options.reason,
                    "I saw " + who +
                        " because the trunk leans forward at the bottom of the overhead squat."));
  if (triage.clearance != plan::Clearance::Full) {
    std::vector<std::string> labels;
    for (const plan::WarningRule& rule : triage.referrals) labels.push_back(rule.label);
    flow_panel(flow,
               {{std::string(triage.urgent ? "Urgent. " : "") +
                     "Warning signs named at intake: " + listed(labels) + ".",
                 strong()},
                {referral_of(visit), words(), 2}},
               kInk, kLimewash);
    flow.skip(2);
  }
  draw_measured(flow, visit, options.units);
  draw_findings(flow, visit);
  draw_plan(flow, visit);
  say(flow, or_else(options.request, default_request(triage)));
  flow.need(46);
  say(flow, or_else(options.closing, "With kind regards"));
  flow.skip(14);
  flow.paragraph(options.sender.empty() ? visit.practitioner : options.sender.front(), words());
}

}  // namespace

Result<Pages> render_letter(const view::Visit& visit, const LetterOptions& options) {
  if (visit.athlete == nullptr) {
    return fail(ErrorCode::Invalid, "a letter needs an athlete", "give the athlete's file");
  }
  PageFrame frame;
  frame.paper = options.paper;
  frame.kind = "Letter";
  frame.who = name_of(*visit.athlete);
  frame.date = visit.issued_on;
  frame.line = "To a colleague";
  frame.footnote = "Lintel " + visit.program_version + ".";
  frame.caution_size = 6.6;
  const DocumentInfo info{or_else(options.subject, "Overhead squat of " + frame.who) + ", " +
                              long_date(visit.issued_on),
                          cautions_brief(), "Lintel " + visit.program_version, visit.issued_on};
  return render_pages(frame, info, [&](PageFlow& flow) { draw_letter(flow, visit, options); });
}

}  // namespace lintel::report
