// The second half of the record: findings, plan, loads.
#include <algorithm>
#include <cmath>

#include "report/blocks.h"
#include "report/page_parts.h"
#include "report/plan_pages.h"
#include "report/record_parts.h"

namespace lintel::report::record {
namespace {

constexpr double kAfter = 7;  // below a section

std::string degrees(double radians, int decimals) {
  return fixed_text(radians * kDegreesPerRadian, decimals) + "°";
}

std::string evidence_place(const reasoning::Evidence& evidence) {
  std::string text = std::string(reasoning::evidence_source_name(evidence.source));
  if (!evidence.assessment.empty()) text += " " + evidence.assessment;
  if (evidence.repetition > 0) text += ", repetition " + std::to_string(evidence.repetition);
  if (evidence.frame >= 0) text += ", frame " + std::to_string(evidence.frame);
  return text;
}

// What speaks neither for itself nor against anything takes one line.
bool is_told_briefly(const reasoning::Finding& finding) {
  return finding.confidence == reasoning::Confidence::Unlikely && finding.conflict.empty() &&
         !finding.overruling && finding.earlier_overrulings.empty() &&
         finding.kind != reasoning::FindingKind::Untested;
}

Stack evidence_stack(const reasoning::Finding& finding) {
  constexpr TextStyle kSmall{7.4, Weight::Regular, kInk, Align::Left, 0, 0, 0.3};
  Stack stack;
  for (const reasoning::Evidence& evidence : finding.evidence) {
    const bool supports = evidence.bearing == reasoning::Bearing::Supports;
    stack.push_back({typeset(evidence.text) + " [" + evidence_place(evidence) + "]", kSmall, 0.5,
                     12, supports ? "+" : "−"});
  }
  return stack;
}

// Two beside one another where both take one line of half the width.
void draw_evidence(PageFlow& flow, const Stack& evidence) {
  Canvas& canvas = flow.canvas();
  constexpr double kGap = 12;
  const double half = 0.5 * (flow.width() - kGap);
  const auto is_short = [&](std::size_t i) {
    return i < evidence.size() &&
           canvas.measure(evidence[i].text, evidence[i].style).width + evidence[i].indent <= half;
  };
  for (std::size_t i = 0; i < evidence.size();) {
    if (!is_short(i) || !is_short(i + 1)) {
      flow_stack(flow, {evidence[i]});
      ++i;
      continue;
    }
    const Box row = flow.take(stack_height(canvas, {evidence[i]}, half) + 0.5);
    draw_stack(canvas, {row.x, row.y}, half, {evidence[i]});
    draw_stack(canvas, {row.x + half + kGap, row.y}, half, {evidence[i + 1]});
    i += 2;
  }
}

std::string title_text(const reasoning::Finding& finding) {
  std::string title = finding.title + ": ";
  if (finding.size) title += size_text(*finding.size) + ", ";
  title += certainty_text(finding);
  if (finding.overruling) {
    title += ". Overruled";
  } else if (!finding.conflict.empty()) {
    title += ". The evidence disagrees";
  }
  return title + ".";
}

void draw_finding(PageFlow& flow, const reasoning::Finding& finding) {
  const Stack head = {{title_text(finding), strong()}, {typeset(finding.sentence), plain(), 0.5}};
  const Stack evidence = evidence_stack(finding);
  Stack after;
  if (!finding.conflict.empty()) {
    after.push_back({"Conflict: " + typeset(finding.conflict), plain(), 1});
  }
  for (const reasoning::Overruling& earlier : finding.earlier_overrulings) {
    after.push_back({"Earlier: " + overruling_text(earlier), quiet(), 1});
  }
  if (finding.overruling) {
    after.push_back(
        {"Computed as above and kept. " + overruling_text(*finding.overruling), strong(), 1});
  }
  // The head never stands alone at the foot of a page.
  flow.need(std::min(stack_height(flow.canvas(), head, flow.width()) + 24, flow.page_room()));
  flow_stack(flow, head);
  draw_evidence(flow, evidence);
  flow_stack(flow, after);
  flow.skip(4);
}

void draw_goals(PageFlow& flow, const plan::Plan& plan) {
  if (plan.goals.empty()) return;
  Table table;
  table.columns = {{"Goal", 1.9}, {"From", 0.45},       {"To", 0.45},
                   {"By", 0.9},   {"Probability", 0.9}, {"Basis", 4.2}};
  for (const plan::Goal& goal : plan.goals) {
    table.rows.push_back({{capitalised(goal.measure), degrees(goal.from, 0),
                           degrees(goal.target, 0), short_date(goal.date),
                           fixed_text(100 * goal.probability, 0) + " %", typeset(goal.basis)}});
  }
  flow_table(flow, table);
  flow.skip(4);
}

void draw_drills(PageFlow& flow, const std::vector<ShownDrill>& drills) {
  Table table;
  table.columns = {{"", 0.2},     {"Drill", 2},  {"For", 1.1},
                   {"Dose", 1.8}, {"Step", 1.2}, {"Why", 3.5}};
  for (const ShownDrill& shown : drills) {
    const plan::PlannedDrill& d = *shown.planned;
    table.rows.push_back(
        {{std::to_string(shown.number), d.name, std::string(reasoning::factor_label(d.part)),
          dose_words_of(d.dose), d.step_name, typeset(d.reason)}});
  }
  flow_table(flow, table);
  flow.skip(4);
}

void draw_retests(PageFlow& flow, const plan::Plan& plan, UnitSystem units) {
  if (plan.retests.empty()) return;
  Table table;
  table.columns = {{"Test again", 2}, {"On", 1},           {"Tries", 0.45},
                   {"Expected", 0.8}, {"Detectable", 0.9}, {"Reason", 4}};
  for (const plan::PlannedRetest& retest : plan.retests) {
    const auto amount = [&](double value) {
      return retest.is_length ? value_text(value, body::ProtocolUnit::Centimetres, units)
                              : degrees(value, 1);
    };
    table.rows.push_back(
        {{retest.label, short_date(retest.date), std::to_string(retest.trials),
          amount(retest.expected_gain), amount(retest.detectable_change), retest.reason}});
  }
  flow_table(flow, table);
  flow.skip(4);
}

std::string plan_line(const plan::Plan& plan) {
  std::string text = date_words(plan.from) + " to " + date_words(plan.last_day()) + ", " +
                     std::to_string(plan.sessions_per_week) + " sessions a week of at most " +
                     minutes_text(plan.time_per_session) + ".";
  std::vector<std::string> have;
  for (const plan::Equipment e : plan.equipment.list()) {
    have.emplace_back(plan::equipment_label(e));
  }
  if (!have.empty()) text += " Equipment: " + listed(have) + ".";
  std::vector<std::string> easy;
  for (const plan::PlannedWeek& week : plan.schedule) {
    if (week.deload) easy.push_back(std::to_string(week.number));
  }
  if (!easy.empty()) {
    text += (easy.size() == 1 ? " Easy week: " : " Easy weeks: ") + listed(easy) + ".";
  }
  return text;
}

}  // namespace

std::string size_text(const reasoning::Size& size) {
  const bool is_zero = std::abs(size.value) < 0.05 * kRadiansPerDegree;  // "0.0°" says no more
  return degrees(size.value, is_zero ? 0 : 1) + " (" + degrees(size.low, 0) + " to " +
         degrees(size.high, 0) + ")";
}

std::string certainty_text(const reasoning::Finding& finding) {
  return std::string(reasoning::confidence_word(finding.confidence)) + ", " +
         fixed_text(100 * finding.probability, 0) + " %";
}

std::string overruling_text(const reasoning::Overruling& overruling) {
  std::string text = capitalised(std::string(reasoning::verdict_name(overruling.verdict)));
  if (overruling.size) text += " at " + degrees(*overruling.size, 1);
  if (!overruling.who.empty()) text += " by " + overruling.who;
  return text + " on " + date_words(overruling.date) + ": " + overruling.reason;
}

void draw_findings(PageFlow& flow, const view::Visit& visit) {
  flow.heading("Findings", kHeading, 40);
  if (visit.findings == nullptr || visit.findings->all.empty()) {
    flow.paragraph("No findings were computed at this visit.", plain());
    flow.skip(kAfter);
    return;
  }
  flow.paragraph(reasoning::confidence_explanation() +
                     " Sizes in degrees with their 95 % interval; + speaks for it, − against it.",
                 quiet());
  flow.skip(3);
  std::vector<std::string> unlikely;
  for (const reasoning::Finding& finding : visit.findings->all) {
    if (is_told_briefly(finding)) {
      unlikely.push_back(finding.title + (finding.size ? " " + size_text(*finding.size) : "") +
                         " " + fixed_text(100 * finding.probability, 0) + " %");
    } else {
      draw_finding(flow, finding);
    }
  }
  if (!unlikely.empty()) {
    flow.paragraph("Unlikely to cost anything: " + listed(unlikely) +
                       ". Their evidence is in the file of findings.",
                   plain());
    flow.skip(3);
  }
  for (const reasoning::Overruling& lost : visit.findings->unmatched) {
    flow.bullet(
        "About \"" + lost.finding + "\", which is no finding of today: " + overruling_text(lost),
        plain());
  }
  flow.skip(kAfter - 4);
}

void draw_plan(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  flow.heading("Plan", kHeading, 40);
  if (visit.plan == nullptr) {
    flow.paragraph("No plan was made at this visit.", plain());
    flow.skip(kAfter);
    return;
  }
  const plan::Plan& plan = *visit.plan;
  const auto drills = shown_drills(visit);
  flow.paragraph(plan_line(plan), plain());
  const std::string referral = referral_of(visit);
  if (!referral.empty()) flow.paragraph(referral, strong());
  for (const plan::SetupChange& change : plan.setup_changes) {
    flow.bullet("Setup first: " + typeset(change.text), plain());
  }
  flow.skip(3);
  draw_goals(flow, plan);
  if (drills.empty()) {
    flow.paragraph("The plan holds no drills.", strong());
    flow.skip(3);
  } else {
    draw_drills(flow, drills);
  }
  if (drills.size() < plan.drills.size()) {
    flow.paragraph("What carries a load is left out while there is a warning sign.", plain());
    flow.skip(3);
  }
  draw_retests(flow, plan, units);
  if (!plan.stop_rules.empty()) {
    std::string rules = "Stop rules: ";
    for (const std::string& rule : plan.stop_rules) rules += rule + " ";
    flow.paragraph(rules, plain());
  }
  for (const std::string& note : plan.notes) flow.bullet(note, plain());
  flow.skip(kAfter);
}

void draw_loads(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  if (visit.loads == nullptr) return;
  const plan::LoadAdvice& loads = *visit.loads;
  const bool barred = !may_be_loaded(visit);
  flow.heading("Loads overhead", kHeading, 40);
  if (barred || !loads.allowed) {
    flow.paragraph(barred ? "Nothing with a load while there is a warning sign." : loads.why,
                   plain());
    flow.skip(kAfter);
    return;
  }
  std::string basis = loads.why;
  if (loads.reference) {
    basis += " From the athlete's own best " + std::string(plan::lift_label(*loads.reference)) +
             "; an overhead squat is taken to be worth " + mass_text(loads.reference_mass, units) +
             ".";
  }
  if (!loads.note.empty()) basis += " " + loads.note;
  flow.paragraph(basis + " (" + loads.source + ")", plain());
  flow.skip(2);
  Table table;
  table.columns = {
      {"Week", 0.5}, {"Stage", 2}, {"At most", 1}, {"Share", 0.8}, {"Sets × repetitions", 1.4}};
  for (const plan::LoadWeek& week : loads.weeks) {
    table.rows.push_back(
        {{std::to_string(week.plan_week.value_or(week.week)),
          std::string(plan::load_stage_label(week.stage)) + (week.deload ? ", easy week" : ""),
          load_text(week, units), week.share ? fixed_text(100 * *week.share, 0) + " %" : "",
          std::to_string(week.sets) + " × " + std::to_string(week.repetitions)}});
  }
  flow_table(flow, table);
  flow.skip(kAfter);
}

}  // namespace lintel::report::record
