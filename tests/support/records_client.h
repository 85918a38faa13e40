// What tests of the record routes do alike: JSON in and out, the example of Skarnholm.
#pragma once

#include <gmock/gmock.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "support/server_fixture.h"

namespace lintel::test {

using Json = nlohmann::json;

inline std::string example_text(const std::string& name) {
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/examples/skarnholm/" + name);
  if (!file) throw std::runtime_error("no example " + name);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}
inline Json example(const std::string& name) {
  return Json::parse(example_text(name));
}

inline Json json_of(const HttpReply& reply) {
  Json json = Json::parse(reply.body, nullptr, false);
  EXPECT_FALSE(json.is_discarded()) << reply.status << " " << reply.body.substr(0, 300);
  return json;
}

// The answer's JSON; fails unless the status is this one.
inline Json expect_json(const HttpReply& reply, int status) {
  EXPECT_EQ(reply.status, status) << reply.fault << reply.body.substr(0, 600);
  return json_of(reply);
}

inline Headers if_version(std::int64_t version) {
  return {{"If-Match", "\"" + std::to_string(version) + "\""}};
}

// Equal but for the rounding of numbers on their way through a file; the first difference in words.
inline std::string difference(const Json& a, const Json& b, const std::string& at = "") {
  if (a.is_number() && b.is_number()) {
    const double x = a.get<double>(), y = b.get<double>();
    if (std::abs(x - y) <= 1e-5 * std::max({1.0, std::abs(x), std::abs(y)})) return "";
    return at + ": " + a.dump() + " and " + b.dump();
  }
  if (a.type() != b.type())
    return at + ": " + a.dump().substr(0, 80) + " and " + b.dump().substr(0, 80);
  if (a.is_array()) {
    if (a.size() != b.size()) return at + ": other lengths";
    for (std::size_t i = 0; i < a.size(); ++i) {
      const std::string found = difference(a[i], b[i], at + "/" + std::to_string(i));
      if (!found.empty()) return found;
    }
    return "";
  }
  if (a.is_object()) {
    for (const auto& [key, value] : a.items()) {
      if (!b.contains(key)) return at + "/" + key + ": in the first alone";
      const std::string found = difference(value, b[key], at + "/" + key);
      if (!found.empty()) return found;
    }
    for (const auto& [key, value] : b.items()) {
      if (!a.contains(key)) return at + "/" + key + ": in the second alone";
    }
    return "";
  }
  return a == b ? "" : at + ": " + a.dump().substr(0, 120) + " and " + b.dump().substr(0, 120);
}

// The server at one day, a practitioner signed in.
class RecordsTest : public ::testing::Test {
 protected:
  RecordsTest() : server_(options()), client_(server_.as(app::Role::Practitioner)) {}

  static ServerFixture::Options options() {
    ServerFixture::Options options;
    options.now = [] { return std::string("2026-10-05T09:00:00.000Z"); };
    return options;
  }

  // A new athlete with the example's body and setup; answers the record.
  Json add_athlete(const Json& more = Json::object()) {
    Json intake = {{"athlete", example("athlete.json")}};
    intake.update(more, true);
    return expect_json(client_.post("/api/v1/athletes", intake.dump()), 201);
  }
  Json add_visit(const std::string& athlete, const std::string& date) {
    return expect_json(
        client_.post("/api/v1/athletes/" + athlete + "/visits", Json{{"date", date}}.dump()), 201);
  }
  Json put_first(const std::string& path, const Json& document) {
    return expect_json(client_.put(path, document.dump(), if_version(0)), 200);
  }

  ServerFixture server_;
  HttpClient client_;
};

}  // namespace lintel::test
