#include "cli/safekeeping_commands.h"

#include <filesystem>
#include <iostream>
#include <memory>
#include <string>
#include <system_error>
#include <utility>

#include <CLI/CLI.hpp>

#include "app/accounts.h"
#include "app/athlete_choice.h"
#include "app/backup.h"
#include "app/erase.h"
#include "app/export_athlete.h"
#include "app/practice.h"
#include "app/safekeeping_text.h"
#include "cli/command.h"
#include "cli/passphrase_prompt.h"

namespace lintel::cli {
namespace {

namespace fs = std::filesystem;

struct Arguments {
  PrintOptions printing;
  app::PracticeOptions practice;
  std::string organization;
  std::string passphrase_file;
  std::string file, folder, athlete, reason, out;
  bool replace = false, yes = false, collect = false;
};

// The person at the machine as the audit trail knows them.
app::Caller at_the_machine() {
  app::Caller caller;
  caller.peer = caller.session = "cli";
  return caller;
}

void add_place_options(CLI::App& command, Arguments& arguments) {
  command.add_option("--data", arguments.practice.data, "data folder of the workplace");
  command.add_option("--database", arguments.practice.database,
                     "postgresql://user@host/name (default: what lintel.toml says)");
  command.add_option("--media", arguments.practice.media, "folder of the clips");
  add_print_options(command, arguments.printing);
}

void add_passphrase_option(CLI::App& command, Arguments& arguments) {
  command.add_option("--passphrase-file", arguments.passphrase_file,
                     "its first line is the passphrase; else LINTEL_PASSPHRASE, else it is asked");
}

void add_organization_option(CLI::App& command, Arguments& arguments) {
  command.add_option("--organization", arguments.organization,
                     "id, when there are several in this workplace");
}

int finish(const Result<app::Printed>& outcome, const Arguments& arguments) {
  return print_outcome(outcome, arguments.printing.json);
}

// ---- Backups

Result<app::Printed> make_backup(const Arguments& arguments) {
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  fs::path target = arguments.out.empty() ? app::backup_folder(*practice) : fs::path(arguments.out);
  std::error_code code;
  if (arguments.out.empty()) fs::create_directories(target, code);
  if (fs::is_directory(target, code)) target /= app::backup_name(practice->now());
  const secure::Passphrase passphrase =
      LINTEL_TRY(get_passphrase(arguments.passphrase_file, PassphraseUse::New));
  const view::BackupSummary summary =
      LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
        return app::make_backup(*practice, target, passphrase, work);
      }));
  LINTEL_TRY_VOID(app::note_backup(*practice, at_the_machine(), "backup_made"));
  return app::printed(summary, app::BackupAct::Made);
}

Result<app::Printed> check_backup(const Arguments& arguments) {
  const secure::Passphrase passphrase =
      LINTEL_TRY(get_passphrase(arguments.passphrase_file, PassphraseUse::Known));
  const view::BackupSummary summary =
      LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
        return app::check_backup(arguments.file, passphrase, work);
      }));
  return app::printed(summary, app::BackupAct::Checked);
}

Result<app::Printed> restore_backup(const Arguments& arguments) {
  const secure::Passphrase passphrase =
      LINTEL_TRY(get_passphrase(arguments.passphrase_file, PassphraseUse::Known));
  // Before a workplace is opened, and perhaps made: is there anything to restore?
  LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
    return app::check_backup(arguments.file, passphrase, work);
  }));
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  const auto into = arguments.replace ? app::RestoreInto::Replace : app::RestoreInto::Empty;
  const view::RestoreSummary summary =
      LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
        return app::restore_backup(*practice, arguments.file, passphrase, into, work);
      }));
  LINTEL_TRY_VOID(app::note_backup(*practice, at_the_machine(), "backup_restored"));
  return app::printed(summary);
}

Result<app::Printed> list_backups(const Arguments& arguments) {
  if (!arguments.folder.empty()) {
    return app::printed(LINTEL_TRY(app::list_backups(arguments.folder)));
  }
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  return app::printed(LINTEL_TRY(app::list_backups(app::backup_folder(*practice))));
}

// ---- Records

Result<app::Printed> export_records(const Arguments& arguments) {
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  const app::Caller caller =
      LINTEL_TRY(app::caller_at_the_machine(*practice, arguments.organization));
  const app::ChosenAthlete athlete =
      LINTEL_TRY(app::choose_athlete(*practice, caller, arguments.athlete));
  const fs::path target =
      arguments.out.empty()
          ? fs::path(app::file_name_of(athlete.name) + "-" + practice->today() + ".zip")
          : fs::path(arguments.out);
  return app::printed(
      LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
        return app::export_athlete(*practice, caller, athlete.id, target, work);
      })));
}

Result<app::Printed> import_records(const Arguments& arguments) {
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  const app::Caller caller =
      LINTEL_TRY(app::caller_at_the_machine(*practice, arguments.organization));
  return app::printed(
      LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
        return app::import_athlete(*practice, caller, arguments.file, work);
      })));
}

