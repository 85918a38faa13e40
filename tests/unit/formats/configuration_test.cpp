#include "formats/configuration.h"

#include <gtest/gtest.h>

#include <string>

namespace lintel::formats {
namespace {

TEST(Configuration, HasUsualValuesWhenNothingIsSaid) {
  const auto reading = read_configuration("", "lintel.toml");
  ASSERT_TRUE(reading.configuration);
  EXPECT_EQ(reading.configuration->listen, "127.0.0.1:8421");
  EXPECT_EQ(reading.configuration->upload_limit_bytes, std::int64_t{4} << 30);
  EXPECT_TRUE(reading.configuration->database_url.empty());
  EXPECT_TRUE(reading.configuration->backup.folder.empty());
}

TEST(Configuration, ReadsEverything) {
  const auto reading = read_configuration(R"(
# a workplace
[database]
url = "postgresql://lintel@db/lintel"
[media]
folder = "/srv/lintel/media"
[models]
folder = 'models'
[server]
listen = "0.0.0.0:8421"
upload_limit_mb = 500
[backup]
folder = "/mnt/stick"
times_utc = ["23:00", "03:30", "03:30"]
keep_daily = 10
keep_weekly = 0
passphrase_file = "/etc/lintel/words"
)",
                                          "lintel.toml");
  ASSERT_TRUE(reading.configuration) << reading.faults.front();
  const Configuration& c = *reading.configuration;
  EXPECT_EQ(c.database_url, "postgresql://lintel@db/lintel");
  EXPECT_EQ(c.media_folder, "/srv/lintel/media");
  EXPECT_EQ(c.models_folder, "models");
  EXPECT_EQ(c.listen, "0.0.0.0:8421");
  EXPECT_EQ(c.upload_limit_bytes, std::int64_t{500} << 20);
  EXPECT_EQ(c.backup.folder, "/mnt/stick");
  EXPECT_EQ(c.backup.times_utc, (std::vector<std::string>{"03:30", "23:00"}));
  EXPECT_EQ(c.backup.keep_daily, 10);
  EXPECT_EQ(c.backup.keep_weekly, 0);
  EXPECT_EQ(c.backup.passphrase_file, "/etc/lintel/words");
}

struct Case {
  std::string text, field;
  std::int64_t line, column;
  std::string words;
};

TEST(Configuration, TellsEveryFaultWithItsPlace) {
  const std::vector<Case> cases = {
      {"[databse]\nurl = 'x'\n", "databse", 1, 2, "database"},
      {"[server]\nlisen = 'x'\n", "server.lisen", 2, 1, "listen"},
      {"[server]\nlisten = 8421\n", "server.listen", 2, 10, "quotation marks"},
      {"[server]\nlisten = ''\n", "server.listen", 2, 10, "1 to 1000"},
      {"[server]\nupload_limit_mb = 0\n", "server.upload_limit_mb", 2, 19, "1 to 65536"},
      {"[server]\nupload_limit_mb = 1.5\n", "server.upload_limit_mb", 2, 19, "whole number"},
      {"media = 'x'\n", "media", 1, 9, "[media]"},
      {"[backup]\npassphrase_file = 'w'\ntimes_utc = ['24:00']\n", "backup.times_utc", 3, 14,
       "time of day"},
      {"[backup]\npassphrase_file = 'w'\ntimes_utc = []\n", "backup.times_utc", 3, 13, "1 to 24"},
      {"[backup]\nkeep_daily = 0\n", "backup.keep_daily", 2, 14, "1 to 3660"},
      {"[backup]\nfolder = 'x'\n", "backup.passphrase_file", 1, 1, "is missing"},
  };
  for (const Case& one : cases) {
    SCOPED_TRACE(one.text);
    const auto reading = read_configuration(one.text, "lintel.toml");
    EXPECT_FALSE(reading.configuration);
    ASSERT_EQ(reading.faults.size(), 1U);
    const Error& error = reading.faults.front();
    EXPECT_EQ(error.place.field, one.field);
    EXPECT_EQ(error.place.line, one.line);
    EXPECT_EQ(error.place.column, one.column);
    EXPECT_EQ(error.place.file, "lintel.toml");
    EXPECT_NE((error.message + " " + error.mend).find(one.words), std::string::npos) << error;
  }
}

TEST(Configuration, TellsAllFaultsInOrder) {
  const auto reading = read_configuration("[server]\nlisten = 1\nport = 2\n[x]\n", "f");
  ASSERT_EQ(reading.faults.size(), 3U);
  EXPECT_EQ(reading.faults[0].place.line, 2);
  EXPECT_EQ(reading.faults[1].place.line, 3);
  EXPECT_EQ(reading.faults[2].place.line, 4);
}

TEST(Configuration, RefusesWhatIsNoTomlWithLineAndColumn) {
  for (const std::string& text :
       {std::string("[server\n"), std::string("a = \n"), std::string("a = 1\na = 2\n"),
        std::string("x = '\xe5'\n"), std::string(100'000, '[')}) {
    const auto reading = read_configuration(text, "lintel.toml");
    EXPECT_FALSE(reading.configuration);
    ASSERT_EQ(reading.faults.size(), 1U);
    if (text.size() < 100) {
      EXPECT_GT(reading.faults.front().place.line, 0);
    }
  }
  EXPECT_EQ(read_configuration(std::string(70'000, ' '), "f").faults.front().code,
            ErrorCode::Limit);
  EXPECT_FALSE(read_configuration("a = " + std::string(60'000, '['), "f").configuration);
}

}  // namespace
}  // namespace lintel::formats
