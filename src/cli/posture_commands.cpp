#include "cli/posture_commands.h"

#include <iostream>

#include <CLI/CLI.hpp>

#include "cli/interrupt.h"
#include "cli/progress_bar.h"

namespace lintel::cli {
namespace {

int report_error(const Error& error) {
  std::cerr << "lintel: " << describe(error) << "\n";
  return exit_status(error.code);
}

void add_common(CLI::App& command, PostureArguments& a) {
  command.add_option("athlete", a.athlete, "athlete.json: body, setup, tests")->required();
  command.add_flag("--json", a.json, "print the result as JSON");
  command.add_flag("--quiet", a.quiet, "no progress");
}

void add_drawing_and_draws(CLI::App& command, PostureArguments& a) {
  command.add_option("--svg", a.drawing,
                     "draw now, most upright and after the best change (replaces the file)");
  command.add_option("--draws", a.request.draws, "draws of the error analysis")
      ->check(CLI::Range(1, 1000000))
      ->capture_default_str();
  command.add_option("--seed", a.request.seed, "seed of the draws; same seed, same numbers")
      ->capture_default_str();
  command.add_option("--threads", a.request.threads, "threads (0 = one for each core)")
      ->check(CLI::Range(0, 256));
}

void complete_request(const PostureCommands& commands, PostureArguments& a) {
  a.request.athlete = a.athlete;
  if (!a.assessment.empty()) a.request.assessment = a.assessment;
  if (!a.drawing.empty()) a.request.drawing = a.drawing;
  if (*commands.explain && commands.explain->count("--trunk-deg") > 0) {
    a.request.trunk_inclination = Angle::degrees(a.trunk_deg);
    a.request.trunk_error = Angle::degrees(a.trunk_error_deg);
  }
}

}  // namespace

PostureCommands add_posture_commands(CLI::App& program) {
  PostureCommands commands;
  commands.arguments = std::make_unique<PostureArguments>();
  PostureArguments& a = *commands.arguments;
  commands.explain = program.add_subcommand(
      "explain", "what makes this athlete lean: parts, how sure, what to try");
  add_common(*commands.explain, a);
  CLI::Option* assessment = commands.explain->add_option(
      "--assessment", a.assessment, "assessment.json with the posture that was measured");
  CLI::Option* trunk =
      commands.explain
          ->add_option("--trunk-deg", a.trunk_deg,
                       "trunk inclination at the bottom, mid-hip to mid-shoulder from vertical")
          ->check(CLI::Range(-30.0, 100.0));
  trunk->excludes(assessment);
  commands.explain->add_option("--trunk-error-deg", a.trunk_error_deg, "its standard error")
      ->check(CLI::Range(0.0, 30.0))
      ->needs(trunk)
      ->capture_default_str();
  add_drawing_and_draws(*commands.explain, a);
  commands.what_if = program.add_subcommand(
      "whatif", "what each change of setup and each gain in range would buy");
  add_common(*commands.what_if, a);
  add_drawing_and_draws(*commands.what_if, a);
  commands.grip = program.add_subcommand("grip", "where to hold the bar, and why");
  add_common(*commands.grip, a);
  return commands;
}

bool is_posture_command(const PostureCommands& commands) {
  return *commands.explain || *commands.what_if || *commands.grip;
}

int run_posture_command(PostureCommands& commands) {
  PostureArguments& a = *commands.arguments;
  complete_request(commands, a);
  ProgressPrinter printer(a.quiet  ? ProgressStyle::Silent
                          : a.json ? ProgressStyle::JsonEvents
                                   : progress_style_for(stderr),
                          stderr);
  const WorkContext work{interrupt_token(),
                         [&printer](const Progress& progress) { printer.report(progress); }};
  const Result<app::PostureOutcome> outcome =
      *commands.explain   ? app::explain_athlete(a.request, work)
      : *commands.what_if ? app::what_if_athlete(a.request, work)
                          : app::grip_for_athlete(a.request, work);
  printer.finish();
  if (!outcome) return report_error(outcome.error());
  std::cout << (a.json ? outcome->json : outcome->text);
  if (!std::cout.flush()) {
    return report_error(Error{ErrorCode::Io, "the result could not be printed", {}, {}, {}});
  }
  return 0;
}

}  // namespace lintel::cli
