#include "cli/findings_commands.h"

#include <CLI/CLI.hpp>

namespace lintel::cli {

FindingsCommand add_findings_command(CLI::App& program) {
  FindingsCommand command;
  command.arguments = std::make_unique<FindingsArguments>();
  FindingsArguments& a = *command.arguments;
  CLI::App& findings = *program.add_subcommand(
      "findings", "what tests and video together say, what to film and to test next");
  command.findings = &findings;
  findings.add_option("athlete", a.athlete, "athlete.json: body, setup, tests")->required();
  add_seen_options(findings, a.seen);
  findings.add_option("--overrulings", a.overrulings,
                      "what you decided about findings, with reasons (lintel-overrulings-1)");
  add_draw_options(findings, a.request.draws, a.request.seed, a.request.threads, 100);
  add_print_options(findings, a.printing);
  return command;
}

bool is_findings_command(const FindingsCommand& command) {
  return static_cast<bool>(*command.findings);
}

int run_findings_command(FindingsCommand& command) {
  FindingsArguments& a = *command.arguments;
  a.request.athlete = a.athlete;
  a.request.seen = seen_source(*command.findings, a.seen);
  if (!a.overrulings.empty()) a.request.overrulings = a.overrulings;
  const auto outcome = run_with_progress(a.printing, [&a](const WorkContext& work) {
    return app::findings_of_athlete(a.request, work);
  });
  return print_outcome(outcome, a.printing.json);
}

}  // namespace lintel::cli
