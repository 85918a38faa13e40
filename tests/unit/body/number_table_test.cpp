#include "body/number_table.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/units.h"
#include "body/tables.h"

namespace lintel::body {
namespace {

constexpr std::string_view kHeader = "key,value,standard_deviation,low,high,unit,source\n";

Result<NumberTable> read(std::string_view rows) {
  return NumberTable::create(std::string(kHeader) + std::string(rows), "test.csv");
}

TEST(NumberTable, ReadsUnitsIntoSi) {
  const auto table = read("a,90,9,0,180,deg,x\nb,12,,,,cm,\"y, 1996\"\nc,5,,,,mm,z\n");
  ASSERT_TRUE(table) << table.error();
  EXPECT_DOUBLE_EQ(table->value("a"), 90.0 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ((*table)["a"].high, 180.0 * kRadiansPerDegree);
  EXPECT_DOUBLE_EQ(table->value("b"), 0.12);
  EXPECT_DOUBLE_EQ(table->value("c"), 0.005);
  EXPECT_EQ((*table)["b"].source, "y, 1996");
  EXPECT_EQ(table->find("d"), nullptr);
}

TEST(NumberTable, RefusesANumberWithoutASource) {
  const auto table = read("a,1,,,,1,x\nb,2,,,,1,\n");
  ASSERT_FALSE(table);
  EXPECT_EQ(table.error().place.line, 3);
  EXPECT_EQ(table.error().place.field, "b");
  EXPECT_THAT(table.error().message, testing::HasSubstr("without a source"));
}

TEST(NumberTable, RefusesBrokenRows) {
  EXPECT_FALSE(read("a,one,,,,1,x\n"));
  EXPECT_FALSE(read("a,1,,,,furlong,x\n"));
  EXPECT_FALSE(read("a,1,,,1,x\n"));
  EXPECT_FALSE(read("a,1,,,,1,x\na,2,,,,1,x\n"));
  EXPECT_FALSE(read("a,nan,,,,1,x\n"));
  EXPECT_FALSE(NumberTable::create("a,1,,,,1,x\n", "no header"));
}

TEST(NumberTable, EveryBuiltInNumberHasASource) {
  for (const NumberTable* table :
       {&segment_length_table(), &body_segment_table(), &range_table(), &limit_table()}) {
    EXPECT_GT(table->rows().size(), 20u);
    for (const Number& row : table->rows()) EXPECT_GE(row.source.size(), 10u) << row.key;
  }
}

}  // namespace
}  // namespace lintel::body
