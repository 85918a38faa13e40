#include "formats/tar_stream.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <string>
#include <utility>
#include <vector>

#include "support/temporary_folder.h"

namespace lintel::formats {
namespace {

using Files = std::vector<std::pair<std::string, std::string>>;

std::string tar_of(const Files& files) {
  std::string out;
  for (const auto& [name, bytes] : files) {
    const auto size = static_cast<std::int64_t>(bytes.size());
    out += tar_header({name, size}, 1773039930).value() + bytes + tar_padding(size);
  }
  return out + tar_end();
}

Result<Files> parse(const std::string& tar, std::size_t piece) {
  Files files;
  TarParser parser({[&](const TarEntry& entry) {
                      files.emplace_back(entry.name, "");
                      return Result<void>{};
                    },
                    [&](std::string_view bytes) {
                      files.back().second += bytes;
                      return Result<void>{};
                    },
                    [] { return Result<void>{}; }});
  for (std::size_t at = 0; at < tar.size(); at += piece) {
    LINTEL_TRY_VOID(parser.feed(std::string_view(tar).substr(at, piece)));
  }
  LINTEL_TRY_VOID(parser.finish());
  return files;
}

const Files kFiles = {{"about.json", "{}"},
                      {"empty", ""},
                      {"tables/records/000001.jsonl", std::string(512, 'x')},
                      {"media/abc", std::string(1300, 'y')}};

TEST(TarStream, ComesBackWhateverThePieces) {
  const std::string tar = tar_of(kFiles);
  EXPECT_EQ(tar.size() % 512, 0U);
  for (const std::size_t piece : {std::size_t{1}, std::size_t{7}, std::size_t{512}, tar.size()}) {
    EXPECT_EQ(parse(tar, piece).value(), kFiles) << piece;
  }
}

TEST(TarStream, IsReadByTarItself) {
  const test::TemporaryFolder folder;
  test::write_bytes(folder / "a.tar", tar_of(kFiles));
  const std::string command =
      "cd '" + folder.path().string() + "' && TZ=UTC tar -tvf a.tar > list && tar -xf a.tar";
  ASSERT_EQ(std::system(command.c_str()), 0);
  for (const auto& [name, bytes] : kFiles) EXPECT_EQ(test::file_bytes(folder / name), bytes);
  const std::string list = test::file_bytes(folder / "list");
  EXPECT_NE(list.find("-rw------- 0/0            1300 2026-03-09 07:05 media/abc"),
            std::string::npos)
      << list;
}

TEST(TarStream, WritesSizesAbove8GiBAsGnuTarDoes) {
  const std::int64_t size = (std::int64_t{9} << 30) + 5;
  const std::string header = tar_header({"media/large", size}, 0).value();
  const test::TemporaryFolder folder;
  test::write_bytes(folder / "a.tar", header);
  const std::string command = "cd '" + folder.path().string() +
                              "' && tar -tvf a.tar > list 2> faults; grep -q ' 9663676421 ' list";
  EXPECT_EQ(std::system(command.c_str()), 0);
  std::int64_t found = 0;
  TarParser parser({[&](const TarEntry& entry) {
                      found = entry.bytes;
                      return Result<void>{};
                    },
                    [](std::string_view) { return Result<void>{}; },
                    [] { return Result<void>{}; }});
  ASSERT_TRUE(parser.feed(header));
  EXPECT_EQ(found, size);
  EXPECT_FALSE(parser.finish());
}

TEST(TarStream, RefusesADamagedHeaderAndACutEnd) {
  const std::string tar = tar_of(kFiles);
  for (std::size_t at = 0; at < 512; at += 3) {
    std::string changed = tar;
    changed[at] = static_cast<char>(changed[at] ^ 1);
    EXPECT_FALSE(parse(changed, 4096)) << at;
  }
  for (std::size_t size = 0; size < tar.size() - 512; size += 256) {
    EXPECT_FALSE(parse(tar.substr(0, size), 4096)) << size;
  }
  EXPECT_FALSE(parse(tar + tar, 4096));
  EXPECT_FALSE(tar_header({"../x", 0}, 0));
  EXPECT_FALSE(tar_header({std::string(101, 'x'), 0}, 0));
}

}  // namespace
}  // namespace lintel::formats
