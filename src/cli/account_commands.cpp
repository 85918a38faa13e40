#include "cli/account_commands.h"

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "app/account_documents.h"
#include "app/account_text.h"
#include "app/accounts.h"
#include "app/audit.h"
#include "app/practice.h"
#include "cli/command.h"
#include "cli/passphrase_prompt.h"

namespace lintel::cli {
namespace {

struct Arguments {
  PrintOptions printing;
  app::PracticeOptions practice;
  std::string organization;
  app::AuditQuery query;
  app::ExpectedHead expected;
  std::string passphrase_file, name, role = "practitioner", login, athlete;
  bool invite = false;
};

// Of an existing workplace: a mistyped folder must not become a new one.
Result<std::unique_ptr<app::Practice>> open_existing(const Arguments& arguments) {
  const std::filesystem::path folder =
      arguments.practice.data.empty() ? app::usual_data_folder() : arguments.practice.data;
  std::error_code code;
  if (!std::filesystem::is_directory(folder, code)) {
    return fail(Error{
        ErrorCode::NotFound,
        "there is no workplace in this folder",
        {},
        "name its folder with --data",
        {}}.with_file(folder.string()));
  }
  return app::open_practice(arguments.practice);
}

struct Opened {
  std::unique_ptr<app::Practice> practice;
  app::Caller caller;
};
Result<Opened> open(const Arguments& arguments) {
  Opened opened;
  opened.practice = LINTEL_TRY(open_existing(arguments));
  opened.caller = LINTEL_TRY(app::caller_at_the_machine(*opened.practice, arguments.organization));
  return opened;
}

// ---- The audit trail

Result<int> verify_audit(const Arguments& arguments) {
  const Opened opened = LINTEL_TRY(open(arguments));
  const view::ChainVerdict verdict =
      LINTEL_TRY(app::verify_audit(*opened.practice, opened.caller, arguments.expected));
  print(arguments.printing.json ? app::chain_verdict_document(verdict)
                                : app::chain_verdict_text(verdict));
  return verdict.whole ? 0 : exit_status(ErrorCode::Invalid);
}

Result<int> list_audit(const Arguments& arguments) {
  const Opened opened = LINTEL_TRY(open(arguments));
  const view::AuditPage page =
      LINTEL_TRY(app::list_audit(*opened.practice, opened.caller, arguments.query));
  return print(arguments.printing.json ? app::audit_page_document(page) : app::audit_text(page));
}

// ---- People

Result<int> print_person(const Arguments& arguments, const app::PersonWithInvitation& person) {
  return print(arguments.printing.json ? app::person_document(person) : app::person_text(person));
}

Result<int> list_people(const Arguments& arguments) {
  const Opened opened = LINTEL_TRY(open(arguments));
  if (arguments.printing.json) {
    return print(LINTEL_TRY(app::people_document(*opened.practice, opened.caller)));
  }
  return print(app::people_text(LINTEL_TRY(app::list_people(*opened.practice, opened.caller))));
}

Result<int> add_person(const Arguments& arguments) {
  const Opened opened = LINTEL_TRY(open(arguments));
  app::NewPerson person;
  person.name = arguments.name;
  person.login = arguments.login;
  person.role = *app::role_from(arguments.role);  // CLI::IsMember let nothing else through
  person.athlete = arguments.athlete;
  if (!arguments.invite) {
    const auto passphrase =
        LINTEL_TRY(get_passphrase(arguments.passphrase_file, PassphraseUse::New));
    person.passphrase = std::string(passphrase.text());
  }
  return print_person(arguments,
                      LINTEL_TRY(app::add_person(*opened.practice, opened.caller, person)));
}

Result<int> reset_person(const Arguments& arguments) {
  const Opened opened = LINTEL_TRY(open(arguments));
  const view::Account account =
      LINTEL_TRY(app::find_person_by_login(*opened.practice, opened.caller, arguments.login));
  app::PersonChange change;
  change.active = true;
  change.reset_passphrase = arguments.invite;
  if (!arguments.invite) {
    const auto passphrase =
        LINTEL_TRY(get_passphrase(arguments.passphrase_file, PassphraseUse::New));
    change.passphrase = std::string(passphrase.text());
  }
  return print_person(arguments, LINTEL_TRY(app::change_person(*opened.practice, opened.caller,
                                                               account.person, change)));
}

Result<int> found_organization(const Arguments& arguments) {
  const auto practice = LINTEL_TRY(open_existing(arguments));
  const auto passphrase = LINTEL_TRY(get_passphrase(arguments.passphrase_file, PassphraseUse::New));
  app::NewOwner owner;
  owner.organization = arguments.organization;
  owner.name = arguments.name;
  owner.login = arguments.login;
  owner.passphrase = std::string(passphrase.text());
  owner.peer = "cli";
  const app::SignedIn founded = LINTEL_TRY(app::found_organization(*practice, owner));
  // The session that comes with it is nobody's here.
  LINTEL_TRY_VOID(app::sign_out(*practice, founded.caller));
  const view::Account account =
      LINTEL_TRY(app::find_person(*practice, founded.caller, founded.caller.person));
  return print_person(arguments, {account, "", ""});
}

// ---- The commands

using Run = Result<int> (*)(const Arguments&);
struct Command {
  CLI::App* app = nullptr;
  std::shared_ptr<Arguments> arguments = std::make_shared<Arguments>();
  Run run = nullptr;
};

Command add_command(CLI::App& group, const char* name, const char* what, Run run) {
  Command command;
  command.app = group.add_subcommand(name, what);
  command.run = run;
  Arguments& arguments = *command.arguments;
  command.app->add_option("--data", arguments.practice.data, "data folder of the workplace");
  command.app->add_option("--database", arguments.practice.database,
                          "postgresql://user@host/name (default: what lintel.toml says)");
  add_print_options(*command.app, arguments.printing);
  return command;
}

void add_organization_option(Command& command) {
  command.app->add_option("--organization", command.arguments->organization,
                          "id, when there are several in this workplace");
}

void add_passphrase_options(Command& command) {
  command.app->add_option(
      "--passphrase-file", command.arguments->passphrase_file,
      "its first line is the passphrase; else LINTEL_PASSPHRASE, else it is asked");
}

void add_invite_flag(Command& command) {
  command.app->add_flag("--invite", command.arguments->invite,
                        "print an invitation instead of setting a passphrase");
}

void add_audit_commands(CLI::App& program, std::vector<Command>& commands) {
  CLI::App* group = program.add_subcommand("audit", "who saw and who changed what");
  group->require_subcommand(1);
  Command verify = add_command(*group, "verify", "is the chain of the trail whole?", verify_audit);
  verify.app
      ->add_option("--sequence", verify.arguments->expected.sequence,
                   "number of a row whose hash was noted down")
      ->check(CLI::PositiveNumber);
  verify.app->add_option("--hash", verify.arguments->expected.hash, "that hash")
      ->needs("--sequence");
  Command list = add_command(*group, "list", "rows of the trail, the newest first", list_audit);
  app::AuditQuery& query = list.arguments->query;
  list.app->add_option("--limit", query.limit, "how many rows")->check(CLI::Range(1, 500));
  list.app->add_option("--after", query.after, "cursor that the page before printed");
  list.app->add_option("--athlete", query.athlete, "only of this athlete (id)");
  list.app->add_option("--person", query.person, "only by this person (id)");
  for (Command* command : {&verify, &list}) add_organization_option(*command);
  commands.insert(commands.end(), {verify, list});
}

void add_people_commands(CLI::App& program, std::vector<Command>& commands) {
  CLI::App* group = program.add_subcommand("people", "who may sign in to a workplace");
  group->require_subcommand(1);
  Command list = add_command(*group, "list", "everybody with an account", list_people);
  Command add = add_command(*group, "add", "a new account", add_person);
  add.app->add_option("name", add.arguments->name, "name of the person")->required();
  add.app->add_option("--role", add.arguments->role, "what the person may do (docs/accounts.md)")
      ->check(CLI::IsMember({"owner", "practitioner", "assistant", "athlete", "reviewer"}))
      ->capture_default_str();
  add.app->add_option("--login", add.arguments->login, "default: follows from the name");
  add.app->add_option("--athlete", add.arguments->athlete, "role athlete: id of the record");
  Command reset = add_command(*group, "reset", "a new passphrase; ends all sessions", reset_person);
  reset.app->add_option("login", reset.arguments->login, "whose")->required();
  Command found =
      add_command(*group, "found", "another organization with its owner", found_organization);
  found.app->add_option("name", found.arguments->organization, "name of the organization")
      ->required();
  found.app->add_option("--owner", found.arguments->name, "name of its owner")->required();
  found.app->add_option("--login", found.arguments->login, "default: follows from the name");
  for (Command* command : {&list, &add, &reset}) add_organization_option(*command);
  for (Command* command : {&add, &reset}) add_invite_flag(*command);
  for (Command* command : {&add, &reset, &found}) add_passphrase_options(*command);
  commands.insert(commands.end(), {list, add, reset, found});
}

}  // namespace

Runner add_account_commands(CLI::App& program) {
  std::vector<Command> commands;
  add_audit_commands(program, commands);
  add_people_commands(program, commands);
  return [commands = std::move(commands)]() -> std::optional<int> {
    for (const Command& command : commands) {
      if (!*command.app) continue;
      const Result<int> status = command.run(*command.arguments);
      return status ? *status : report_error(status.error());
    }
    return std::nullopt;
  };
}

}  // namespace lintel::cli
