// `lintel findings`: arguments and printing.
#pragma once

#include <memory>
#include <string>

#include "app/findings_use_case.h"
#include "cli/command.h"

namespace CLI {
class App;
}

namespace lintel::cli {

struct FindingsArguments {
  app::FindingsRequest request;
  SeenOptions seen;
  PrintOptions printing;
  std::string athlete, overrulings;
};

// Must outlive the parsing.
struct FindingsCommand {
  CLI::App* findings = nullptr;
  std::unique_ptr<FindingsArguments> arguments;
};
FindingsCommand add_findings_command(CLI::App& program);
bool is_findings_command(const FindingsCommand& command);
int run_findings_command(FindingsCommand& command);  // exit status

}  // namespace lintel::cli
