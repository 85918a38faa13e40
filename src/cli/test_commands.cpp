#include "cli/test_commands.h"

#include <CLI/CLI.hpp>

#include "app/test_entry.h"
#include "app/test_library.h"
#include "app/test_photo.h"
#include "cli/command.h"
#include "cli/reliability_command.h"

namespace lintel::cli {

struct TestArguments {
  CLI::App* list = nullptr;
  CLI::App* show = nullptr;
  CLI::App* check = nullptr;
  CLI::App* enter = nullptr;
  CLI::App* photo = nullptr;
  ReliabilityCommand reliability;
  app::TestEntryRequest entry;
  app::TestPhotoRequest photo_request;
  std::string id, drawing, folder, protocols, output, side, points, variant = "full", models;
  double known_length_cm = 0;
  double stature_cm = 170;
  int person = 0;
  std::vector<double> between;
  bool json = false;
  bool overwrite = false;
};

namespace {

void add_library_options(CLI::App& command, TestArguments& a) {
  command.add_option("--protocols", a.protocols, "folder of your own protocols (*.json)");
  command.add_flag("--json", a.json, "print the result as JSON");
}

void add_photo(CLI::App& tests, TestArguments& a) {
  a.photo = tests.add_subcommand("photo", "read a test off a photograph");
  a.photo->add_option("picture", a.photo_request.picture, "photograph")->required();
  a.photo->add_option("--protocol", a.photo_request.protocol, "id of the test")->required();
  a.photo->add_option("--side", a.side, "left or right")->check(CLI::IsMember({"left", "right"}));
  a.photo->add_option("--points", a.points,
                      "points put right by hand: JSON {\"knee\": [x, y], ...} in pixels");
  CLI::Option* length =
      a.photo->add_option("--known-length-cm", a.known_length_cm, "a length seen in the picture")
          ->check(CLI::Range(1.0, 1000.0));
  CLI::Option* between =
      a.photo->add_option("--between", a.between, "its two ends, x1,y1,x2,y2 in pixels")
          ->delimiter(',')
          ->expected(4);
  length->needs(between);
  between->needs(length);
  a.photo->add_option("--stature-cm", a.stature_cm, "stature: how large a centimetre looks")
      ->check(CLI::Range(120.0, 230.0))
      ->capture_default_str();
  a.photo->add_option("--network", a.variant, "landmark network: lite, full, heavy")
      ->check(CLI::IsMember({"lite", "full", "heavy"}))
      ->capture_default_str();
  a.photo->add_option("--models", a.models, "folder of the landmark networks");
  a.photo->add_option("--person", a.person, "which person, counted from the left")
      ->check(CLI::Range(1, 50));
  a.photo->add_option("--out", a.output, "folder for the marked picture (made new)");
  a.photo->add_flag("--overwrite", a.overwrite, "replace that folder if it exists");
  add_library_options(*a.photo, a);
}

int run_photo(TestArguments& a) {
  app::TestPhotoRequest& request = a.photo_request;
  request.side = a.side == "left"    ? body::TestSide::Left
                 : a.side == "right" ? body::TestSide::Right
                                     : body::TestSide::Both;
  if (!a.points.empty()) request.points = a.points;
  if (!a.protocols.empty()) request.protocols = a.protocols;
  if (!a.output.empty()) request.output = a.output;
  if (!a.models.empty()) request.models = a.models;
  if (a.person > 0) request.person = a.person;
  request.overwrite = a.overwrite ? app::Overwrite::Yes : app::Overwrite::No;
  request.stature = Length::centimetres(a.stature_cm).metres();
  request.variant = a.variant == "lite"    ? app::NetworkVariant::Lite
                    : a.variant == "heavy" ? app::NetworkVariant::Heavy
                                           : app::NetworkVariant::Full;
  if (a.between.size() == 4) {
    request.known_length = kinematics::KnownLength{{a.between[0], a.between[1]},
                                                   {a.between[2], a.between[3]},
                                                   Length::centimetres(a.known_length_cm).metres()};
  }
  const WorkContext work{interrupt_token(), {}};
  return print_outcome(app::measure_test_photo(request, work), a.json);
}

int run_entry(TestArguments& a) {
  if (!a.protocols.empty()) a.entry.protocols = a.protocols;
  if (!a.output.empty()) a.entry.output = a.output;
  a.entry.existing = a.overwrite ? app::ExistingFile::Replace : app::ExistingFile::Keep;
  return print_outcome(app::enter_tests(a.entry), a.json);
}

int run_library(TestArguments& a) {
  if (*a.check) return print_outcome(app::check_protocols(a.folder), a.json);
  std::optional<std::filesystem::path> own, drawing;
  if (!a.protocols.empty()) own = a.protocols;
  if (!a.drawing.empty()) drawing = a.drawing;
  const auto protocols = app::load_protocols(own);
  if (!protocols) return report_error(protocols.error());
  if (*a.list) {
    const app::LibraryText list = app::list_protocols(*protocols);
    return print(a.json ? list.json : list.text);
  }
  return print_outcome(app::show_protocol(*protocols, a.id, drawing), a.json);
}

}  // namespace

TestCommands add_test_commands(CLI::App& program) {
  TestCommands commands;
  commands.arguments = std::make_shared<TestArguments>();
  TestArguments& a = *commands.arguments;
  commands.tests = program.add_subcommand("tests", "mobility tests: protocols, entry, photos");
  commands.tests->require_subcommand(1);
  a.list = commands.tests->add_subcommand("list", "the protocols");
  add_library_options(*a.list, a);
  a.show = commands.tests->add_subcommand("show", "one protocol as a card");
  a.show->add_option("id", a.id, "id of the test")->required();
  a.show->add_option("--svg", a.drawing, "write its drawing (replaces the file)");
  add_library_options(*a.show, a);
  a.check = commands.tests->add_subcommand("check", "check a folder of your own protocols");
  a.check->add_option("folder", a.folder, "folder or file")->required();
  a.check->add_flag("--json", a.json, "print the result as JSON");
  a.enter = commands.tests->add_subcommand("enter", "results of a visit into the athlete's file");
  a.enter->add_option("record", a.entry.record, "record of the visit (lintel-tests-1)")->required();
  a.enter->add_option("--athlete", a.entry.athlete, "athlete.json")->required();
  a.enter->add_option("--own-error", a.entry.own_errors,
                      "report of tests reliability --json: your own standard error (repeatable)");
  a.enter->add_option("--out", a.output, "athlete.json to write, with the tests filled in");
  a.enter->add_flag("--overwrite", a.overwrite, "replace that file if it exists");
  add_library_options(*a.enter, a);
  add_photo(*commands.tests, a);
  a.reliability = add_reliability_command(*commands.tests);
  return commands;
}

int run_test_command(TestCommands& commands) {
  TestArguments& a = *commands.arguments;
  if (*a.reliability.command) return run_reliability_command(a.reliability);
  if (*a.enter) return run_entry(a);
  if (*a.photo) return run_photo(a);
  return run_library(a);
}

}  // namespace lintel::cli
