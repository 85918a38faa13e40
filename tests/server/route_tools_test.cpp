#include "server/route_tools.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace lintel::server {
namespace {

Request with_query(std::string name, std::string value) {
  Request request;
  request.query[std::move(name)] = std::move(value);
  return request;
}

Request with_body(std::string body, std::string type = "application/json") {
  Request request;
  request.method = Method::Post;
  request.body = std::move(body);
  request.headers["content-type"] = std::move(type);
  return request;
}

TEST(QueryNumber, MustBeAWholeNumberInsideItsLimits) {
  EXPECT_EQ(*query_integer(with_query("limit", "20"), "limit", 50, 1, 500), 20);
  EXPECT_EQ(*query_integer(Request{}, "limit", 50, 1, 500), 50);
  for (const char* text : {"", "0", "501", "x", "1.5", "1 ", "+1", "99999999999999999999"}) {
    const auto answer = query_integer(with_query("limit", text), "limit", 50, 1, 500);
    ASSERT_FALSE(answer) << text;
    EXPECT_EQ(answer.error().place.field, "limit");
  }
  EXPECT_DOUBLE_EQ(*query_number(with_query("x", "2.5"), "x", 0, 0, 3), 2.5);
  for (const char* text : {"nan", "inf", "-1", "1e9"}) {
    EXPECT_FALSE(query_number(with_query("x", text), "x", 0, 0, 3)) << text;
  }
}

TEST(JsonBody, TellsLineAndColumnOfAFault) {
  const auto answer = json_object(with_body("{\n  \"name\": Ansa\n}"));
  ASSERT_FALSE(answer);
  EXPECT_EQ(answer.error().code, ErrorCode::Invalid);
  EXPECT_EQ(answer.error().place.line, 2);
  EXPECT_GE(answer.error().place.column, 11);
}

TEST(JsonBody, RefusesOtherTypesDepthAndWhatIsNoObject) {
  EXPECT_EQ(json_object(with_body("{}", "text/plain")).error().code, ErrorCode::Unsupported);
  EXPECT_TRUE(json_object(with_body("{}", "application/json; charset=utf-8")));
  EXPECT_TRUE(json_object(with_body("{}", "application/problem+json")));
  EXPECT_FALSE(json_object(with_body("")));
  EXPECT_FALSE(json_object(with_body("[]")));
  EXPECT_FALSE(json_object(with_body("{\"a\":\"\xff\"}")));
  const std::string deep = "{\"a\":" + std::string(5000, '[') + std::string(5000, ']') + "}";
  EXPECT_FALSE(json_object(with_body(deep)));
}

TEST(JsonBody, NamesTheMemberThatIsWrong) {
  const auto body = json_object(with_body("{\"name\": 7, \"sets\": 2.5, \"nme\": 1}"));
  ASSERT_TRUE(body);
  EXPECT_EQ(text_member(*body, "name").error().place.field, "name");
  EXPECT_EQ(text_member(*body, "date").error().message, "is missing");
  EXPECT_FALSE(integer_member_or(*body, "sets", 1));
  EXPECT_DOUBLE_EQ(*number_member(*body, "sets"), 2.5);
  EXPECT_EQ(only_members(*body, {"name", "sets"}).error().place.field, "nme");
}

TEST(IfMatch, AsksForTheVersion) {
  Request request;
  EXPECT_EQ(problem(if_match(request).error()).status, 428);
  request.headers["if-match"] = etag(12);
  EXPECT_EQ(*if_match(request), 12);
  request.headers["if-match"] = "*";
  EXPECT_EQ(*if_match(request), 0);
  for (const char* text :
       {"12", "\"\"", "\"x\"", "W/\"12\"", "\"0\"", "\"-1\"", "\"", "\"1\", \"2\""}) {
    request.headers["if-match"] = text;
    EXPECT_FALSE(if_match(request)) << text;
  }
}

TEST(Csv, IsChosenByFormatThenByAccept) {
  EXPECT_TRUE(wants_csv(with_query("format", "csv")));
  EXPECT_FALSE(wants_csv(with_query("format", "json")));
  Request request;
  EXPECT_FALSE(wants_csv(request));
  request.headers["accept"] = "*/*";
  EXPECT_FALSE(wants_csv(request));
  request.headers["accept"] = "text/csv, application/json;q=0.5";
  EXPECT_TRUE(wants_csv(request));
  EXPECT_EQ(*csv("a", "Ansa \"x\"\r\n.csv").header("Content-Disposition"),
            "attachment; filename=\"Ansa--x---.csv\"");
}

// RFC 9457, section 3.1: the members, and their types.
TEST(Problem, HasTheMembersOfRfc9457AndOurs) {
  const Error error{ErrorCode::Invalid,
                    "is not a number",
                    {"/home/x/ansa.json", 4, 9, "mass_kg", -1},
                    "enter the mass",
                    {}};
  const Response response = problem(error);
  EXPECT_EQ(response.status, 422);
  EXPECT_EQ(*response.header("content-type"), "application/problem+json");
  const auto json = nlohmann::json::parse(std::get<std::string>(response.body));
  EXPECT_EQ(json.at("type"), "urn:lintel:problem:invalid");
  EXPECT_TRUE(json.at("title").is_string());
  EXPECT_EQ(json.at("status"), 422);
  EXPECT_EQ(json.at("detail"), "is not a number");
  EXPECT_EQ(json.at("place").at("field"), "mass_kg");
  EXPECT_EQ(json.at("place").at("line"), 4);
  EXPECT_EQ(json.at("place").at("file"), "ansa.json");  // without the machine's folders
  EXPECT_EQ(json.at("mend"), "enter the mass");
}

TEST(Problem, TellsNothingOfFaultsInside) {
  const Response response = problem(Error{ErrorCode::Internal, "vector index 7", {}, {}, {}});
  EXPECT_EQ(response.status, 500);
  EXPECT_EQ(std::get<std::string>(response.body).find("vector"), std::string::npos);
}

TEST(Problem, ListsEveryFault) {
  const Error first{ErrorCode::Invalid, "two fields do not hold", {}, {}, {}};
  const Error name{ErrorCode::Invalid, "is missing", {"", 0, 0, "name", -1}, "add it", {}};
  const auto json = nlohmann::json::parse(std::get<std::string>(problem(first, {name, name}).body));
  ASSERT_EQ(json.at("faults").size(), 2U);
  EXPECT_EQ(json.at("faults")[0].at("field"), "name");
  EXPECT_EQ(json.at("faults")[0].at("mend"), "add it");
}

}  // namespace
}  // namespace lintel::server
