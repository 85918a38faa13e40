#include "cli/progress_commands.h"

#include <CLI/CLI.hpp>

#include "app/progress_use_case.h"
#include "cli/command.h"
#include "cli/today.h"

namespace lintel::cli {

struct ProgressArguments {
  app::ProgressRequest request;
  std::string plan_or_athlete, history, athlete, protocols, record;
  std::string paper = "a4";
  std::string units = "metric";
  bool overwrite = false;
  bool json = false;
};

ProgressCommand add_progress_command(CLI::App& program) {
  ProgressCommand out;
  out.arguments = std::make_shared<ProgressArguments>();
  ProgressArguments& a = *out.arguments;
  out.command = program.add_subcommand(
      "progress", "how an athlete gets on: tests, forecast, what to do with every drill");
  out.command->add_option("plan", a.plan_or_athlete, "plan.json of lintel plan, or an athlete.json")
      ->required();
  out.command->add_option("history", a.history, "history.json: sessions and tests")->required();
  out.command->add_option("--athlete", a.athlete,
                          "athlete.json beside a plan, for targets that go by the body's size");
  out.command->add_option("--protocols", a.protocols, "folder of own protocols");
  out.command->add_option("--date", a.request.date, "the day, YYYY-MM-DD (default: today)");
  out.command
      ->add_option("--bar-kg", a.request.bar_mass, "mass of the lightest full-size bar at hand")
      ->check(CLI::Range(5.0, 25.0))
      ->capture_default_str();
  out.command
      ->add_option("--weeks", a.request.weeks,
                   "weeks of loads to look ahead (default: the plan's that are left)")
      ->check(CLI::Range(1, 12));
  CLI::Option* record = out.command->add_option(
      "--record", a.record, "write the record for the file (PDF); needs the athlete");
  out.command->add_flag("--overwrite", a.overwrite, "replace that file if it exists")
      ->needs(record);
  out.command->add_option("--practitioner", a.request.practitioner, "name for the record");
  out.command->add_option("--paper", a.paper, "a4 or letter")
      ->check(CLI::IsMember({"a4", "letter"}))
      ->capture_default_str();
  out.command->add_option("--units", a.units, "metric or imperial, in the record")
      ->check(CLI::IsMember({"metric", "imperial"}))
      ->capture_default_str();
  out.command->add_flag("--json", a.json, "print the result as JSON");
  return out;
}

int run_progress_command(ProgressCommand& command) {
  ProgressArguments& a = *command.arguments;
  a.request.plan_or_athlete = a.plan_or_athlete;
  a.request.history = a.history;
  if (!a.athlete.empty()) a.request.athlete = a.athlete;
  if (!a.protocols.empty()) a.request.protocols = a.protocols;
  if (a.request.date.empty()) a.request.date = today();
  if (!a.record.empty()) a.request.record = a.record;
  a.request.existing = a.overwrite ? app::ExistingFile::Replace : app::ExistingFile::Keep;
  a.request.paper = a.paper == "letter" ? app::PaperSize::Letter : app::PaperSize::A4;
  a.request.imperial = a.units == "imperial";
  return print_outcome(app::report_progress(a.request), a.json);
}

}  // namespace lintel::cli
