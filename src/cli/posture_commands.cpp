#include "cli/posture_commands.h"

#include <CLI/CLI.hpp>

namespace lintel::cli {
namespace {

void add_common(CLI::App& command, PostureArguments& a) {
  command.add_option("athlete", a.athlete, "athlete.json: body, setup, tests")->required();
  add_print_options(command, a.printing);
}

void add_drawing_and_draws(CLI::App& command, PostureArguments& a) {
  command.add_option("--svg", a.drawing,
                     "draw now, most upright and after the best change (replaces the file)");
  add_draw_options(command, a.request.draws, a.request.seed, a.request.threads, 1);
}

}  // namespace

PostureCommands add_posture_commands(CLI::App& program) {
  PostureCommands commands;
  commands.arguments = std::make_unique<PostureArguments>();
  PostureArguments& a = *commands.arguments;
  commands.explain = program.add_subcommand(
      "explain", "what makes this athlete lean: parts, how sure, what to try");
  add_common(*commands.explain, a);
  add_seen_options(*commands.explain, a.seen);
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
  a.request.athlete = a.athlete;
  if (!a.drawing.empty()) a.request.drawing = a.drawing;
  if (*commands.explain) a.request.seen = seen_source(*commands.explain, a.seen);
  const auto outcome = run_with_progress(a.printing, [&](const WorkContext& work) {
    return *commands.explain   ? app::explain_athlete(a.request, work)
           : *commands.what_if ? app::what_if_athlete(a.request, work)
                               : app::grip_for_athlete(a.request, work);
  });
  return print_outcome(outcome, a.printing.json);
}

}  // namespace lintel::cli
