// A workplace's own protocols, drills and standard errors in everything that is computed.
#include "library_steps.h"

namespace lintel::test {
namespace {

using ::testing::HasSubstr;

// ---- In force

// The own protocol fills the model's ankle as the built-in one of the same unit does.
TEST_F(LibraryRoutes, AnOwnProtocolFillsTheModel) {
  Json own = own_protocol();
  own["informs"]["factor"] = 0.5;
  own["informs"]["offset"] = 10;
  own["allowed_range"] = {{"low", 0}, {"high", 80}};
  own["standard_error"]["value"] = 3.4;
  post(kProtocols, own);
  const Json example_athlete = add_athlete();
  const std::string athlete = example_athlete["id"];
  const std::string bare =
      "/api/v1/visits/" + add_visit(athlete, "2026-10-01")["id"].get<std::string>();
  const Json before = get(bare + "/findings?draws=200")["explanation"];
  // 2 (22 - 10) = 24 of the own one are 22 degrees of the ankle, its error twice as large.
  const std::string with_own = visit_with(athlete, "2026-10-02", "quay_ankle", 24, 30);
  const Json tests = get(with_own + "/tests");
  EXPECT_EQ(tests["outcome"]["results"][0]["name"], "Ankle on the quay");
  EXPECT_EQ(tests["outcome"]["results"][0]["informs"]["test"], "ankle_dorsiflexion");
  const Json by_own = get(with_own + "/findings?draws=200");
  const std::string other = add_athlete()["id"];
  const std::string with_built_in = visit_with(other, "2026-10-02", "knee_to_wall_angle", 22, 25);
  const Json by_built_in = get(with_built_in + "/findings?draws=200");
  EXPECT_NE(difference(by_own["explanation"], before), "");
  Json same = by_own["explanation"];
  same["athlete"] = by_built_in["explanation"]["athlete"];
  EXPECT_EQ(difference(same, by_built_in["explanation"]), "");

  // And it goes out with the visit, into the tables and into what another visit starts from.
  EXPECT_THAT(client_.get("/api/v1/athletes/" + athlete + "/fhir").body,
              HasSubstr("Ankle on the quay"));
  EXPECT_EQ(get("/api/v1/cohort/range?protocol=quay_ankle")["items"].size(), 2u);
  const Json trends = get("/api/v1/athletes/" + athlete + "/trends");
  bool seen = false;
  for (const Json& series : trends["series"]) {
    if (series["name"] != "quay_ankle") continue;
    seen = true;
    EXPECT_EQ(series["label"], "Ankle on the quay");
    EXPECT_EQ(series["better"], "higher");
  }
  EXPECT_TRUE(seen);
  const Json progress = get("/api/v1/athletes/" + athlete + "/progress");
  EXPECT_THAT(progress["tests"].dump(), HasSubstr("quay_ankle"));
}

// By hand: one try has sqrt(SEM^2 (1 - share) + SEM^2 share tries); published 1.7 deg of 3 tries,
// share 0.5: 1.7 sqrt(2) = 2.404163. Own 0.8 of 1 try: 0.8.
// MDC95 = 1.96 sqrt(2.404163^2 + 0.8^2) = 1.96 * 2.533772 = 4.966193.
TEST_F(LibraryRoutes, AnOwnStandardErrorIsInForceFromThenOn) {
  const std::string path = "/api/v1/protocols/knee_to_wall_angle";
  const std::string athlete = add_athlete()["id"];
  visit_with(athlete, "2026-09-01", "knee_to_wall_angle", 20, 20);
  const Json own = {{"value", 0.8}, {"tries", 1}, {"source", "12 people twice, Skarnholm 2026"}};
  const Json stored = expect_json(client_.put(path + "/standard-error", own.dump()), 200);
  EXPECT_EQ(stored["version"], 1);
  EXPECT_EQ(stored["document"]["unit"], "deg");
  EXPECT_EQ(client_.put(path + "/standard-error", own.dump()).status, 428);
  put(path + "/standard-error", own, 0, 412);
  put(path + "/standard-error", own, 5, 412);

  const Json card = get(path);
  EXPECT_EQ(card["built_in"], true);
  EXPECT_EQ(card["protocol"]["standard_error"]["value"], 0.8);
  EXPECT_EQ(card["published_standard_error"]["value"], 1.7);
  EXPECT_EQ(card["own_standard_error"]["source"], own["source"]);
  EXPECT_EQ(card["own_standard_error"]["version"], 1);
  EXPECT_EQ(row_of(get(kProtocols), "protocols", "knee_to_wall_angle")["own_error"], true);

  const std::string second = visit_with(athlete, "2026-10-01", "knee_to_wall_angle", 26, 26);
  const Json outcome = get(second + "/tests")["outcome"]["results"][0];
  EXPECT_EQ(outcome["own_error"], true);
  EXPECT_EQ(outcome["error_source"], own["source"]);
  EXPECT_NEAR(outcome["result_deg"]["standard_error"].get<double>(), 0.8, 1e-6);
  for (const Json& series : get("/api/v1/athletes/" + athlete + "/trends")["series"]) {
    EXPECT_NEAR(series["points"][0]["standard_error"].get<double>(), 2.404163, 1e-5);
    EXPECT_NEAR(series["points"][1]["standard_error"].get<double>(), 0.8, 1e-5);
    EXPECT_NEAR(series["detectable_change"].get<double>(), 4.966193, 1e-5);
  }

  const Json back = expect_json(client_.remove(path + "/standard-error"), 200);
  EXPECT_TRUE(back["own_standard_error"].is_null());
  EXPECT_EQ(back["protocol"]["standard_error"]["value"], 1.7);
  EXPECT_EQ(client_.remove(path + "/standard-error").status, 404);
  const std::string third = visit_with(athlete, "2026-10-04", "knee_to_wall_angle", 26, 26);
  EXPECT_NEAR(
      get(third + "/tests")["outcome"]["results"][0]["result_deg"]["standard_error"].get<double>(),
      2.404163, 1e-5);
  expect_json(client_.put(path + "/standard-error", own.dump()), 200);  // and again
  EXPECT_EQ(get(path)["own_standard_error"]["value"], 0.8);
}

TEST_F(LibraryRoutes, AnOwnDrillIsPlannedLoggedAndReadWhenItIsArchived) {
  post(kDrills, own_drill());
  const std::string id = add_athlete()["id"];
  const std::string athlete = "/api/v1/athletes/" + id;
  const std::string visit = visit_with(id, "2026-10-05", "knee_to_wall_angle", 14, 14);
  const std::string wish = R"({"minutes":20,"sessions":4,"weeks":6})";
  const Json made = expect_json(client_.post(visit + "/plan", wish), 201);
  const Json planned = row_of(made["document"]["plan"], "drills", "quay-calf");
  ASSERT_FALSE(planned.is_null()) << made["document"]["plan"]["drills"].dump();
  EXPECT_EQ(planned["name"], "Calf on the bollard");
  const std::string plan = "/api/v1/plans/" + made["id"].get<std::string>();
  EXPECT_EQ(client_.get(plan + "/files/handout.pdf").status, 200);
  EXPECT_THAT(get(athlete + "/today").dump(), HasSubstr("quay-calf"));

  archive(kQuayCalf, true);
  EXPECT_EQ(ids_of(get(kDrills), "drills").count("quay-calf"), 0u);
  EXPECT_EQ(row_of(get("/api/v1/drills?archived=true"), "drills", "quay-calf")["state"],
            "archived");
  const std::string other =
      visit_with(add_athlete()["id"], "2026-10-05", "knee_to_wall_angle", 14, 14);
  const Json next = expect_json(client_.post(other + "/plan", wish), 201);
  EXPECT_TRUE(row_of(next["document"]["plan"], "drills", "quay-calf").is_null());
  // The plan that has it goes on: edits, days, what was done.
  put(plan, {{"edits", {{{"drill", "quay-calf"}, {"sets", 2}, {"step", 2}}}}}, 1);
  const Json log = {{"date", "2026-10-05"},
                    {"drills", {{{"drill", "quay-calf"}, {"sets", 3}, {"step", 2}}}}};
  EXPECT_EQ(client_.post(athlete + "/log", log.dump()).status, 201);
  EXPECT_THAT(get(athlete + "/progress").dump(), HasSubstr("quay-calf"));
  EXPECT_EQ(client_.get(std::string(kQuayCalf) + "/drawing.svg").status, 200);
  EXPECT_EQ(get(kQuayCalf)["record"]["state"], "archived");
  archive(kQuayCalf, false);
  EXPECT_EQ(ids_of(get(kDrills), "drills").count("quay-calf"), 1u);
}

TEST_F(LibraryRoutes, AnArchivedProtocolIsNotOfferedAndItsResultsAreRead) {
  post(kProtocols, own_protocol());
  const std::string athlete = add_athlete()["id"];
  const std::string visit = visit_with(athlete, "2026-10-01", "quay_ankle", 20, 22);
  const Json before = get(visit + "/findings?draws=200")["explanation"];
  archive(kQuayAnkle, true);
  EXPECT_EQ(ids_of(get(kProtocols), "protocols").count("quay_ankle"), 0u);
  EXPECT_EQ(ids_of(get("/api/v1/protocols?archived=true"), "protocols").count("quay_ankle"), 1u);
  EXPECT_EQ(get(visit + "/tests")["outcome"]["results"].size(), 2u);
  EXPECT_EQ(difference(get(visit + "/findings?draws=200")["explanation"], before), "");
  EXPECT_EQ(get("/api/v1/athletes/" + athlete + "/trends")["series"].size(), 2u);
}

// The photo of a test is read by the own protocol: it says what this one lacks.
TEST_F(LibraryRoutes, APhotoIsAskedOfTheOwnProtocol) {
  Json own = own_protocol();
  own.erase("photo");
  post(kProtocols, own);
  const std::string visit =
      "/api/v1/visits/" + add_visit(add_athlete()["id"], "2026-10-01")["id"].get<std::string>();
  const HttpReply reply = client_.send("POST", visit + "/test-photo?protocol=quay_ankle&side=left",
                                       "\xff\xd8\xff", {{"Content-Type", "image/jpeg"}});
  EXPECT_EQ(reply.status, 415);
  EXPECT_THAT(reply.body, HasSubstr("Ankle on the quay"));
}

// updated^2 = (10 published^2 + df own^2) / (10 + df), of one try: published 1.7 sqrt(2).
TEST_F(LibraryRoutes, RepeatsGiveAStandardErrorToTakeOver) {
  const std::string path = "/api/v1/protocols/knee_to_wall_angle";
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/tests/data/reliability/test-retest.csv");
  std::ostringstream table;
  table << file.rdbuf();
  const auto ask = [&](const std::string& query) {
    return expect_json(client_.send("POST", path + "/reliability" + query, table.str(),
                                    {{"Content-Type", "text/csv"}}),
                       200);
  };
  const Json report = ask("?tries=1");
  EXPECT_EQ(report["protocol"], "knee_to_wall_angle");
  EXPECT_EQ(report["subjects"], 20);
  const double own = report["error"]["sem_agreement"];
  const double df = report["tester"]["own_df"];
  EXPECT_EQ(df, 20);
  const double updated = std::sqrt((10 * 5.78 + df * own * own) / (10 + df));
  const Json& suggested = report["standard_error"];
  EXPECT_NEAR(suggested["value"].get<double>(), updated, 1e-5);
  EXPECT_EQ(suggested["tries"], 1);
  EXPECT_THAT(suggested["source"].get<std::string>(), HasSubstr("20 people, 2 times, 2026-10-05"));
  expect_json(client_.put(path + "/standard-error", suggested.dump()), 200);
  EXPECT_NEAR(get(path)["protocol"]["standard_error"]["value"].get<double>(), updated, 1e-5);
  // The own one is not counted twice: the next report starts from the published one again.
  EXPECT_NEAR(ask("?tries=1")["standard_error"]["value"].get<double>(), updated, 1e-5);
  EXPECT_EQ(ask("?tries=3")["standard_error"]["tries"], 3);
  const auto refused = [&](const std::string& body, const std::string& type) {
    return client_.send("POST", path + "/reliability", body, {{"Content-Type", type}}).status;
  };
  EXPECT_EQ(refused("a,b\n1,x\n", "text/csv"), 422);
  EXPECT_EQ(refused("", "text/csv"), 422);
  EXPECT_EQ(refused("{}", "application/json"), 415);
}

}  // namespace
}  // namespace lintel::test
