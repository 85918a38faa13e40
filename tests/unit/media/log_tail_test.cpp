#include "media/log_tail.h"

#include <gtest/gtest.h>

#include <string>
#include <thread>
#include <vector>

#include "media_test_support.h"

namespace lintel::media {
namespace {

TEST(LogTail, KeepsTheLastLinesPrintableAndWithoutAddresses) {
  LogTail tail;
  for (int i = 0; i < 20; ++i) tail.add("line " + std::to_string(i));
  tail.add("[h264 @ 0x55d0c0ffee] bad\x1b[31m picture\n");
  tail.add(std::string(1000, 'x'));
  Error error;
  tail.append_to(error);
  ASSERT_EQ(error.trail.size(), 6u);
  EXPECT_NE(error.trail[4].find("[h264] bad [31m picture"), std::string::npos) << error.trail[4];
  EXPECT_LT(error.trail[5].size(), 300u);
  Error again;
  tail.append_to(again);
  EXPECT_TRUE(again.trail.empty());
}

TEST(LogTail, ThreadsThatFailAtOnceDoNotMixTheirLines) {
  const test::TemporaryFolder folder;
  ClipWriterOptions options;
  options.width_px = 64;
  options.height_px = 48;
  const auto path = folder / "clip.mp4";
  test::write_marked_clip(path, options, test::regular_times(6, 30.0));
  std::vector<std::uint8_t> whole = test::read_bytes(path);
  // No table of contents: FFmpeg complains about every opening.
  const std::vector<std::uint8_t> broken = {0,   0,   0, 16, 'f', 't', 'y', 'p', 'i', 's', 'o',
                                            'm', 0,   0, 0,  0,   0,   0,   0,   16,  'm', 'd',
                                            'a', 't', 1, 2,  3,   4,   5,   6,   7,   8};
  std::vector<std::string> trails(4);
  std::vector<std::size_t> counts(4);
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < 4; ++i) {
    threads.emplace_back([&, i] {
      for (int round = 0; round < 5; ++round) {
        if (i % 2 == 0) {
          const auto reader = ClipReader::open_memory(broken, "broken");
          if (!reader) {
            for (const std::string& line : reader.error().trail) trails[i] += line + "\n";
          }
        } else {
          auto reader = ClipReader::open_memory(whole, "whole");
          DecodedFrame frame;
          while (reader) {
            const Result<bool> more = reader->next_into(frame);
            if (!more || !*more) break;
            ++counts[i];
          }
        }
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  for (std::size_t i = 0; i < 4; ++i) {
    if (i % 2 == 0) {
      EXPECT_NE(trails[i].find("moov atom not found"), std::string::npos) << trails[i];
    } else {
      EXPECT_EQ(counts[i], 30u);
    }
  }
}

}  // namespace
}  // namespace lintel::media
