#include "store/media_folder.h"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <utime.h>

#include <atomic>
#include <ctime>
#include <thread>

#include "secure/sha256.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::file_bytes;
using lintel::test::TemporaryFolder;
using lintel::test::write_bytes;

constexpr const char* kAbc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

class MediaFolderTest : public ::testing::Test {
 protected:
  MediaFolder folder() { return expect_value(MediaFolder::open(temporary_ / "media")); }
  // As if it had been written long ago.
  void make_old(const std::filesystem::path& file) {
    const utimbuf times{std::time(nullptr) - 10'000, std::time(nullptr) - 10'000};
    ASSERT_EQ(::utime(file.c_str(), &times), 0);
  }
  TemporaryFolder temporary_;
};

TEST_F(MediaFolderTest, NamesBytesByTheirSha256) {
  const StoredMedia kept = expect_value(folder().add_bytes("abc"));
  EXPECT_EQ(kept.sha256, kAbc);  // FIPS 180-4, example value
  EXPECT_EQ(kept.bytes, 3);
  const std::filesystem::path file = expect_value(folder().find(kAbc));
  EXPECT_EQ(file_bytes(file), "abc");
  EXPECT_EQ(lintel::test::run_program({"/usr/bin/sha256sum", file.string()}).output.substr(0, 64),
            file.filename().string());
  struct stat info {};
  ASSERT_EQ(::stat(file.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777, 0600u);  // nobody else reads a clip
}

TEST_F(MediaFolderTest, KeepsTheSameBytesOnce) {
  write_bytes(temporary_ / "clip.mp4", std::string(700'000, 'v'));
  const StoredMedia first = expect_value(folder().add_file(temporary_ / "clip.mp4"));
  const StoredMedia again = expect_value(folder().add_bytes(std::string(700'000, 'v')));
  EXPECT_EQ(first.sha256, again.sha256);
  EXPECT_EQ(expect_value(folder().list()).size(), 1u);
  EXPECT_EQ(file_bytes(expect_value(folder().find(first.sha256))), std::string(700'000, 'v'));
}

TEST_F(MediaFolderTest, FindsDamageWhenItReads) {
  const StoredMedia kept = expect_value(folder().add_bytes("a clip"));
  const std::filesystem::path file = expect_value(folder().find(kept.sha256));
  write_bytes(file, "a clup");
  EXPECT_EQ(folder().find(kept.sha256).error().code, ErrorCode::Invalid);
  EXPECT_TRUE(folder().path_of(kept.sha256));  // which does not read
  expect_value(folder().add_bytes("a clip"));  // the same bytes once more make it whole
  EXPECT_TRUE(folder().find(kept.sha256));
}

TEST_F(MediaFolderTest, KnowsNoOtherNames) {
  write_bytes(temporary_ / "secret", "x");
  for (const std::string& name :
       {std::string(), std::string("../secret"), std::string(64, '/'), std::string(64, 'G'),
        std::string(63, 'a'), std::string(65, 'a'), std::string(64, 'a')}) {
    EXPECT_EQ(folder().find(name).error().code, ErrorCode::NotFound) << name;
    EXPECT_EQ(folder().path_of(name).error().code, ErrorCode::NotFound) << name;
  }
  EXPECT_EQ(folder().add_file(temporary_ / "no-such.mp4").error().code, ErrorCode::NotFound);
}

TEST_F(MediaFolderTest, CollectsWhatNobodyRefersToAndNothingElse) {
  const std::string wanted = expect_value(folder().add_bytes("wanted")).sha256;
  const std::string orphan = expect_value(folder().add_bytes("orphan")).sha256;
  const std::string young = expect_value(folder().add_bytes("young")).sha256;
  make_old(expect_value(folder().path_of(wanted)));
  make_old(expect_value(folder().path_of(orphan)));
  write_bytes(temporary_ / "media/part/left-over", "half");
  write_bytes(temporary_ / "media/part/under-way", "half");
  make_old(temporary_ / "media/part/left-over");
  const std::vector<StoredMedia> removed = expect_value(folder().collect_garbage({wanted}, 3600));
  ASSERT_EQ(removed.size(), 1u);
  EXPECT_EQ(removed[0].sha256, orphan);
  EXPECT_TRUE(folder().find(wanted));
  EXPECT_TRUE(folder().find(young));
  EXPECT_FALSE(folder().find(orphan));
  EXPECT_FALSE(std::filesystem::exists(temporary_ / "media/part/left-over"));
  EXPECT_TRUE(std::filesystem::exists(temporary_ / "media/part/under-way"));
}

TEST_F(MediaFolderTest, BytesAddedAgainAreYoungAgain) {
  const std::string clip = expect_value(folder().add_bytes("clip")).sha256;
  make_old(expect_value(folder().path_of(clip)));
  expect_value(folder().add_bytes("clip"));
  EXPECT_TRUE(expect_value(folder().collect_garbage({}, 3600)).empty());
}

TEST_F(MediaFolderTest, AddersAndCollectorsAtOnceLoseNothingThatWasJustAdded) {
  const MediaFolder shared = folder();
  std::atomic<bool> over = false;
  std::thread collector([&] {
    while (!over) EXPECT_TRUE(shared.collect_garbage({}, 3600));
  });
  std::vector<std::thread> adders;
  for (int i = 0; i < 3; ++i) {
    adders.emplace_back([&, i] {
      for (int n = 0; n < 40; ++n) {
        const auto kept = shared.add_bytes("clip " + std::to_string(i * 10 + n % 3));
        ASSERT_TRUE(kept) << kept.error();
        const auto found = shared.find(kept->sha256);
        EXPECT_TRUE(found) << found.error();
        if (found) make_old(*found);  // the next round adds it again while it is collected
      }
    });
  }
  for (std::thread& adder : adders) adder.join();
  over = true;
  collector.join();
  EXPECT_TRUE(std::filesystem::is_empty(temporary_ / "media/part"));
}

}  // namespace
}  // namespace lintel::store
