#include "cli/exchange_commands.h"

#include <iostream>

#include <CLI/CLI.hpp>

#include "cli/command.h"

namespace lintel::cli {
namespace {

void complete_request(ExchangeArguments& a) {
  const auto set = [](auto& target, const std::string& value) {
    if (!value.empty()) target = value;
  };
  a.request.athlete = a.athlete;
  set(a.request.tests, a.tests);
  set(a.request.protocols, a.protocols);
  set(a.request.assessment, a.assessment);
  set(a.request.plan, a.plan);
  set(a.request.output, a.output);
  a.request.existing = a.overwrite ? app::ExistingFile::Replace : app::ExistingFile::Keep;
  a.keypoints.motion = a.motion;
  set(a.keypoints.marker_sets, a.marker_sets);
  set(a.keypoints.output, a.output);
  a.keypoints.existing = a.request.existing;
}

void add_keypoints(CLI::App& program, ExchangeCommands& commands) {
  ExchangeArguments& a = *commands.arguments;
  CLI::App& keypoints = *program.add_subcommand(
      "keypoints", "markers of a motion-capture file (C3D) as key points of a side view");
  commands.keypoints = &keypoints;
  keypoints.add_option("motion", a.motion, "C3D file")->required();
  keypoints.add_option("--markers", a.keypoints.markers,
                       "marker set: skin-markers, joint-centres, landmark-names or one of your "
                       "own (default: the one that fits best)");
  keypoints.add_option("--marker-sets", a.marker_sets,
                       "file of your own marker sets (lintel-marker-sets-1)");
  CLI::Option* out = keypoints.add_option(
      "--out", a.output, "the file to write: .csv with all landmarks, .json in COCO order");
  keypoints.add_flag("--overwrite", a.overwrite, "replace that file if it exists")->needs(out);
  keypoints.add_flag("--json", a.json, "print the key points as JSON");
}

}  // namespace

ExchangeCommands add_exchange_commands(CLI::App& program) {
  ExchangeCommands commands;
  commands.arguments = std::make_unique<ExchangeArguments>();
  ExchangeArguments& a = *commands.arguments;
  CLI::App& fhir = *program.add_subcommand(
      "fhir", "one athlete's visit as an HL7 FHIR R4 bundle, for other systems");
  commands.fhir = &fhir;
  fhir.add_option("athlete", a.athlete, "athlete.json: body, warning signs")->required();
  fhir.add_option("--tests", a.tests, "record of the visit's mobility tests (lintel-tests-1)");
  fhir.add_option("--protocols", a.protocols, "folder of your own protocols");
  fhir.add_option("--assessment", a.assessment, "assessment.json of a clip of this athlete");
  fhir.add_option("--plan", a.plan, "plan.json of this athlete");
  fhir.add_option("--date", a.request.date,
                  "day of the visit, YYYY-MM-DD (default: that of tests, clip or plan)");
  CLI::Option* out = fhir.add_option("--out", a.output, "the file to write");
  fhir.add_flag("--overwrite", a.overwrite, "replace that file if it exists")->needs(out);
  fhir.add_flag("--json", a.json, "print the bundle");
  add_keypoints(program, commands);
  return commands;
}

bool is_exchange_command(const ExchangeCommands& commands) {
  return static_cast<bool>(*commands.fhir) || static_cast<bool>(*commands.keypoints);
}

int run_exchange_command(ExchangeCommands& commands) {
  ExchangeArguments& a = *commands.arguments;
  if (a.output.empty() && !a.json) {
    std::cerr << "lintel: give a file with --out, or print the result with --json\n";
    return 64;
  }
  complete_request(a);
  if (*commands.keypoints) return print_outcome(app::keypoints_of_motion(a.keypoints), a.json);
  return print_outcome(app::export_fhir(a.request), a.json);
}

}  // namespace lintel::cli
