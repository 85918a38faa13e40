// What the tests of a workplace's own library do alike.
#pragma once

#include <set>

#include "store/records.h"
#include "support/own_library.h"
#include "support/records_client.h"

namespace lintel::test {

inline constexpr const char* kProtocols = "/api/v1/protocols";
inline constexpr const char* kDrills = "/api/v1/drills";
inline constexpr const char* kQuayAnkle = "/api/v1/protocols/quay_ankle";
inline constexpr const char* kQuayCalf = "/api/v1/drills/quay-calf";

inline std::string field_of(const Json& problem) {
  return problem.contains("place") ? problem["place"].value("field", "") : "";
}

class LibraryRoutes : public RecordsTest {
 protected:
  Json post(const char* path, const Json& document, int status = 201) {
    return expect_json(client_.post(path, document.dump()), status);
  }
  Json get(const std::string& path, int status = 200) {
    return expect_json(client_.get(path), status);
  }
  Json put(const std::string& path, const Json& document, int version, int status = 200) {
    return expect_json(client_.put(path, document.dump(), if_version(version)), status);
  }
  Json archive(const std::string& path, bool archived) {
    return expect_json(client_.post(path + "/archive", Json{{"archived", archived}}.dump()), 200);
  }
  static std::set<std::string> ids_of(const Json& list, const char* member) {
    std::set<std::string> ids;
    for (const Json& row : list[member]) ids.insert(row["id"]);
    return ids;
  }
  static Json row_of(const Json& list, const char* member, const std::string& id) {
    for (const Json& row : list[member]) {
      if (row["id"] == id) return row;
    }
    return nullptr;
  }
  std::string digest() {
    return value_of(store::read_value<std::string>(
        *server_.practice().database,
        [](store::Transaction& t) { return store::digest_of_everything(t); }));
  }
  // A visit with one try of a protocol on both sides; answers the visit's path.
  std::string visit_with(const std::string& athlete, const std::string& date,
                         const std::string& protocol, double left, double right) {
    const std::string visit = "/api/v1/visits/" + add_visit(athlete, date)["id"].get<std::string>();
    Json results;
    for (const auto& [side, value] : {std::pair("left", left), std::pair("right", right)}) {
      results.push_back({{"protocol", protocol}, {"side", side}, {"tries_deg", {value}}});
    }
    put_first(visit + "/tests", {{"results", results}});
    return visit;
  }
};

}  // namespace lintel::test
