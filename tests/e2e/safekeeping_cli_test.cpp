// Backup, restore, export, import and erasure by the program itself, as somebody does it at a
// terminal.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "e2e/program.h"
#include "support/filled_workplace.h"
#include "support/practice_fixture.h"

namespace lintel::test {
namespace {

using nlohmann::json;

class SafekeepingCli : public Cli {
 protected:
  void SetUp() override {
    Cli::SetUp();
    app::PracticeOptions options;
    options.data = folder_ / "club";
    auto practice = expect_value(app::open_practice(options));
    practice->passphrase_cost = secure::kCheapestCost;
    place_ = fill(*practice);
    organization_ = place_.owner.organization;
    write("words", "kelp anchor winter bell\n");
    fs::permissions(folder_ / "words", fs::perms::owner_read);
  }
  FilledWorkplace place_;
  std::string organization_;
};

TEST_F(SafekeepingCli, BackupIsMadeCheckedAndRestored) {
  const Execution made =
      run("backup make --data club --passphrase-file words --out whole.lintel-backup --quiet");
  ASSERT_EQ(made.status, 0) << made.errors;
  EXPECT_NE(made.output.find("Keep the passphrase elsewhere"), std::string::npos);
  EXPECT_EQ(shell("grep -c Brinvik whole.lintel-backup").output, "0\n");

  const Execution checked = shell("LINTEL_PASSPHRASE='kelp anchor winter bell' '" LINTEL_PROGRAM
                                  "' backup check whole.lintel-backup --json --quiet");
  ASSERT_EQ(checked.status, 0) << checked.errors;
  const json summary = json::parse(checked.output);
  EXPECT_EQ(summary["rows"]["accounts"], 4);
  EXPECT_EQ(summary["media_files"], 3);

  const Execution restored =
      run("backup restore whole.lintel-backup --data new --passphrase-file words --json --quiet");
  ASSERT_EQ(restored.status, 0) << restored.errors;
  EXPECT_EQ(json::parse(restored.output)["backup"]["digest"], summary["digest"]);
  const Execution again =
      run("backup restore whole.lintel-backup --data new --passphrase-file words --quiet");
  EXPECT_EQ(again.status, exit_status(ErrorCode::Conflict));
  EXPECT_NE(again.errors.find("--replace"), std::string::npos) << again.errors;
  EXPECT_EQ(run("records check --data new --quiet").status, 0);
  const Execution replaced = run(
      "backup restore whole.lintel-backup --data new --passphrase-file words --replace --quiet");
  EXPECT_EQ(replaced.status, 0) << replaced.errors;
  EXPECT_NE(replaced.output.find("before-restore-"), std::string::npos) << replaced.output;

  EXPECT_EQ(run("backup make --data club --passphrase-file words --quiet").status, 0);
  const Execution list = run("backup list --data club --json");
  EXPECT_EQ(json::parse(list.output)["items"].size(), 1U);
}

TEST_F(SafekeepingCli, AWrongPassphraseOrADamagedFileMakesNothing) {
  ASSERT_EQ(
      run("backup make --data club --passphrase-file words --out a.lintel-backup --quiet").status,
      0);
  const Execution wrong = shell("LINTEL_PASSPHRASE='kelp anchor winter belt' '" LINTEL_PROGRAM
                                "' backup restore a.lintel-backup --data new --quiet");
  EXPECT_EQ(wrong.status, exit_status(ErrorCode::Denied));
  EXPECT_NE(wrong.errors.find("the passphrase does not fit"), std::string::npos) << wrong.errors;
  ASSERT_EQ(shell("head -c 9000 a.lintel-backup > cut.lintel-backup").status, 0);
  const Execution cut =
      run("backup restore cut.lintel-backup --data new --passphrase-file words --quiet");
  EXPECT_EQ(cut.status, exit_status(ErrorCode::Invalid));
  EXPECT_FALSE(fs::exists(folder_ / "new"));
  // Neither asked for without a terminal nor taken from a file that others can read.
  EXPECT_EQ(shell("setsid -w '" LINTEL_PROGRAM "' backup make --data club --quiet").status,
            exit_status(ErrorCode::Invalid));
  fs::permissions(folder_ / "words", fs::perms::group_read, fs::perm_options::add);
  EXPECT_EQ(run("backup make --data club --passphrase-file words --quiet").status,
            exit_status(ErrorCode::Denied));
  EXPECT_EQ(run("backup make --passphrase kelp").status, 64);
}

TEST_F(SafekeepingCli, OneAthleteGoesOutAndInAndAway) {
  const std::string here = " --data club --organization " + organization_ + " --quiet";
  const Execution out = run("records export brinvik --out ansa.zip" + here);
  ASSERT_EQ(out.status, 0) << out.errors;
  EXPECT_NE(out.output.find("not encrypted"), std::string::npos);
  EXPECT_NE(joined(out.output).find("Stop at once on pain"), std::string::npos)
      << out.output;  // the cautions
  EXPECT_EQ(shell("unzip -tqq ansa.zip").status, 0);
  EXPECT_EQ(run("records export brinvik --out ansa.zip" + here).status,
            exit_status(ErrorCode::Conflict));
  EXPECT_EQ(run("records export nobody" + here).status, exit_status(ErrorCode::NotFound));
  const Execution twice = run("records import ansa.zip" + here);
  EXPECT_EQ(twice.status, exit_status(ErrorCode::Conflict));

  const Execution unsure = run("records erase brinvik --reason 'asked in writing'" + here);
  EXPECT_EQ(unsure.status, exit_status(ErrorCode::Cancelled)) << unsure.errors;
  const Execution named = run("records erase brinvik --yes --reason 'Ansa asked'" + here);
  EXPECT_EQ(named.status, exit_status(ErrorCode::Invalid));
  const std::string command =
      "'" LINTEL_PROGRAM "' records erase brinvik --json --reason 'asked in writing'" + here;
  const Execution erased = shell("sh -c \"echo 'Ansa Brinvik' | " + command + "\"");
  ASSERT_EQ(erased.status, 0) << erased.errors;
  EXPECT_NE(erased.errors.find("Write the name to go on"), std::string::npos) << erased.errors;
  EXPECT_EQ(json::parse(erased.output)["media_files"], 2);
  EXPECT_EQ(shell("grep -rl 'Hollerhavn in 2019' club").output, "");

  const Execution back = run("records import ansa.zip --json" + here);
  ASSERT_EQ(back.status, 0) << back.errors;
  EXPECT_EQ(json::parse(back.output)["athlete"], place_.athlete);
}

}  // namespace
}  // namespace lintel::test
