#include "cli/command.h"

#include <iostream>

#include <CLI/CLI.hpp>

namespace lintel::cli {

int report_error(const Error& error) {
  std::cerr << "lintel: " << describe(error) << "\n";
  return exit_status(error.code);
}

int print(const std::string& bytes) {
  std::cout << bytes;
  if (std::cout.flush()) return 0;
  return report_error(Error{ErrorCode::Io, "the result could not be printed", {}, {}, {}});
}

void add_print_options(CLI::App& command, PrintOptions& options) {
  command.add_flag("--json", options.json, "print the result as JSON");
  command.add_flag("--quiet", options.quiet, "no progress");
}

void add_seen_options(CLI::App& command, SeenOptions& options) {
  CLI::Option* assessment = command.add_option(
      "--assessment", options.assessment, "assessment.json with the posture that was measured");
  CLI::Option* trunk =
      command
          .add_option("--trunk-deg", options.trunk_deg,
                      "trunk inclination at the bottom, mid-hip to mid-shoulder from vertical")
          ->check(CLI::Range(-30.0, 100.0));
  trunk->excludes(assessment);
  command.add_option("--trunk-error-deg", options.trunk_error_deg, "its standard error")
      ->check(CLI::Range(0.0, 30.0))
      ->needs(trunk)
      ->capture_default_str();
}

app::SeenSource seen_source(const CLI::App& command, const SeenOptions& options) {
  app::SeenSource source;
  if (!options.assessment.empty()) source.assessment = options.assessment;
  if (command.count("--trunk-deg") > 0) {
    source.trunk_inclination = Angle::degrees(options.trunk_deg);
    source.trunk_error = Angle::degrees(options.trunk_error_deg);
  }
  return source;
}

void add_draw_options(CLI::App& command, int& draws, std::uint64_t& seed, int& threads,
                      int fewest_draws) {
  command.add_option("--draws", draws, "draws of the error analysis")
      ->check(CLI::Range(fewest_draws, 1000000))
      ->capture_default_str();
  command.add_option("--seed", seed, "seed of the draws; same seed, same numbers")
      ->capture_default_str();
  command.add_option("--threads", threads, "threads (0 = one for each core)")
      ->check(CLI::Range(0, 256));
}

}  // namespace lintel::cli
