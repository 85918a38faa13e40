#include "report/handout.h"

#include <algorithm>
#include <cmath>

#include "base/cautions.h"
#include "report/blocks.h"
#include "report/handout_parts.h"
#include "report/marks.h"
#include "report/page_parts.h"
#include "report/plan_pages.h"
#include "report/square_code.h"

namespace lintel::report {
namespace {

using handout::body;
using handout::bold;

void draw_referral(PageFlow& flow, const view::Visit& visit) {
  const plan::Clearance clearance = triage_of(visit).clearance;
  if (clearance == plan::Clearance::Full) return;
  const bool none = clearance == plan::Clearance::NoDrills;
  Stack stack;
  stack.push_back({none ? "First: have this looked at" : "Only without load for now", bold(15)});
  stack.push_back({referral_of(visit), body(11.5), 3});
  if (none) {
    stack.push_back({"No exercises are given today. Come back with this page when it is cleared.",
                     body(11.5), 4});
  }
  flow_panel(flow, stack, kInk, kLimewash);
}

// "38° → 31°"; "+6°" of a gain that is counted from today.
std::string change_text(const plan::Goal& goal) {
  const std::string target = fixed_text(goal.target * kDegreesPerRadian, 0) + "°";
  const std::string from = fixed_text(goal.from * kDegreesPerRadian, 0);
  return from == "0" ? "+" + target : from + "° → " + target;
}

struct GoalBlock {
  std::string change;
  TextStyle number;
  double number_width = 0;
  Stack words;

