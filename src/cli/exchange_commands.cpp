#include "cli/exchange_commands.h"

#include <iostream>

#include <CLI/CLI.hpp>

namespace lintel::cli {
namespace {

int report_error(const Error& error) {
  std::cerr << "lintel: " << describe(error) << "\n";
  return exit_status(error.code);
}

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
  return commands;
}

bool is_exchange_command(const ExchangeCommands& commands) {
  return static_cast<bool>(*commands.fhir);
}

int run_exchange_command(ExchangeCommands& commands) {
  ExchangeArguments& a = *commands.arguments;
  if (a.output.empty() && !a.json) {
    std::cerr << "lintel: give a file with --out, or print the bundle with --json\n";
    return 64;
  }
  complete_request(a);
  const auto outcome = app::export_fhir(a.request);
  if (!outcome) return report_error(outcome.error());
  std::cout << (a.json ? outcome->json : outcome->text);
  if (!std::cout.flush()) {
    return report_error(Error{ErrorCode::Io, "the result could not be printed", {}, {}, {}});
  }
  return 0;
}

}  // namespace lintel::cli
