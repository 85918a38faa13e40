// `lintel fhir` and `lintel keypoints`: arguments and printing.
#pragma once

#include <memory>
#include <string>

#include "app/exchange_use_case.h"
#include "app/motion_capture.h"

namespace CLI {
class App;
}

namespace lintel::cli {

struct ExchangeArguments {
  app::FhirRequest request;
  std::string athlete, tests, protocols, assessment, plan, output;
  app::KeypointsRequest keypoints;
  std::string motion, marker_sets;
  bool overwrite = false;
  bool json = false;
};

// Must outlive the parsing.
struct ExchangeCommands {
  CLI::App* fhir = nullptr;
  CLI::App* keypoints = nullptr;
  std::unique_ptr<ExchangeArguments> arguments;
};
ExchangeCommands add_exchange_commands(CLI::App& program);
bool is_exchange_command(const ExchangeCommands& commands);
int run_exchange_command(ExchangeCommands& commands);  // exit status

}  // namespace lintel::cli