  double height(Canvas& canvas, double width) const {
    return std::max(stack_height(canvas, words, width - number_width),
                    canvas.measure(change, number).height);
  }
  void draw(Canvas& canvas, Point at, double width) const {
    canvas.text(at, change, number);
    draw_stack(canvas, {at.x + number_width, at.y + 1}, width - number_width, words);
  }
};

enum class GoalSize : std::uint8_t { Large, Small };

GoalBlock goal_block(Canvas& canvas, const plan::Goal& goal, GoalSize size) {
  const bool large = size == GoalSize::Large;
  GoalBlock block;
  block.change = change_text(goal);
  block.number = bold(large ? 19 : 13);
  block.number.color = kHarbour;
  block.number_width =
      std::max(canvas.measure(block.change, block.number).width + 10, large ? 124.0 : 44.0);
  block.number.width = block.number_width;
  const std::string by = "by " + (large ? date_words(goal.date) : short_date(goal.date)) +
                         (large ? "; the chance of reaching it is " : ", chance ") +
                         chance_text(goal.probability);
  block.words = {{capitalised(goal.measure), bold(large ? 11.5 : 10)},
                 {by, body(large ? 10.5 : 9), 0.5}};
  return block;
}

// The main goal in large numbers over the whole width, the others in two columns.
void draw_goals(PageFlow& flow, const plan::Plan& plan) {
  if (plan.goals.empty()) return;
  constexpr double kGap = 16;
  Canvas& canvas = flow.canvas();
  flow.heading("What this is for", handout::kHeading, 40);
  flow.skip(1.5);
  for (std::size_t i = 0; i < plan.goals.size();) {
    const bool single = i == 0 || plan.goals.size() == 2;
    const std::size_t count = single ? 1 : std::min<std::size_t>(2, plan.goals.size() - i);
    const double width = single ? flow.width() : 0.5 * (flow.width() - kGap);
    std::vector<GoalBlock> row;
    double height = 0;
    for (std::size_t k = 0; k < count; ++k) {
      row.push_back(
          goal_block(canvas, plan.goals[i + k], single ? GoalSize::Large : GoalSize::Small));
      height = std::max(height, row.back().height(canvas, width) + 1);
    }
    i += count;
    if (height > flow.page_room()) {
      for (const GoalBlock& block : row) {
        flow.paragraph(block.change, block.number);
        flow_stack(flow, block.words);
      }
      continue;
    }
    const Box box = flow.take(height);
    for (std::size_t k = 0; k < count; ++k) {
      row[k].draw(canvas, {box.x + (width + kGap) * static_cast<double>(k), box.y}, width);
    }
    flow.skip(4);
  }
  flow.skip(5);
}

void draw_setup_changes(PageFlow& flow, const plan::Plan& plan) {
  if (plan.setup_changes.empty()) return;
  flow.heading("Change this first", handout::kHeading, 30);
  for (const plan::SetupChange& change : plan.setup_changes) {
    flow.bullet(typeset(change.text), body(11));
    flow.skip(2);
  }
  flow.skip(7);
}

Stack stop_rules(const plan::Plan& plan) {
  Stack stack;
  stack.push_back({"When to stop", bold(13)});
  for (const std::string& rule : plan.stop_rules) {
    stack.push_back({rule, body(11), 3, 14, "–"});
  }
  if (plan.stop_rules.empty()) {
    stack.push_back({std::string(cautions().front().text), body(11), 3});
  }
  return stack;
}

// Modules of at least 1.25 pt (0.44 mm) for a phone at a hand's distance.
double code_side(const SquareCode& code) {
  return std::max(96.0, 1.25 * (code.size + 8));
}

Stack retest_lines(const plan::Plan& plan) {
  Stack stack;
  if (plan.retests.empty()) return stack;
  bool small_change = false;
  stack.push_back({"Test again", bold(13)});
  for (const plan::PlannedRetest& retest : plan.retests) {
    std::string text = date_words(retest.date) + ": " + retest.label;
    if (retest.trials > 1) {
      text += ", " + std::to_string(retest.trials) +
              (retest.test == "clip" ? " repetitions" : " tries");
    }
    if (!retest.detectable) text += " *";
    small_change = small_change || !retest.detectable;
    stack.push_back({text, body(11), 3, 14, "–"});
  }
  if (small_change) {
    stack.push_back(
        {"* The change to be expected by then is about as large as the error of the test. "
         "No change in the number does not mean that nothing has happened.",
         {8.6, Weight::Regular, kGranite, Align::Left, 0, 0, 0.3},
         3,
         14});
  }
  return stack;
}

// Stop rules and re-tests with the square code beside them: what belongs on the page that hangs on
// the wall. Says whether the code found its place.
bool draw_stop_and_retests(PageFlow& flow, const plan::Plan& plan,
                           const std::optional<SquareCode>& code) {
  constexpr double kBetween = 8;
  Canvas& canvas = flow.canvas();
  const Stack stop = stop_rules(plan);
  const Stack retests = retest_lines(plan);
  const double side = code ? code_side(*code) : 0;
  const Stack caption = {{"This plan as text: point a phone's camera here. Nothing is sent.",
                          {8, Weight::Regular, kGranite, Align::Center, 0, 0, 0}}};
  const double words = flow.width() - side - 12;
  const double stop_height = panel_height(canvas, stop, words);
  const double code_height = side + 2 + stack_height(canvas, caption, side);
  const double both =
      std::max(stop_height + kBetween + stack_height(canvas, retests, words), code_height);
  const double stop_alone = std::max(stop_height, code_height);
  // The re-tests stand beside the code unless that pushes the stop rules off this page.
  const bool beside = both <= flow.room() || stop_alone > flow.room();
  const double height = beside ? both : stop_alone;
  if (!code || words < 0.5 * flow.width() || height > flow.page_room()) {
    flow_panel(flow, stop, kInk, kLimewash);
    flow_stack(flow, retests);
    flow.skip(std::min(kBetween, flow.room()));
    return false;
  }
  const Box box = flow.take(height);
  draw_panel(canvas, {box.x, box.y, words, stop_height}, stop, kInk, kLimewash);
  draw_square_code(canvas, {box.right() - side, box.y, side, side}, *code);
  draw_stack(canvas, {box.right() - side, box.y + side + 2}, side, caption);
  if (beside) {
    draw_stack(canvas, {box.x, box.y + stop_height + kBetween}, words, retests);
  } else {
    flow.skip(std::min(kBetween, flow.room()));
    flow_stack(flow, retests);
  }
  flow.skip(std::min(kBetween, flow.room()));
  return true;
}

void draw_loads(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  const plan::LoadAdvice* loads = visit.loads;
  if (loads == nullptr || !loads->allowed || loads->weeks.empty()) return;
  if (!may_be_loaded(visit)) return;
  flow.heading("Load overhead, at most", handout::kHeading, 60);
  Table table;
  table.size = 10.5;
  table.columns = {{"Week", 0.6}, {"Stage", 2}, {"At most", 1}, {"Sets × repetitions", 1.5}};
  for (const plan::LoadWeek& week : loads->weeks) {
    table.rows.push_back(
        {{std::to_string(week.plan_week.value_or(week.week)),
          std::string(plan::load_stage_label(week.stage)) + (week.deload ? ", easy week" : ""),
          load_text(week, units),
          std::to_string(week.sets) + " × " + std::to_string(week.repetitions)}});
  }
  flow_table(flow, table);
  const std::string only = "Each step only when the week before was good in every session.";
  flow.paragraph(loads->note.empty() ? only : only + " " + loads->note, body(10));
  flow.skip(9);
}

void draw_notes(PageFlow& flow, const plan::Plan& plan) {
  if (plan.notes.empty()) return;
  flow.heading("Good to know", handout::kHeading, 26);
  for (const std::string& note : plan.notes) {
    flow.bullet(note, body(10));
    flow.skip(2);
  }
  flow.skip(7);
}

// All cautions in large type; the sill of every page holds the short forms.
void draw_all_cautions(PageFlow& flow) {
  Stack stack;
  stack.push_back({"Always", bold(13)});
  for (const Caution& caution : cautions()) {
    stack.push_back({std::string(caution.text), body(10.5), 2.5, 14, "–"});
  }
  flow_panel(flow, stack, kTimber, kLimewash);
}

void draw_code(PageFlow& flow, const std::optional<SquareCode>& code) {
  if (!code) return;
  const double side = code_side(*code);
  const Box box = flow.take(side + 2);
  draw_square_code(flow.canvas(), {box.x, box.y, side, side}, *code);
  const double x = box.x + side + 14;
  draw_stack(
      flow.canvas(), {x, box.y + 10}, box.right() - x,
      {{"The plan on your phone", bold(13)},
       {"Point the camera of a phone at the square: it shows this plan as plain text. The text "
        "is in the square itself. It holds no address and nothing is sent anywhere.",
        body(10.5), 4}});
}

void draw_handout(PageFlow& flow, const view::Visit& visit, const HandoutOptions& options) {
  const plan::Plan& plan = *visit.plan;
  const auto drills = shown_drills(visit);
  const auto code = encode_square_code(plan_text(visit, kSquareCodeBytes));
  bool code_drawn = false;
  draw_referral(flow, visit);
  if (triage_of(visit).clearance != plan::Clearance::NoDrills) {
    draw_goals(flow, plan);
    draw_setup_changes(flow, plan);
    if (drills.empty()) {
      flow.paragraph("This plan holds no exercises.", bold(12));
      flow.skip(8);
    } else {
      handout::draw_week(flow, plan, drills);
      handout::draw_week_log(flow, plan, drills);
      code_drawn = draw_stop_and_retests(flow, plan, code);
    }
    draw_all_cautions(flow);
    for (const ShownDrill& drill : drills) handout::draw_drill(flow, plan, drill, options.units);
    draw_loads(flow, visit, options.units);
    draw_notes(flow, plan);
  } else {
    draw_all_cautions(flow);
  }
  if (!code_drawn) draw_code(flow, code);
}

}  // namespace

Result<Pages> render_handout(const view::Visit& visit, const HandoutOptions& options) {
  if (visit.plan == nullptr) {
    return fail(ErrorCode::Invalid, "a handout needs a plan", "make a plan first");
  }
  const plan::Plan& plan = *visit.plan;
  const std::string who = !plan.athlete_name.empty() ? plan.athlete_name
                          : !plan.athlete_id.empty() ? plan.athlete_id
                                                     : std::string("Your plan");
  PageFrame frame;
  frame.paper = options.paper;
  frame.kind = "Training plan";
  frame.who = who;
  frame.date = visit.issued_on;
  frame.line = std::to_string(plan.weeks) + (plan.weeks == 1 ? " week" : " weeks") + ", " +
               date_words(plan.from) + " to " + date_words(plan.last_day());
  if (triage_of(visit).clearance == plan::Clearance::NoDrills) frame.line = "No exercises for now";
  frame.footnote = "Lintel " + visit.program_version + "." +
                   (visit.practitioner.empty() ? "" : " Given out by " + visit.practitioner + ".");
  frame.cautions = SillCautions::Brief;
  frame.caution_size = 8;
  const DocumentInfo info{"Training plan of " + who + ", " + long_date(visit.issued_on),
                          cautions_brief(), "Lintel " + visit.program_version, visit.issued_on};
  return render_pages(frame, info, [&](PageFlow& flow) { draw_handout(flow, visit, options); });
}

}  // namespace lintel::report
