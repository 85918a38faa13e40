#include "cli/clip_commands.h"

#include <memory>

#include <CLI/CLI.hpp>

#include "app/assess.h"
#include "cli/command.h"
#include "cli/today.h"

namespace lintel::cli {
namespace {

struct ClipArguments {
  PrintOptions printing;
  app::AssessRequest request;
  std::string variant = "full";
  std::string paper = "a4";
  std::string units = "metric";
  std::string models;
  int person = 0;
  double disc_mm = 0;
  double roll_deg = 0;
  double focal_px = 0;
  std::string output;
  std::string athlete;
  bool no_disc = false;
  bool no_video = false;
  bool overwrite = false;
};

void add_clip_options(CLI::App& command, ClipArguments& arguments) {
  auto& request = arguments.request;
  command.add_option("clip", request.observe.clip, "video clip or photo (side or front view)")
      ->required();
  command.add_option("--athlete", arguments.athlete, "athlete.json: body, setup, tests");
  command.add_option("--out", arguments.output, "folder for the results (made new)");
  command.add_flag("--overwrite", arguments.overwrite, "replace the results folder if it exists");
  command.add_option("--network", arguments.variant, "landmark network: lite, full, heavy")
      ->check(CLI::IsMember({"lite", "full", "heavy"}))
      ->capture_default_str();
  command.add_option("--models", arguments.models, "folder of the landmark networks");
  command
      .add_option("--person", arguments.person,
                  "which person to measure, counted from the left at the start")
      ->check(CLI::Range(1, 50));
  command.add_option("--disc-mm", arguments.disc_mm, "diameter of the largest disc on the bar")
      ->check(CLI::Range(150.0, 500.0));
  command.add_flag("--no-disc", arguments.no_disc, "empty bar or pipe: do not look for a disc");
  command
      .add_option("--vertical-deg", arguments.roll_deg,
                  "how far the true vertical is turned clockwise in the picture")
      ->check(CLI::Range(-45.0, 45.0));
  command
      .add_option("--focal-px", arguments.focal_px, "focal length in pixels of the clip, if known")
      ->check(CLI::Range(100.0, 100000.0));
  command.add_option("--from", request.observe.first_time, "start at this time [s]")
      ->check(CLI::NonNegativeNumber);
  command.add_option("--to", request.observe.last_time, "stop at this time [s]")
      ->check(CLI::PositiveNumber);
  command.add_option("--threads", request.observe.threads, "threads (0 = one for each core)")
      ->check(CLI::Range(0, 256));
  command.add_flag("--no-video", arguments.no_video, "leave the overlay video out");
  command.add_option("--paper", arguments.paper, "a4 or letter")
      ->check(CLI::IsMember({"a4", "letter"}))
      ->capture_default_str();
  command.add_option("--units", arguments.units, "metric or imperial, on the page for the athlete")
      ->check(CLI::IsMember({"metric", "imperial"}))
      ->capture_default_str();
  command.add_option("--date", request.date, "date of the assessment, YYYY-MM-DD (default: today)");
  add_print_options(command, arguments.printing);
}

void complete_request(const CLI::App& command, ClipArguments& arguments) {
  app::AssessRequest& request = arguments.request;
  request.observe.variant = arguments.variant == "lite"    ? app::NetworkVariant::Lite
                            : arguments.variant == "heavy" ? app::NetworkVariant::Heavy
                                                           : app::NetworkVariant::Full;
  if (!arguments.models.empty()) request.observe.models = arguments.models;
  if (arguments.person > 0) request.observe.person = arguments.person;
  if (arguments.disc_mm > 0) request.disc_diameter = Length::millimetres(arguments.disc_mm);
  request.observe.look_for_disc = !arguments.no_disc;
  if (command.count("--vertical-deg") > 0) {
    request.vertical_roll = Angle::degrees(arguments.roll_deg);
  }
  if (arguments.focal_px > 0) request.focal_px = arguments.focal_px;
  if (!arguments.athlete.empty()) request.athlete = arguments.athlete;
  if (!arguments.output.empty()) request.output = arguments.output;
  request.overwrite = arguments.overwrite ? app::Overwrite::Yes : app::Overwrite::No;
  request.overlay_video = !arguments.no_video;
  request.paper = arguments.paper == "letter" ? app::PaperSize::Letter : app::PaperSize::A4;
  request.imperial = arguments.units == "imperial";
  if (request.date.empty()) request.date = today();
}

int run_clip_command(const CLI::App& command, ClipArguments& arguments) {
  complete_request(command, arguments);
  const auto outcome = run_with_progress(arguments.printing, [&](const WorkContext& work) {
    return app::assess_clip(arguments.request, work);
  });
  if (!outcome) return report_error(outcome.error());
  return print(arguments.printing.json ? outcome->assessment_json : outcome->summary);
}

}  // namespace

Runner add_clip_commands(CLI::App& program) {
  const auto assess = std::make_shared<ClipArguments>();
  const CLI::App* assess_command = program.add_subcommand(
      "assess", "measure a clip, explain the lean, write report, curves and overlay video");
  add_clip_options(*program.get_subcommand("assess"), *assess);

  const auto measure = std::make_shared<ClipArguments>();
  const CLI::App* measure_command =
      program.add_subcommand("measure", "measure a clip, without the explanation");
  add_clip_options(*program.get_subcommand("measure"), *measure);
  measure->request.explain = false;
  return [=]() -> std::optional<int> {
    if (*assess_command) return run_clip_command(*assess_command, *assess);
    if (*measure_command) return run_clip_command(*measure_command, *measure);
    return std::nullopt;
  };
}

}  // namespace lintel::cli
