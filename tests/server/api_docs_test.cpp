// The commands of docs/api.md, as a reader would type them, against a server of the test's own.
#include <sys/wait.h>

#include <cstdio>

#include "support/records_client.h"

namespace lintel::test {
namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& file) {
  std::ifstream in(file);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

// Everything between ```sh and ```, in order.
std::string commands_of(const std::string& page) {
  std::string out;
  const std::string begin = "```sh\n", end = "\n```";
  for (std::size_t at = page.find(begin); at != std::string::npos; at = page.find(begin, at)) {
    at += begin.size();
    const std::size_t stop = page.find(end, at);
    out += page.substr(at, stop - at) + "\n";
    at = stop;
  }
  return out;
}

void replace_all(std::string& text, const std::string& from, const std::string& to) {
  ASSERT_NE(text.find(from), std::string::npos) << from;
  for (std::size_t at = text.find(from); at != std::string::npos;
       at = text.find(from, at + to.size())) {
    text.replace(at, from.size(), to);
  }
}

TEST(ApiDocs, EveryCommandOfThePageWorks) {
  if (std::system("jq --version >/dev/null 2>&1") != 0) GTEST_SKIP() << "jq is not installed";
  ServerFixture server;
  const Person& owner = server.person(app::Role::Owner);
  const fs::path source(LINTEL_SOURCE_DIR);
  std::string script = commands_of(text_of(source / "docs/api.md"));
  replace_all(script, "http://127.0.0.1:8421", server.client().base_url());
  replace_all(script, "runa", owner.login);
  replace_all(script, "the passphrase that you chose", owner.passphrase);
  // What went wrong is worth reading.
  replace_all(script, "curl -sf", "curl -s --fail-with-body");
  TemporaryFolder folder;
  fs::create_directories(folder.path() / "examples");
  fs::copy(source / "examples/skarnholm", folder.path() / "examples/skarnholm",
           fs::copy_options::recursive);
  fs::copy(source / "tests/fuzz/corpus/clip/h264.mp4", folder.path() / "clip.mp4");
  const fs::path file = folder.path() / "page.sh";
  std::ofstream(file) << "set -eux\n" << script << "\necho whole-page-done\n";
  const std::string command = "cd '" + folder.path().string() + "' && HOME='" +
                              folder.path().string() + "' bash page.sh > out.txt 2> err.txt";
  const int status = std::system(command.c_str());
  const std::string out = text_of(folder.path() / "out.txt");
  ASSERT_EQ(WEXITSTATUS(status), 0)
      << script << "\n"
      << out << "\n"
      << text_of(folder.path() / "err.txt") << text_of(folder.path() / "token.json")
      << text_of(folder.path() / "trial.json")
      << text_of(folder.path() / "plan.json").substr(0, 500);
  EXPECT_THAT(out, ::testing::HasSubstr("whole-page-done"));
  EXPECT_THAT(out, ::testing::HasSubstr("Ankle range"));              // a finding
  EXPECT_THAT(out, ::testing::HasSubstr("athlete.body.stature_cm"));  // the fault that it shows
  EXPECT_THAT(out, ::testing::HasSubstr("\n412\n"));                  // the stale change
  EXPECT_THAT(out, ::testing::HasSubstr("waiting"));                  // the job of the clip
  EXPECT_THAT(text_of(folder.path() / "handout.pdf"), ::testing::StartsWith("%PDF"));
}

}  // namespace
}  // namespace lintel::test
