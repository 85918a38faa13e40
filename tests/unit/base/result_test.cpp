#include "base/result.h"

#include <gtest/gtest.h>
#include <set>

namespace lintel {
namespace {

Result<int> parse_digit(char c) {
  if (c < '0' || c > '9') return fail(ErrorCode::Invalid, "not a digit", "type 0 to 9");
  return c - '0';
}

Result<int> sum_digits(std::string_view text) {
  int sum = 0;
  for (const char c : text) sum += LINTEL_TRY(parse_digit(c));
  return sum;
}

TEST(Result, TryPassesTheValueOn) {
  EXPECT_EQ(sum_digits("123").value(), 6);
}

TEST(Result, TryPassesTheFirstErrorOn) {
  const Result<int> result = sum_digits("1x3");
  ASSERT_FALSE(result.has_value());
  EXPECT_EQ(result.error().code, ErrorCode::Invalid);
  EXPECT_EQ(result.error().mend, "type 0 to 9");
}

TEST(Error, DescriptionNamesFilePlaceAndMend) {
  Error error{ErrorCode::Invalid, "is negative", {}, "enter a length above 0", {}};
  error.place.field = "body.stature_cm";
  error.place.line = 4;
  error.with_file("athlete.json").with_context("reading the athlete");
  const std::string text = describe(error);
  EXPECT_NE(text.find("athlete.json:4"), std::string::npos);
  EXPECT_NE(text.find("body.stature_cm"), std::string::npos);
  EXPECT_NE(text.find("enter a length above 0"), std::string::npos);
  EXPECT_NE(text.find("reading the athlete"), std::string::npos);
}

TEST(Error, EveryCodeHasItsOwnExitStatusThatIsNeitherSuccessNorCrash) {
  std::set<int> seen;
  for (int i = 0; i <= static_cast<int>(ErrorCode::Internal); ++i) {
    const int status = exit_status(static_cast<ErrorCode>(i));
    EXPECT_GE(status, 2);
    EXPECT_LT(status, 64);
    EXPECT_TRUE(seen.insert(status).second);
  }
}

}  // namespace
}  // namespace lintel
