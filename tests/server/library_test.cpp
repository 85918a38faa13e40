// A workplace's own protocols, drills and standard errors through the API: kept, checked, carried.
#include <atomic>
#include <thread>

#include "library_steps.h"
#include "support/postgres_server.h"

namespace lintel::test {
namespace {

using app::Role;
using ::testing::HasSubstr;
using ::testing::Not;

// ---- Kept as records

TEST_F(LibraryRoutes, AnOwnProtocolIsListedShownDrawnAndHasItsVersions) {
  const HttpReply made = client_.post(kProtocols, own_protocol().dump());
  const Json record = expect_json(made, 201);
  EXPECT_EQ(made.header("location"), kQuayAnkle);
  EXPECT_EQ(made.header("etag"), "\"1\"");
  EXPECT_EQ(record["kind"], "protocol");
  EXPECT_EQ(record["created_by"], server_.person(Role::Practitioner).caller.person);

  const Json row = row_of(get(kProtocols), "protocols", "quay_ankle");
  EXPECT_EQ(row["built_in"], false);
  EXPECT_EQ(row["state"], "active");
  EXPECT_EQ(row["own_error"], false);
  EXPECT_EQ(row["informs"], "ankle_dorsiflexion");
  const HttpReply shown = client_.get(kQuayAnkle);
  const Json card = expect_json(shown, 200);
  EXPECT_EQ(shown.header("etag"), "\"1\"");
  EXPECT_EQ(card["built_in"], false);
  EXPECT_EQ(card["record"]["id"], record["id"]);
  EXPECT_EQ(card["record"]["state"], "active");
  EXPECT_EQ(card["record"]["changed_at"], "2026-10-05T09:00:00.000Z");
  EXPECT_EQ(difference(card["record"]["document"], own_protocol()), "");
  EXPECT_EQ(card["protocol"]["name"], "Ankle on the quay");
  EXPECT_TRUE(card["own_standard_error"].is_null());
  EXPECT_EQ(card["published_standard_error"], card["protocol"]["standard_error"]);
  const HttpReply drawing = client_.get(std::string(kQuayAnkle) + "/drawing.svg");
  EXPECT_EQ(drawing.status, 200);
  EXPECT_THAT(drawing.body, HasSubstr("Ankle on the quay"));

  Json next = own_protocol();
  next["name"] = "Ankle on the pier";
  EXPECT_EQ(put(kQuayAnkle, next, 1)["version"], 2);
  EXPECT_EQ(get(kQuayAnkle)["protocol"]["name"], "Ankle on the pier");
  const Json versions = get("/api/v1/records/" + record["id"].get<std::string>() + "/versions");
  ASSERT_EQ(versions["items"].size(), 2u);
  EXPECT_EQ(versions["items"][0]["document"]["name"], "Ankle on the quay");
  const Json audit = expect_json(server_.as(Role::Owner).get("/api/v1/audit"), 200);
  int rows = 0;
  for (const Json& one : audit["items"]) rows += one["record"] == record["id"] ? 1 : 0;
  EXPECT_GE(rows, 2);
}

TEST_F(LibraryRoutes, ABuiltInOneHasNoRecordAndStaysAsItIs) {
  const HttpReply shown = client_.get("/api/v1/protocols/knee_to_wall_distance");
  const Json card = expect_json(shown, 200);
  EXPECT_EQ(shown.header("etag"), "");
  EXPECT_EQ(card["built_in"], true);
  EXPECT_TRUE(card["record"].is_null());
  EXPECT_TRUE(get("/api/v1/drills/calf-rolling")["record"].is_null());
  Json mine = data_file("protocols/knee-to-wall-distance.json");
  mine["name"] = "Mine";
  EXPECT_EQ(field_of(put("/api/v1/protocols/knee_to_wall_distance", mine, 1, 409)), "id");
  const Json taken = post(kProtocols, mine, 409);
  EXPECT_EQ(field_of(taken), "id");
  EXPECT_THAT(taken["detail"].get<std::string>(), HasSubstr("built-in"));
  EXPECT_EQ(field_of(put("/api/v1/drills/calf-rolling", own_drill("calf-rolling"), 1, 409)), "id");
  post(kDrills, own_drill("calf-rolling"), 409);
  expect_json(client_.post("/api/v1/drills/calf-rolling/archive", R"({"archived":true})"), 409);
  put("/api/v1/protocols/nowhere_to_wall", own_protocol("nowhere_to_wall"), 1, 404);
}

TEST_F(LibraryRoutes, AnIdIsGivenOnceAndAChangeNamesItsVersion) {
  post(kProtocols, own_protocol());
  EXPECT_EQ(field_of(post(kProtocols, own_protocol(), 409)), "id");
  archive(kQuayAnkle, true);
  EXPECT_EQ(field_of(post(kProtocols, own_protocol(), 409)), "id");  // archived ones keep theirs
  post(kDrills, own_drill());
  post(kDrills, own_drill(), 409);
  put(kQuayCalf, own_drill(), 7, 412);
  EXPECT_EQ(client_.put(kQuayCalf, own_drill().dump()).status, 428);
  const Headers stale = if_version(7);
  EXPECT_EQ(client_.post(std::string(kQuayCalf) + "/archive", R"({"archived":true})", stale).status,
            412);
  EXPECT_EQ(
      client_.post(std::string(kQuayCalf) + "/archive", R"({"archived":true,"version":7})").status,
      409);
  EXPECT_EQ(client_.post(std::string(kQuayCalf) + "/archive", R"({"archive":true})").status, 422);
  EXPECT_EQ(get(kQuayCalf)["record"]["version"], 1);
}

// Of two at once one gets the id, on both engines.
class LibraryAtOnce : public ::testing::TestWithParam<bool> {};
INSTANTIATE_TEST_SUITE_P(Engines, LibraryAtOnce, ::testing::Bool(),
                         [](const auto& engine) { return engine.param ? "Postgresql" : "Sqlite"; });

TEST_P(LibraryAtOnce, OneOfTwoTakesTheId) {
  ServerFixture::Options options;
  if (GetParam()) {
    std::string why_not;
    PostgresServer* server = PostgresServer::shared(why_not);
    if (server == nullptr) GTEST_SKIP() << why_not;
    options.database = server->new_database();
  }
  ServerFixture fixture(options);
  std::vector<HttpClient> clients;
  clients.reserve(6);
  for (int i = 0; i < 6; ++i) {
    clients.push_back(fixture.as(i % 2 == 0 ? Role::Practitioner : Role::Owner));
  }
  std::atomic<int> made{0}, refused{0}, other{0};
  std::vector<std::thread> threads;
  threads.reserve(8);
  for (std::size_t i = 0; i < clients.size(); ++i) {
    threads.emplace_back([&, i] {
      Json mine = own_protocol();
      mine["purpose"] = "As person " + std::to_string(i) + " does it.";
      const int status = clients[i].post(kProtocols, mine.dump()).status;
      (status == 201 ? made : status == 409 ? refused : other)++;
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(made, 1);
  EXPECT_EQ(refused, 5);
  EXPECT_EQ(other, 0);
  const Json card = expect_json(fixture.as(Role::Reviewer).get(kQuayAnkle), 200);
  EXPECT_EQ(card["record"]["version"], 1);
}

// ---- Checked

TEST_F(LibraryRoutes, EveryFaultIsToldAndNothingIsStored) {
  Json bad = own_protocol();
  bad["tries"] = 40;
  bad["standard_error"].erase("source");
  bad["colour"] = "teal";
  const std::string before = digest();
  const Json problem = post(kProtocols, bad, 422);
  std::set<std::string> fields;
  for (const Json& fault : problem["faults"]) fields.insert(fault["field"]);
  EXPECT_EQ(fields, (std::set<std::string>{"tries", "standard_error.source", "colour"}));

  const std::string check = std::string(kProtocols) + "/check";
  const Json checked = post(check.c_str(), bad, 200);
  EXPECT_EQ(checked["faults"].size(), 3u);
  EXPECT_FALSE(checked["faults"][0]["detail"].get<std::string>().empty());
  EXPECT_THAT(checked["drawing_svg"].get<std::string>(), HasSubstr("<svg"));
  bad["drawing"]["panels"][0]["view"] = "behind";
  const Json undrawn = post(check.c_str(), bad, 200);
  EXPECT_TRUE(undrawn["drawing_svg"].is_null());
  EXPECT_GE(undrawn["faults"].size(), 4u);
  const Json good = post(check.c_str(), own_protocol(), 200);
  EXPECT_TRUE(good["faults"].empty());
  EXPECT_EQ(post((std::string(kDrills) + "/check").c_str(), own_drill("calf-rolling"),
                 200)["faults"][0]["field"],
            "id");
  EXPECT_EQ(digest(), before);

  post(kProtocols, own_protocol());
  EXPECT_EQ(post(check.c_str(), own_protocol(), 200)["faults"][0]["field"], "id");
  EXPECT_TRUE(post((check + "?changes=quay_ankle").c_str(), own_protocol(), 200)["faults"].empty());
}

TEST_F(LibraryRoutes, HostileBodiesAreRefused) {
  const std::string before = digest();
  const std::string deep = std::string(5000, '[') + std::string(5000, ']');
  std::string wide = own_protocol().dump();
  wide.insert(1, R"("purpose":")" + std::string(300 << 10, 'x') + "\",");
  std::string many = "{";
  for (int i = 0; i < 3000; ++i) many += "\"k" + std::to_string(i) + "\":1,";
  many.back() = '}';
  Json control = own_protocol();
  control["name"] = std::string("quay\0ankle", 10);
  for (const char* path : {kProtocols, kDrills}) {
    for (const std::string& body :
         {deep, wide, many, control.dump(), std::string("{\"id\":\"\xff\"}"), std::string("7")}) {
      const int status = client_.post(path, body).status;
      EXPECT_TRUE(status == 422 || status == 413) << path << " " << status << body.substr(0, 60);
    }
    EXPECT_EQ(client_.send("POST", path, "<drill/>", {{"Content-Type", "text/xml"}}).status, 415);
  }
  EXPECT_EQ(client_.post(std::string(kProtocols) + "/check", wide).status, 413);
  EXPECT_EQ(
      expect_json(client_.post(std::string(kProtocols) + "/check", deep), 200)["faults"].size(),
      1u);
  const std::string error = "/api/v1/protocols/knee_to_wall_distance/standard-error";
  EXPECT_EQ(client_.put(error, std::string(20'000, ' ')).status, 413);
  EXPECT_EQ(client_.put(error, R"({"value":1e308,"tries":3,"source":"own, 2026"})").status, 422);
  EXPECT_EQ(client_.put(error, R"({"value":-1,"tries":0,"source":"own, 2026"})").status, 422);
  EXPECT_EQ(digest(), before);
}

TEST_F(LibraryRoutes, WhatResultsAreKeptByDoesNotChange) {
  post(kProtocols, own_protocol());
  Json changed = own_protocol();
  changed["sides"] = "none";
  changed.erase("side_difference");
  EXPECT_EQ(put(kQuayAnkle, changed, 1, 422)["faults"][0]["field"], "sides");
  changed = own_protocol();
  changed["unit"] = "cm";
  changed["informs"] = {{"text", "Nothing for the model."},
                        {"source", "common practice, no source"}};
  changed.erase("photo");
  const Json unit = put(kQuayAnkle, changed, 1, 422);
  EXPECT_EQ(unit["faults"][0]["field"], "unit");
  EXPECT_THAT(unit["faults"][0]["detail"].get<std::string>(), HasSubstr("\"deg\""));
  EXPECT_EQ(put(kQuayAnkle, own_protocol("pier_ankle"), 1, 422)["faults"][0]["field"], "id");

  // No stored result may fall out of the range; before there are any, the range is free.
  Json narrow = own_protocol();
  narrow["allowed_range"] = {{"low", 20}, {"high", 50}};
  narrow.erase("pass_line");
  narrow.erase("reach");
  put(kQuayAnkle, narrow, 1);
  put(kQuayAnkle, own_protocol(), 2);
  visit_with(add_athlete()["id"], "2026-10-01", "quay_ankle", 12, 30);
  const Json refused = put(kQuayAnkle, narrow, 3, 422);
  EXPECT_EQ(refused["faults"][0]["field"], "allowed_range");
  EXPECT_THAT(refused["faults"][0]["detail"].get<std::string>(), HasSubstr("2026-10-01"));
  narrow["allowed_range"]["low"] = 12;
  put(kQuayAnkle, narrow, 3);

  post(kDrills, own_drill());
  Json shorter = own_drill();
  shorter["ladder"].erase(1);
  EXPECT_EQ(put(kQuayCalf, shorter, 1, 422)["faults"][0]["field"], "ladder");
  Json circle = own_drill();
  circle["prerequisites"] = {{{"drill", "quay-calf"}, {"step", 1}}};
  EXPECT_EQ(put(kQuayCalf, circle, 1, 422)["faults"][0]["field"], "prerequisites");
  Json nothing = own_drill("quay-other");
  nothing["prerequisites"] = {{{"drill", "no-such-drill"}, {"step", 1}}};
  EXPECT_EQ(post(kDrills, nothing, 422)["faults"][0]["field"], "prerequisites");
}

// A later program may be stricter: then one entry is out of force, and the rest goes on.
TEST_F(LibraryRoutes, OneThatCannotBeReadStopsNothingElse) {
  const std::string record = post(kProtocols, own_protocol())["id"];
  post(kDrills, own_drill());
  const std::string athlete = add_athlete()["id"];
  const std::string visit = visit_with(athlete, "2026-10-01", "knee_to_wall_angle", 20, 22);
  value_of(
      store::write_value<store::Record>(*server_.practice().database, [&](store::Transaction& t) {
        return store::replace_record(t, record, 1, R"({"schema":"lintel-protocol-0"})", {}, "",
                                     {"somebody", "2026-10-05T09:00:00.000Z"});
      }));
  EXPECT_EQ(ids_of(get(kProtocols), "protocols").count("quay_ankle"), 0u);
  EXPECT_EQ(ids_of(get(kDrills), "drills").count("quay-calf"), 1u);
  EXPECT_EQ(get(visit + "/tests")["outcome"]["results"].size(), 2u);
  EXPECT_THAT(get(kQuayAnkle, 422)["detail"].get<std::string>(), HasSubstr("not in force"));
  post(kProtocols, own_protocol(), 409);  // the id is still taken
  put(kQuayAnkle, own_protocol(), 2);
  EXPECT_EQ(get(kQuayAnkle)["record"]["version"], 3);
}

// ---- Whose it is

TEST_F(LibraryRoutes, AnotherOrganizationSeesNoneOfIt) {
  post(kProtocols, own_protocol());
  post(kDrills, own_drill());
  expect_json(client_.put("/api/v1/protocols/knee_to_wall_angle/standard-error",
                          R"({"value":0.8,"tries":1,"source":"own, 2026"})"),
              200);
  HttpClient other = server_.as(Role::Practitioner, 1);
  const std::string before = other.get(kProtocols).body;
  EXPECT_THAT(before, Not(HasSubstr("quay")));
  EXPECT_THAT(other.get("/api/v1/drills?archived=true").body, Not(HasSubstr("quay")));
  for (const std::string& path : {std::string(kQuayAnkle), std::string(kQuayCalf),
                                  std::string(kQuayAnkle) + "/drawing.svg"}) {
    EXPECT_EQ(other.get(path).status, 404) << path;
  }
  const Json card = expect_json(other.get("/api/v1/protocols/knee_to_wall_angle"), 200);
  EXPECT_TRUE(card["own_standard_error"].is_null());
  EXPECT_EQ(card["protocol"]["standard_error"]["value"], 1.7);
  EXPECT_EQ(other.put(kQuayAnkle, own_protocol().dump(), if_version(1)).status, 404);
  EXPECT_EQ(other.post(std::string(kQuayAnkle) + "/archive", R"({"archived":true})").status, 404);
  EXPECT_EQ(other.post(kProtocols, own_protocol().dump()).status, 201);  // theirs, of the same id
  EXPECT_EQ(get(kQuayAnkle)["record"]["version"], 1);
}

TEST_F(LibraryRoutes, WhoMayWriteRecordsMayChangeItAndEverybodyReadsIt) {
  post(kProtocols, own_protocol());
  post(kDrills, own_drill());
  for (const Role role :
       {Role::Owner, Role::Practitioner, Role::Assistant, Role::Athlete, Role::Reviewer}) {
    HttpClient client = server_.as(role);
    const bool writes = role == Role::Owner || role == Role::Practitioner;
    EXPECT_EQ(client.get(kQuayAnkle).status, 200) << app::role_name(role);
    EXPECT_EQ(client.get(kQuayCalf).status, 200) << app::role_name(role);
    const auto allowed = [&](int status) { return writes ? status / 100 == 2 : status == 403; };
    const Json card = expect_json(client.get(kQuayAnkle), 200);
    const Headers version = if_version(card["record"]["version"].get<int>());
    EXPECT_TRUE(allowed(client.put(kQuayAnkle, own_protocol().dump(), version).status));
    EXPECT_TRUE(
        allowed(client.post(std::string(kProtocols) + "/check", own_protocol().dump()).status));
    EXPECT_TRUE(
        allowed(client.post(std::string(kQuayCalf) + "/archive", R"({"archived":false})").status));
    EXPECT_TRUE(allowed(client
                            .put(std::string(kQuayAnkle) + "/standard-error",
                                 R"({"value":0.8,"tries":1,"source":"own, 2026"})")
                            .status));
    EXPECT_TRUE(allowed(client.remove(std::string(kQuayAnkle) + "/standard-error").status));
    const int computed = client
                             .send("POST", std::string(kQuayAnkle) + "/reliability",
                                   "a,b\n8,9\n7,7.5\n10,9\n", {{"Content-Type", "text/csv"}})
                             .status;
    EXPECT_EQ(computed, role == Role::Athlete ? 403 : 200) << app::role_name(role);
  }
}

// ---- Out and in

TEST_F(LibraryRoutes, AnExportCarriesWhatItsRecordsName) {
  post(kProtocols, own_protocol());
  post(kProtocols, own_protocol("not_named"));
  Json deeper = own_drill("quay-deeper");
  post(kDrills, own_drill());
  deeper["prerequisites"] = {{{"drill", "quay-calf"}, {"step", 2}}};
  post(kDrills, deeper);
  const std::string athlete = add_athlete()["id"];
  const std::string visit = visit_with(athlete, "2026-10-01", "quay_ankle", 20, 22);
  const Json log = {{"date", "2026-10-05"}, {"drills", {{{"drill", "quay-deeper"}, {"sets", 3}}}}};
  expect_json(client_.post("/api/v1/athletes/" + athlete + "/log", log.dump()), 201);
  archive(kQuayAnkle, true);
  const std::string zip = client_.get("/api/v1/athletes/" + athlete + "/export").body;
  const Json here = get(visit + "/tests");

  const Headers type = {{"Content-Type", "application/zip"}};
  ServerFixture elsewhere(options());
  HttpClient there = elsewhere.as(Role::Practitioner);
  const Json done = expect_json(there.send("POST", "/api/v1/imports", zip, type), 201);
  EXPECT_EQ(done["library"], (Json{"quay-calf", "quay-deeper", "quay_ankle"}));
  EXPECT_EQ(difference(expect_json(there.get(visit + "/tests"), 200)["outcome"], here["outcome"]),
            "");
  const Json card = expect_json(there.get(kQuayAnkle), 200);
  EXPECT_EQ(card["record"]["state"], "archived");
  EXPECT_EQ(difference(card["record"]["document"], own_protocol()), "");
  EXPECT_EQ(there.get("/api/v1/protocols/not_named").status, 404);
  EXPECT_EQ(there.get("/api/v1/athletes/" + athlete + "/progress").status, 200);

  // What is there already stays as it is; where it measures something else, nothing comes in.
  ServerFixture alike(options());
  Json theirs = own_protocol();
  theirs["name"] = "Ankle by the crane";
  HttpClient at_alike = alike.as(Role::Practitioner);
  ASSERT_EQ(at_alike.post(kProtocols, theirs.dump()).status, 201);
  expect_json(at_alike.send("POST", "/api/v1/imports", zip, type), 201);
  EXPECT_EQ(expect_json(at_alike.get(kQuayAnkle), 200)["protocol"]["name"], "Ankle by the crane");
  for (const bool narrow : {false, true}) {
    ServerFixture unlike(options());
    HttpClient at_unlike = unlike.as(Role::Practitioner);
    Json other = own_protocol();
    if (narrow) {
      other["allowed_range"] = {{"low", 25}, {"high", 60}};
    } else {
      other["unit"] = "cm";
      other["informs"] = {{"text", "Nothing."}, {"source", "common practice, no source"}};
      other.erase("photo");
    }
    ASSERT_EQ(at_unlike.post(kProtocols, other.dump()).status, 201);
    expect_json(at_unlike.send("POST", "/api/v1/imports", zip, type), 409);
    EXPECT_EQ(at_unlike.get("/api/v1/athletes/" + athlete).status, 404);
    EXPECT_EQ(at_unlike.get(kQuayCalf).status, 404);
  }
}

}  // namespace
}  // namespace lintel::test