Result<app::Printed> erase_records(const Arguments& arguments) {
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  const app::Caller caller =
      LINTEL_TRY(app::caller_at_the_machine(*practice, arguments.organization));
  const app::ChosenAthlete athlete =
      LINTEL_TRY(app::choose_athlete(*practice, caller, arguments.athlete));
  if (!arguments.yes) {
    std::cerr << "All records, clips and pages of " << athlete.name << " (" << athlete.id
              << ") will be erased. Write the name to go on: " << std::flush;
    std::string answer;
    std::getline(std::cin, answer);
    if (answer != athlete.name) {
      return fail(ErrorCode::Cancelled, "that is not the name; nothing was erased");
    }
  }
  return app::printed(
      LINTEL_TRY(app::erase_athlete(*practice, caller, athlete.id, arguments.reason)));
}

Result<app::Printed> check_records(const Arguments& arguments) {
  const auto practice = LINTEL_TRY(app::open_practice(arguments.practice));
  const app::CheckSummary check =
      LINTEL_TRY(run_with_progress(arguments.printing, [&](const WorkContext& work) {
        return app::check_everything(*practice, work);
      }));
  app::Collected removed;
  if (arguments.collect) removed = LINTEL_TRY(app::collect_media_garbage(*practice));
  return app::printed(check, removed);
}

// ---- The commands

struct Command {
  CLI::App* app = nullptr;
  std::shared_ptr<Arguments> arguments = std::make_shared<Arguments>();
  Result<app::Printed> (*run)(const Arguments&) = nullptr;
};

Command add_command(CLI::App& group, const char* name, const char* what,
                    Result<app::Printed> (*run)(const Arguments&)) {
  Command command;
  command.app = group.add_subcommand(name, what);
  command.run = run;
  return command;
}

void add_backup_commands(CLI::App& program, std::vector<Command>& commands) {
  CLI::App* group = program.add_subcommand("backup", "encrypted copies of a whole workplace");
  group->require_subcommand(1);
  Command make =
      add_command(*group, "make", "copy everything into one encrypted file", make_backup);
  make.app->add_option("--out", make.arguments->out,
                       "file or folder (default: the backup folder of the workplace)");
  Command check = add_command(*group, "check", "read all of a backup, touch nothing", check_backup);
  check.app->add_option("file", check.arguments->file, "the backup")->required();
  Command restore =
      add_command(*group, "restore", "fill an empty workplace from a backup", restore_backup);
  restore.app->add_option("file", restore.arguments->file, "the backup")->required();
  restore.app->add_flag("--replace", restore.arguments->replace,
                        "the workplace is not empty: make a backup of it first, then replace it");
  Command list = add_command(*group, "list", "backups in a folder", list_backups);
  list.app->add_option("--folder", list.arguments->folder,
                       "folder (default: the backup folder of the workplace)");
  for (Command* command : {&make, &restore, &list}) {
    add_place_options(*command->app, *command->arguments);
  }
  add_print_options(*check.app, check.arguments->printing);
  for (Command* command : {&make, &check, &restore}) {
    add_passphrase_option(*command->app, *command->arguments);
  }
  commands.insert(commands.end(), {make, check, restore, list});
}

void add_record_commands(CLI::App& program, std::vector<Command>& commands) {
  CLI::App* group = program.add_subcommand("records", "one athlete out, in, erased; all checked");
  group->require_subcommand(1);
  Command out = add_command(*group, "export", "everything of one athlete as a zip", export_records);
  out.app->add_option("athlete", out.arguments->athlete, "id or name")->required();
  out.app->add_option("--out", out.arguments->out, "file (default: name and day, here)");
  Command in = add_command(*group, "import", "take such a zip in", import_records);
  in.app->add_option("file", in.arguments->file, "the zip")->required();
  Command erase =
      add_command(*group, "erase", "take out every trace of one athlete", erase_records);
  erase.app->add_option("athlete", erase.arguments->athlete, "id or name")->required();
  erase.app
      ->add_option("--reason", erase.arguments->reason,
                   "why, for the audit trail, without the name")
      ->required();
  erase.app->add_flag("--yes", erase.arguments->yes, "do not ask");
  Command check = add_command(*group, "check",
                              "database, documents and media against their digests", check_records);
  check.app->add_flag("--collect", check.arguments->collect,
                      "remove media that nothing has referred to for a day");
  for (Command* command : {&out, &in, &erase, &check}) {
    add_place_options(*command->app, *command->arguments);
  }
  for (Command* command : {&out, &in, &erase}) {
    add_organization_option(*command->app, *command->arguments);
  }
  commands.insert(commands.end(), {out, in, erase, check});
}

}  // namespace

Runner add_safekeeping_commands(CLI::App& program) {
  std::vector<Command> commands;
  add_backup_commands(program, commands);
  add_record_commands(program, commands);
  return [commands = std::move(commands)]() -> std::optional<int> {
    for (const Command& command : commands) {
      if (*command.app) return finish(command.run(*command.arguments), *command.arguments);
    }
    return std::nullopt;
  };
}

}  // namespace lintel::cli
