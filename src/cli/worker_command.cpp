#include "cli/worker_command.h"

#include <memory>
#include <string>

#include <CLI/CLI.hpp>

#include "app/worker.h"
#include "cli/command.h"

namespace lintel::cli {
namespace {

struct WorkerArguments {
  PrintOptions printing;
  app::WorkerRequest request;
};

void add_worker_options(CLI::App& command, WorkerArguments& arguments) {
  app::WorkerRequest& request = arguments.request;
  command.add_option("--data", request.practice.data, "data folder of the workplace");
  command.add_option("--database", request.practice.database,
                     "postgresql://user@host/name (default: what lintel.toml says)");
  command.add_option("--media", request.practice.media,
                     "folder of the clips, shared by all machines");
  command.add_option("--models", request.practice.models, "folder of the landmark networks");
  command.add_option("--workers", request.options.workers, "jobs at once")
      ->check(CLI::Range(1, 64))
      ->capture_default_str();
  command
      .add_option("--threads", request.options.threads_each,
                  "threads of one job (0 = the cores shared among the workers)")
      ->check(CLI::Range(0, 256));
  command
      .add_option("--lease", request.options.lease_s,
                  "a job is taken again when its worker was silent for so long [s]")
      ->check(CLI::Range(2.0, 3600.0))
      ->capture_default_str();
  command.add_flag("--until-empty", request.until_empty, "end when no job waits or runs");
  command.add_flag("--make-copies", request.make_copies,
                   "first ask for the light copies (screen.mp4) that clips measured long ago lack");
  add_print_options(command, arguments.printing);
}

int run_worker_command(const WorkerArguments& arguments) {
  const auto ended = run_with_progress(arguments.printing, [&](const WorkContext& work) {
    return app::run_worker(arguments.request, work);
  });
  if (!ended) return report_error(ended.error());
  const std::string count = std::to_string(*ended);
  return print(arguments.printing.json ? "{\"jobs_ended\":" + count + "}\n"
                                       : "Jobs ended here: " + count + "\n");
}

}  // namespace

Runner add_worker_command(CLI::App& program) {
  const auto arguments = std::make_shared<WorkerArguments>();
  const CLI::App* command = program.add_subcommand(
      "worker",
      "measure clips that wait in the queue of a workplace (as lintel serve does itself)");
  add_worker_options(*program.get_subcommand("worker"), *arguments);
  return [=]() -> std::optional<int> {
    if (!*command) return std::nullopt;
    return run_worker_command(*arguments);
  };
}

}  // namespace lintel::cli
