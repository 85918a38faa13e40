#include "cli/plan_commands.h"

#include <iostream>

#include <CLI/CLI.hpp>

#include "app/drill_library.h"
#include "cli/today.h"

namespace lintel::cli {
namespace {

void add_inputs(CLI::App& plan, PlanArguments& a) {
  plan.add_option("athlete", a.athlete, "athlete.json: body, setup, tests, warning signs");
  add_seen_options(plan, a.seen);
  plan.add_option("--tests", a.tests, "record of the visit's mobility tests (lintel-tests-1)");
  plan.add_option("--protocols", a.protocols, "folder of your own protocols");
  plan.add_option("--overrulings", a.overrulings, "what you decided about findings, with reasons");
  plan.add_option("--history", a.history, "log of sessions and re-tests (lintel-history-1)");
}

void add_frame(CLI::App& plan, PlanArguments& a) {
  plan.add_option("--minutes", a.request.minutes, "minutes of one session")
      ->check(CLI::Range(5.0, 120.0))
      ->capture_default_str();
  plan.add_option("--sessions", a.request.sessions, "sessions a week")
      ->check(CLI::Range(1, 7))
      ->capture_default_str();
  CLI::Option* weeks = plan.add_option("--weeks", a.weeks, "length of the plan")
                           ->check(CLI::Range(1, 52))
                           ->capture_default_str();
  plan.add_option("--goal-date", a.goal_date, "plan up to this day, YYYY-MM-DD")->excludes(weeks);
  plan.add_option("--goal-deg", a.goal_deg, "trunk inclination wanted at the bottom")
      ->check(CLI::Range(0.0, 90.0));
  plan.add_option(
          "--equipment", a.request.equipment,
          "what is at hand, with commas: pipe, bar, discs, box, ball, chair, bench, roller, "
          "band, pull_up_bar, wedge, scale, kettlebell, rack")
      ->delimiter(',');
  plan.add_option("--from", a.request.from, "first day, YYYY-MM-DD (default: today)");
}

void add_outputs(CLI::App& plan, PlanArguments& a) {
  plan.add_option("--out", a.output,
                  "folder for plan, handout, record, letter and calendars (made new)");
  plan.add_flag("--overwrite", a.overwrite, "replace that folder if it holds a plan");
  plan.add_option("--practitioner", a.request.practitioner, "name for the pages");
  plan.add_option("--letter-to", a.request.letter.recipient,
                  "whom the letter is for, lines parted by a semicolon")
      ->delimiter(';');
  plan.add_option("--letter-reason", a.request.letter.reason, "why the athlete came, a sentence");
  plan.add_option("--letter-request", a.request.letter.request, "what is asked of the reader");
  plan.add_option("--paper", a.paper, "a4 or letter")
      ->check(CLI::IsMember({"a4", "letter"}))
      ->capture_default_str();
  plan.add_option("--units", a.units, "metric or imperial, on the pages")
      ->check(CLI::IsMember({"metric", "imperial"}))
      ->capture_default_str();
  add_draw_options(plan, a.request.draws, a.request.seed, a.request.threads, 100);
  add_print_options(plan, a.printing);
}

void complete_request(const CLI::App& plan, PlanArguments& a) {
  app::PlanRequest& request = a.request;
  const auto set = [](auto& target, const std::string& value) {
    if (!value.empty()) target = value;
  };
  request.athlete = a.athlete;
  request.seen = seen_source(plan, a.seen);
  set(request.tests, a.tests);
  set(request.protocols, a.protocols);
  set(request.overrulings, a.overrulings);
  set(request.history, a.history);
  set(request.output, a.output);
  set(request.goal_date, a.goal_date);
  if (plan.count("--weeks") > 0) request.weeks = a.weeks;
  if (plan.count("--goal-deg") > 0) request.goal = Angle::degrees(a.goal_deg);
  if (request.from.empty()) request.from = today();
  request.made_at = now_utc();
  request.overwrite = a.overwrite ? app::Overwrite::Yes : app::Overwrite::No;
  request.paper = a.paper == "letter" ? app::PaperSize::Letter : app::PaperSize::A4;
  request.imperial = a.units == "imperial";
}

int run_drill(PlanCommands& commands) {
  const PlanArguments& a = *commands.arguments;
  std::optional<std::filesystem::path> drawing;
  if (!a.drawing.empty()) drawing = a.drawing;
  return print_outcome(app::show_drill(a.drill, drawing), a.printing.json);
}

}  // namespace

PlanCommands add_plan_commands(CLI::App& program) {
  PlanCommands commands;
  commands.arguments = std::make_unique<PlanArguments>();
  PlanArguments& a = *commands.arguments;
  commands.plan = program.add_subcommand(
      "plan", "what to do on Monday: drills, sessions, goals, re-tests; handout and record");
  commands.plan->require_subcommand(0, 1);
  add_inputs(*commands.plan, a);
  add_frame(*commands.plan, a);
  add_outputs(*commands.plan, a);
  commands.drills = commands.plan->add_subcommand("drills", "list the drill library");
  commands.drills->add_flag("--json", a.printing.json, "print the result as JSON");
  commands.drill = commands.plan->add_subcommand("drill", "one drill as a card");
  commands.drill->add_option("id", a.drill, "id of the drill")->required();
  commands.drill->add_option("--svg", a.drawing, "write its drawing (replaces the file)");
  commands.drill->add_flag("--json", a.printing.json, "print the result as JSON");
  return commands;
}

bool is_plan_command(const PlanCommands& commands) {
  return static_cast<bool>(*commands.plan);
}

int run_plan_command(PlanCommands& commands) {
  PlanArguments& a = *commands.arguments;
  if (*commands.drill) return run_drill(commands);
  if (*commands.drills) {
    const app::DrillText list = app::list_drills();
    return print(a.printing.json ? list.json : list.text);
  }
  if (a.athlete.empty()) {
    std::cerr << "lintel: give the athlete file: lintel plan ATHLETE\n";
    return 64;
  }
  complete_request(*commands.plan, a);
  const auto outcome = run_with_progress(
      a.printing, [&a](const WorkContext& work) { return app::plan_for_athlete(a.request, work); });
  return print_outcome(outcome, a.printing.json);
}

}  // namespace lintel::cli
