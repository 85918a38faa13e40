#include "formats/ratings_csv.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace lintel::formats {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

TEST(RatingsCsv, ReadsHeaderSubjectsAndNumbers) {
  const auto table =
      read_ratings_csv("subject,day1,day2\r\n1,36.8, 39.9\r\n2,40.8,41.7\r\n\r\n", "r.csv");
  ASSERT_TRUE(table) << table.error();
  EXPECT_THAT(table->columns, ElementsAre("day1", "day2"));
  EXPECT_THAT(table->subjects, ElementsAre("1", "2"));
  EXPECT_THAT(table->rows, ElementsAre(ElementsAre(36.8, 39.9), ElementsAre(40.8, 41.7)));
}

TEST(RatingsCsv, AColumnOfWordsNamesTheSubjectsWhateverItsHeading) {
  const auto table = read_ratings_csv("lifter,a,b\nNo 1,1,2\nNo 2,3,4\n", "r.csv");
  ASSERT_TRUE(table);
  EXPECT_THAT(table->columns, ElementsAre("a", "b"));
}

TEST(RatingsCsv, WithoutNamesEveryColumnIsARating) {
  const auto table = read_ratings_csv("a,b\n1,2\n3,4", "r.csv");
  ASSERT_TRUE(table);
  EXPECT_EQ(table->columns.size(), 2u);
  EXPECT_EQ(table->rows.size(), 2u);
}

TEST(RatingsCsv, FaultsSayWhereAndWhatToDo) {
  const auto fault = [](const char* text) {
    const auto table = read_ratings_csv(text, "r.csv");
    EXPECT_FALSE(table) << text;
    return table ? Error{} : table.error();
  };
  const Error missing = fault("id,a,b\n1,2,3\n2,,4\n");
  EXPECT_EQ(missing.place.file, "r.csv");
  EXPECT_EQ(missing.place.line, 3);
  EXPECT_EQ(missing.place.column, 3);
  EXPECT_EQ(missing.place.field, "a");
  EXPECT_THAT(missing.message, HasSubstr("missing"));
  EXPECT_THAT(fault("id,a,b\n1,2,nan\n").message, HasSubstr("not a number"));
  EXPECT_THAT(fault("id,a,b\n1,\"2,5\",3\n").mend, HasSubstr("not a comma"));
  EXPECT_THAT(fault("id,a,b\n1,2\n").message, HasSubstr("2 cells"));
  EXPECT_THAT(fault("").message, HasSubstr("empty"));
  EXPECT_THAT(fault("\n\n").message, HasSubstr("empty"));
  EXPECT_EQ(fault(("a\n" + std::string(11000, '\n') + "1").c_str()).code, ErrorCode::Limit);
}

TEST(RatingsCsv, AHeaderAloneIsATableWithoutRows) {
  const auto table = read_ratings_csv("id,a,b\n", "r.csv");
  ASSERT_TRUE(table);
  EXPECT_TRUE(table->rows.empty());
}

}  // namespace
}  // namespace lintel::formats
