// `lintel people` and `lintel audit` as the person at the machine runs them.
#include <nlohmann/json.hpp>

#include "e2e/program.h"

namespace lintel::test {
namespace {

using Json = nlohmann::json;

class AccountCli : public Cli {
 protected:
  void SetUp() override {
    Cli::SetUp();
    write("words", "kittiwake ledge oilskin rope\n");
    write("other", "tide table brass lantern\n");
    fs::permissions(folder_ / "words", fs::perms::owner_read);
    fs::permissions(folder_ / "other", fs::perms::owner_read);
    fs::create_directory(folder_ / "place");
    const Execution found = run(
        "people found 'Skarnholm LK' --owner 'Runa Feldvik' --passphrase-file words --data place");
    ASSERT_EQ(found.status, 0) << found.errors;
  }
  Json json(const std::string& arguments, int status = 0) const {
    const Execution done = run(arguments + " --data place --json");
    EXPECT_EQ(done.status, status) << done.errors;
    return Json::parse(done.output, nullptr, false);
  }
  std::string sqlite(const std::string& sql) const {
    const Execution done = shell("sqlite3 place/lintel.db \"" + sql + "\"");
    EXPECT_EQ(done.status, 0) << done.errors;
    return done.output;
  }
};

TEST_F(AccountCli, PeopleAreListedAddedAndReset) {
  const Json made = json("people add 'Eskil Moen' --role assistant --passphrase-file words");
  EXPECT_EQ(made["login"], "eskil.moen");
  EXPECT_EQ(made["state"], "active");
  const Json invited = json("people add 'Liv Sandnes' --role reviewer --invite");
  EXPECT_EQ(invited["state"], "invited");
  EXPECT_EQ(invited["invitation"]["secret"].get<std::string>().size(), 43u);
  const Json people = json("people list")["items"];
  ASSERT_EQ(people.size(), 3u);
  EXPECT_EQ(people[0]["name"], "Eskil Moen");
  EXPECT_EQ(people[2]["role"], "owner");
  const std::string before =
      sqlite("SELECT passphrase_hash FROM accounts WHERE login = 'runa.feldvik'");
  EXPECT_EQ(run("people reset 'Runa Feldvik' --passphrase-file other --data place").status, 0);
  EXPECT_NE(sqlite("SELECT passphrase_hash FROM accounts WHERE login = 'runa.feldvik'"), before);
  EXPECT_EQ(sqlite("SELECT COUNT(*) FROM sessions"), "0\n");

  const Execution nobody = run("people reset nobody --invite --data place");
  EXPECT_EQ(nobody.status, 2);
  const Execution twice =
      run("people add 'Eskil Moen' --role reviewer --passphrase-file words --data place");
  EXPECT_EQ(twice.status, 5);
  EXPECT_NE(twice.errors.find("login"), std::string::npos);
  EXPECT_EQ(run("people add 'X Y' --role boss --invite --data place").status, 64);
}

TEST_F(AccountCli, AMistypedFolderIsNotMadeIntoAWorkplace) {
  for (const char* command : {"people list", "audit verify", "audit list"}) {
    const Execution done = run(std::string(command) + " --data plaice");
    EXPECT_EQ(done.status, 2) << command;
    EXPECT_NE(done.errors.find("plaice"), std::string::npos);
    EXPECT_FALSE(fs::exists(folder_ / "plaice"));
  }
}

TEST_F(AccountCli, TheTrailIsListedAndVerified) {
  json("people add 'Eskil Moen' --role assistant --invite");
  const Json rows = json("audit list")["items"];
  ASSERT_EQ(rows.size(), 3u);
  EXPECT_EQ(rows[0]["action"], "person_added");
  EXPECT_EQ(rows[0]["peer"], "cli");
  EXPECT_EQ(rows[2]["action"], "organization_founded");
  const Json first = json("audit list --limit 1");
  EXPECT_EQ(json("audit list --limit 1 --after " + first["next"].get<std::string>())["items"][0],
            rows[1]);

  const Json whole = json("audit verify");
  EXPECT_EQ(whole["whole"], true);
  EXPECT_EQ(whole["rows"], 3);
  EXPECT_EQ(whole["head_hash"], rows[0]["hash"]);
  const std::string noted =
      "audit verify --sequence 3 --hash " + whole["head_hash"].get<std::string>();
  EXPECT_EQ(json(noted)["whole"], true);
  const Execution text = run("audit verify --data place");
  EXPECT_NE(text.output.find("whole: 3 rows"), std::string::npos) << text.output;

  // By the sqlite3 program, as somebody with the file would.
  const std::string unlock =
      "DROP TRIGGER audit_trail_keeps_rows; DROP TRIGGER audit_trail_loses_no_rows; ";
  sqlite(unlock + "UPDATE audit_trail SET person = 'somebody else' WHERE sequence = 2");
  const Json broken = json("audit verify", 3);
  EXPECT_EQ(broken["whole"], false);
  EXPECT_EQ(broken["first_broken"], 2);
  EXPECT_EQ(broken["rows"], 1);
  EXPECT_NE(run("audit verify --data place").output.find("BROKEN at row 2"), std::string::npos);
  sqlite("DELETE FROM audit_trail WHERE sequence = 2");
  EXPECT_EQ(json("audit verify", 3)["first_broken"], 2);
}

}  // namespace
}  // namespace lintel::test
