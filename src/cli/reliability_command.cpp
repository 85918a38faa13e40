#include "cli/reliability_command.h"

#include <CLI/CLI.hpp>

#include "app/reliability_report.h"
#include "cli/command.h"

namespace lintel::cli {

struct ReliabilityArguments {
  app::ReliabilityRequest request;
  std::string ratings, protocol, protocols;
  double published = 0.0;
  double published_df = 0.0;
  bool json = false;
};

ReliabilityCommand add_reliability_command(CLI::App& tests) {
  ReliabilityCommand out;
  out.arguments = std::make_shared<ReliabilityArguments>();
  ReliabilityArguments& a = *out.arguments;
  out.command = tests.add_subcommand(
      "reliability", "how good a test is in these hands: ICC, standard error, smallest change");
  out.command
      ->add_option("ratings", a.ratings,
                   "CSV: a header, one subject in each row, a column for each "
                   "rater, day or try")
      ->required();
  CLI::Option* protocol = out.command->add_option(
      "--protocol", a.protocol, "bring the published error of this protocol up to date");
  out.command->add_option("--protocols", a.protocols, "folder of own protocols")->needs(protocol);
  out.command->add_option("--published", a.published, "published standard error, if no protocol")
      ->check(CLI::PositiveNumber)
      ->excludes(protocol);
  out.command
      ->add_option("--published-df", a.published_df,
                   "degrees of freedom that the published error counts for (default: 10)")
      ->check(CLI::PositiveNumber);
  out.command
      ->add_option("--tries", a.request.tries_per_value,
                   "every number of the table is the mean of so many tries")
      ->check(CLI::Range(1, 10))
      ->capture_default_str();
  out.command->add_option("--unit", a.request.unit, "unit of the numbers, for the text");
  out.command->add_flag("--json", a.json, "print the result as JSON");
  return out;
}

int run_reliability_command(ReliabilityCommand& command) {
  ReliabilityArguments& a = *command.arguments;
  a.request.ratings = a.ratings;
  if (!a.protocol.empty()) a.request.protocol = a.protocol;
  if (!a.protocols.empty()) a.request.protocols = a.protocols;
  if (command.command->count("--published") > 0) a.request.published = a.published;
  if (command.command->count("--published-df") > 0) a.request.published_df = a.published_df;
  return print_outcome(app::report_reliability(a.request), a.json);
}

}  // namespace lintel::cli
