#include "formats/csv.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <cmath>

namespace lintel::formats {
namespace {

std::vector<std::vector<std::string>> rows_of(std::string_view text) {
  auto reader = CsvReader::create(text, {});
  std::vector<std::vector<std::string>> rows;
  std::vector<CsvCell> cells;
  while (reader && !reader->at_end()) {
    const auto read = reader->next(cells);
    EXPECT_TRUE(read) << (read ? "" : describe(read.error()));
    if (!read) break;
    rows.emplace_back();
    for (const CsvCell& cell : cells) rows.back().push_back(cell.text);
  }
  return rows;
}

// The examples of RFC 4180 (Y. Shafranovich, 2005), section 2, points 1 to 7.
TEST(Csv, ReadsTheExamplesOfItsStandard) {
  using Rows = std::vector<std::vector<std::string>>;
  EXPECT_EQ(rows_of("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(rows_of("aaa,bbb,ccc\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(rows_of("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(rows_of("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx"),
            (Rows{{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(rows_of("\"aaa\",\"b\"\"bb\",\"ccc\""), (Rows{{"aaa", "b\"bb", "ccc"}}));
}

TEST(Csv, SaysWhereAQuoteIsWrong) {
  std::vector<CsvCell> cells;
  auto open = CsvReader::create("a,b\nc,\"d\n", {});
  ASSERT_TRUE(open->next(cells));
  const auto unclosed = open->next(cells);
  ASSERT_FALSE(unclosed);
  EXPECT_EQ(unclosed.error().place.line, 2);
  EXPECT_EQ(unclosed.error().place.column, 3);
  auto inside = CsvReader::create("a,b\"c\n", {});
  const auto wrong = inside->next(cells);
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().place.column, 4);
  auto after = CsvReader::create("\"a\"b,c\n", {});
  EXPECT_FALSE(after->next(cells));
}

TEST(Csv, HoldsItsLimits) {
  EXPECT_FALSE(CsvReader::create("abcdef", {5, 10, 10}));
  std::vector<CsvCell> cells;
  auto wide = CsvReader::create("1,2,3,4", {100, 10, 3});
  EXPECT_FALSE(wide->next(cells));
  auto tall = CsvReader::create("1\n2\n3\n", {100, 2, 3});
  EXPECT_TRUE(tall->next(cells));
  EXPECT_TRUE(tall->next(cells));
  EXPECT_FALSE(tall->next(cells));
}

TEST(Csv, QuotesACellThatNeedsIt) {
  EXPECT_EQ(csv_cell("plain"), "plain");
  EXPECT_EQ(csv_cell("a,b"), "\"a,b\"");
  EXPECT_EQ(csv_cell("say \"up\""), "\"say \"\"up\"\"\"");
}

TEST(Csv, WritesNumbersWithAPointAndNothingForNoNumber) {
  EXPECT_EQ(csv_number(1.5, 7), "1.5");
  EXPECT_EQ(csv_number(-0.0, 7), "0");
  EXPECT_EQ(csv_number(std::nan(""), 7), "");
  EXPECT_EQ(csv_number(INFINITY, 7), "");
  double value = 0;
  EXPECT_TRUE(parse_number("2.5e-1", value));
  EXPECT_DOUBLE_EQ(value, 0.25);
  for (const char* bad : {"", "1,5", "nan", "inf", "1 ", " 1", "0x10", "1e999"}) {
    EXPECT_FALSE(parse_number(bad, value)) << bad;
  }
}

}  // namespace
}  // namespace lintel::formats
