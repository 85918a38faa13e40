#include "formats/located_json.h"

#include <gtest/gtest.h>

namespace lintel::formats {
namespace {

// Places counted by hand.
TEST(LocatedJson, KnowsWhereEveryValueBegins) {
  const char* text =
      "{\n"                                    // 1
      "  \"a\": 12,\n"                         // 2
      "  \"b\" : [ 1,2 , \"x\" ],\n"           // 3
      "\t\"c\": {\"d\": true, \"e\":null},\n"  // 4
      "  \"f\": -1.5e3}\n";                    // 5
  const auto root = parse_json(text, {});
  ASSERT_TRUE(root) << root.error();
  const auto expect_place = [](const JsonValue* value, std::int64_t line, std::int64_t column) {
    ASSERT_NE(value, nullptr);
    EXPECT_EQ(value->line, line);
    EXPECT_EQ(value->column, column);
  };
  expect_place(&*root, 1, 1);
  expect_place(root->find("a"), 2, 8);
  EXPECT_EQ(root->find("a")->number, 12);
  EXPECT_EQ(root->find("a")->key_column, 3);
  const JsonValue* b = root->find("b");
  expect_place(b, 3, 9);
  expect_place(&b->items[0], 3, 11);
  expect_place(&b->items[1], 3, 13);
  expect_place(&b->items[2], 3, 17);
  const JsonValue* c = root->find("c");
  expect_place(c, 4, 7);
  expect_place(c->find("d"), 4, 13);
  expect_place(c->find("e"), 4, 23);
  EXPECT_EQ(c->find("e")->key_column, 19);
  expect_place(root->find("f"), 5, 8);
  EXPECT_EQ(root->find("f")->number, -1500);
}

TEST(LocatedJson, SaysWhereTheTextStopsBeingJson) {
  const auto comma = parse_json("{\n  \"a\": 1\n  \"b\": 2\n}", {});
  ASSERT_FALSE(comma);
  EXPECT_EQ(comma.error().code, ErrorCode::Invalid);
  EXPECT_EQ(comma.error().place.line, 3);
  for (const char* text : {"", "{", "[1,]", "nul", "{\"a\":1}x", "\"\xff\"", "[1 2]", "{a:1}"}) {
    EXPECT_FALSE(parse_json(text, {})) << text;
  }
}

TEST(LocatedJson, RefusesAKeyThatOccursTwice) {
  const auto twice = parse_json("{\"a\": 1,\n \"a\": 2}", {});
  ASSERT_FALSE(twice);
  EXPECT_EQ(twice.error().place.line, 2);
  EXPECT_EQ(twice.error().place.column, 2);
}

TEST(LocatedJson, HoldsItsLimits) {
  const std::string deep(200'000, '[');
  const auto too_deep = parse_json(deep, {});
  ASSERT_FALSE(too_deep);
  EXPECT_EQ(too_deep.error().code, ErrorCode::Limit);
  EXPECT_EQ(too_deep.error().place.column, 17);
  std::string many = "[";
  for (int i = 0; i < 200; ++i) many += "1,";
  many += "1]";
  const auto too_many = parse_json(many, {1 << 20, 16, 100});
  ASSERT_FALSE(too_many);
  EXPECT_EQ(too_many.error().code, ErrorCode::Limit);
  const auto too_large = parse_json(many, {100, 16, 1000});
  ASSERT_FALSE(too_large);
  EXPECT_EQ(too_large.error().code, ErrorCode::Limit);
  std::string keys = "{";
  for (int i = 0; i < 501; ++i) keys += (i > 0 ? ",\"k" : "\"k") + std::to_string(i) + "\":0";
  const auto too_many_keys = parse_json(keys + "}", {});
  ASSERT_FALSE(too_many_keys);
  EXPECT_EQ(too_many_keys.error().code, ErrorCode::Limit);
  EXPECT_TRUE(parse_json(std::string(16, '[') + std::string(16, ']'), {}));
}

TEST(LocatedJson, RefusesANumberThatNoDoubleHolds) {
  const auto huge = parse_json("[1e999]", {});
  ASSERT_FALSE(huge);
  EXPECT_EQ(huge.error().code, ErrorCode::Invalid);
}

TEST(NearestWord, FindsTheTypoAndNothingFarAway) {
  const std::vector<std::string> known = {"stature_cm", "mass_kg", "shank_cm"};
  EXPECT_EQ(nearest_word("statur_cm", known), "stature_cm");
  EXPECT_EQ(nearest_word("mass_gk", known), "mass_kg");
  EXPECT_EQ(nearest_word("weather", known), "");
}

}  // namespace
}  // namespace lintel::formats
