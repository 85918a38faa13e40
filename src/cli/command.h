// What every command does alike: progress, printing, errors, options that several have.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "app/seen_squat.h"
#include "base/progress.h"
#include "base/result.h"
#include "cli/interrupt.h"
#include "cli/progress_bar.h"

namespace CLI {
class App;
}

namespace lintel::cli {

// To standard error; the exit status.
int report_error(const Error& error);
// To standard output; the exit status.
int print(const std::string& bytes);

struct PrintOptions {
  bool json = false;
  bool quiet = false;  // no progress
};
void add_print_options(CLI::App& command, PrintOptions& options);  // --json, --quiet

// Prints the text or the JSON of a result, or its error; the exit status.
template <typename Outcome>
int print_outcome(const Result<Outcome>& outcome, bool json) {
  if (!outcome) return report_error(outcome.error());
  return print(json ? outcome->json : outcome->text);
}

// work(context) with progress on standard error and Ctrl-C as the stop.
template <typename Work>
auto run_with_progress(const PrintOptions& options, const Work& work) {
  ProgressPrinter printer(options.quiet  ? ProgressStyle::Silent
                          : options.json ? ProgressStyle::JsonEvents
                                         : progress_style_for(stderr),
                          stderr);
  const WorkContext context{interrupt_token(),
                            [&printer](const Progress& progress) { printer.report(progress); }};
  auto outcome = work(context);
  printer.finish();
  return outcome;
}

// --assessment, or --trunk-deg with --trunk-error-deg.
struct SeenOptions {
  std::string assessment;
  double trunk_deg = 0;
  double trunk_error_deg = 3;
};
void add_seen_options(CLI::App& command, SeenOptions& options);
app::SeenSource seen_source(const CLI::App& command, const SeenOptions& options);

// --draws, --seed, --threads of an error analysis.
void add_draw_options(CLI::App& command, int& draws, std::uint64_t& seed, int& threads,
                      int fewest_draws);

}  // namespace lintel::cli
