#include "app/practice.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <cstdlib>

#include "base/instant.h"
#include "support/temporary_folder.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

unsigned mode_of(const fs::path& path) {
  struct stat status {};
  EXPECT_EQ(::stat(path.c_str(), &status), 0);
  return status.st_mode & 0777;
}

class PracticeFolder : public ::testing::Test {
 protected:
  Result<std::unique_ptr<Practice>> open() {
    PracticeOptions options;
    options.data = data_;
    return open_practice(options);
  }
  void write_settings(const std::string& text) {
    fs::create_directories(data_);
    test::write_bytes(data_ / "lintel.toml", text);
  }
  test::TemporaryFolder folder_;
  fs::path data_ = folder_ / "deep" / "data";
};

TEST_F(PracticeFolder, IsMadeForItsOwnerAlone) {
  const auto practice = open();
  ASSERT_TRUE(practice) << practice.error();
  EXPECT_EQ(mode_of(data_), 0700U);
  EXPECT_TRUE(fs::exists(data_ / "lintel.db"));
  EXPECT_EQ((*practice)->settings.listen, "127.0.0.1:8421");
  EXPECT_TRUE(parse_instant((*practice)->now()));
  EXPECT_EQ((*practice)->today().size(), 10U);
}

TEST_F(PracticeFolder, IsClosedToOthersWhenItWasOpen) {
  fs::create_directories(data_);
  ASSERT_EQ(::chmod(data_.c_str(), 0755), 0);
  ASSERT_TRUE(open());
  EXPECT_EQ(mode_of(data_), 0700U);
}

TEST_F(PracticeFolder, HasPathsOfItsSettingsStartingThere) {
  write_settings(
      "[database]\nurl = 'sqlite:other.db'\n[media]\nfolder = 'clips'\n[backup]\nfolder = "
      "'../copies'\npassphrase_file = '/etc/words'\n");
  const auto practice = open();
  ASSERT_TRUE(practice) << practice.error();
  EXPECT_TRUE(fs::exists(data_ / "other.db"));
  EXPECT_TRUE(fs::exists(data_ / "clips"));
  EXPECT_EQ((*practice)->settings.backup.folder, (data_.parent_path() / "copies").string());
  EXPECT_EQ((*practice)->settings.backup.passphrase_file, "/etc/words");
}

TEST_F(PracticeFolder, IsNotOpenedWithFaultySettings) {
  write_settings("[media]\nfoldr = 'clips'\n");
  const auto practice = open();
  ASSERT_FALSE(practice);
  EXPECT_EQ(practice.error().place.file, "lintel.toml");
  EXPECT_EQ(practice.error().place.line, 2);
  EXPECT_EQ(practice.error().place.field, "media.foldr");
  EXPECT_NE(describe(practice.error()).find("folder"), std::string::npos);
  EXPECT_FALSE(fs::exists(data_ / "lintel.db"));
  write_settings("[database]\nurl = 'mysql://x'\n");
  EXPECT_EQ(open().error().code, ErrorCode::Invalid);
}

TEST_F(PracticeFolder, CannotBeMadeInsideAFile) {
  test::write_bytes(folder_ / "deep", "a file");
  const auto practice = open();
  ASSERT_FALSE(practice);
  EXPECT_FALSE(practice.error().mend.empty());
}

TEST(UsualDataFolder, FollowsTheDesktopsRules) {
  const auto with = [](const char* data, const char* home) {
    data == nullptr ? ::unsetenv("XDG_DATA_HOME") : ::setenv("XDG_DATA_HOME", data, 1);
    home == nullptr ? ::unsetenv("HOME") : ::setenv("HOME", home, 1);
    return usual_data_folder().string();
  };
  EXPECT_EQ(with("/data", "/home/runa"), "/data/lintel");
  EXPECT_EQ(with(nullptr, "/home/runa"), "/home/runa/.local/share/lintel");
  EXPECT_EQ(with("relative", "/home/runa"), "/home/runa/.local/share/lintel");
  EXPECT_EQ(with(nullptr, nullptr), "lintel-data");
}

}  // namespace
}  // namespace lintel::app
