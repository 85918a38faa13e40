// Athletes, visits, tests and decisions through the API.
#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Role;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

class Records : public RecordsTest {};

TEST_F(Records, AnAthleteIsMadeReadChangedAndEveryVersionStays) {
  const HttpReply made = client_.post(
      "/api/v1/athletes",
      R"({"athlete":{"name":"Ilka Tornvald","sex":"female","body":{"stature_cm":168,"mass_kg":64}},
          "birth_date":"1998-04-17","tags":["Squad A"]})");
  const Json record = expect_json(made, 201);
  const std::string id = record["id"];
  EXPECT_EQ(made.header("location"), "/api/v1/athletes/" + id);
  EXPECT_EQ(made.header("etag"), "\"1\"");
  EXPECT_EQ(record["document"]["athlete"]["id"], id);
  EXPECT_EQ(record["document"]["schema"], "lintel-intake-1");
  EXPECT_EQ(record["created_by"], server_.person(Role::Practitioner).caller.person);
  EXPECT_GE(record["cautions"].size(), 6u);

  Json document = expect_json(client_.get("/api/v1/athletes/" + id), 200)["document"];
  document["notes"] = "Prefers mornings.";
  const std::string path = "/api/v1/athletes/" + id;
  EXPECT_EQ(client_.put(path, document.dump()).status, 428);
  const Json second =
      expect_json(client_.put(path + "?reason=asked", document.dump(), if_version(1)), 200);
  EXPECT_EQ(second["version"], 2);
  EXPECT_EQ(second["reason"], "asked");
  EXPECT_EQ(client_.put(path, document.dump(), if_version(1)).status, 412);

  const Json versions = expect_json(client_.get(path + "/versions"), 200)["items"];
  ASSERT_EQ(versions.size(), 2u);
  EXPECT_FALSE(versions[0]["document"].contains("notes"));
  EXPECT_EQ(versions[1]["document"]["notes"], "Prefers mornings.");
  EXPECT_EQ(expect_json(client_.get("/api/v1/records/" + id + "/versions"), 200)["items"],
            versions);
}

TEST_F(Records, EveryFaultOfADocumentIsToldWithFieldLineAndMend) {
  const HttpReply reply = client_.post("/api/v1/athletes", R"({
    "athlete": {"name": "x", "sex": "femal", "body": {"stature_cm": 16.8, "mass_kg": 64}},
    "tags": "none"
  })");
  EXPECT_EQ(reply.status, 422);
  EXPECT_EQ(reply.header("content-type"), "application/problem+json");
  const Json problem = json_of(reply);
  std::vector<std::string> fields;
  for (const Json& fault : problem["faults"]) {
    fields.push_back(fault["field"]);
    EXPECT_GT(fault["line"], 1);
    EXPECT_FALSE(fault["detail"].get<std::string>().empty());
  }
  EXPECT_THAT(fields, ElementsAre("athlete.sex", "athlete.body.stature_cm", "tags"));
  // Nothing was made.
  EXPECT_EQ(expect_json(client_.get("/api/v1/athletes"), 200)["counts"]["all"], 0);
  EXPECT_EQ(client_.post("/api/v1/athletes", "{").status, 422);
  EXPECT_EQ(client_.send("POST", "/api/v1/athletes", "<a/>", {{"Content-Type", "text/xml"}}).status,
            415);
}

TEST_F(Records, AnAthletesIdStaysWhatItIs) {
  const Json made = add_athlete();
  EXPECT_EQ(made["document"]["athlete"]["id"], "ansa-brinvik");
  Json document = made["document"];
  document["athlete"]["id"] = "somebody-else";
  const HttpReply reply = client_.put("/api/v1/athletes/" + made["id"].get<std::string>(),
                                      document.dump(), if_version(1));
  EXPECT_EQ(reply.status, 422);
  EXPECT_EQ(json_of(reply)["place"]["field"], "athlete.id");
}

TEST_F(Records, TheCaseloadIsSearchedPagedAndTakenOut) {
  for (const char* name : {"Ödlin Varg", "Brita Varg", "Sunniva Kvern"}) {
    Json athlete = example("athlete.json");
    athlete["name"] = name;
    athlete.erase("id");
    expect_json(
        client_.post("/api/v1/athletes", Json{{"athlete", athlete}, {"tags", {"squad"}}}.dump()),
        201);
  }
  const auto names = [](const Json& page) {
    std::vector<std::string> out;
    for (const Json& row : page["items"]) out.push_back(row["name"]);
    return out;
  };
  EXPECT_THAT(names(expect_json(client_.get("/api/v1/athletes?q=varg"), 200)),
              ElementsAre("Brita Varg", "Ödlin Varg"));
  const Json first = expect_json(client_.get("/api/v1/athletes?limit=2&tag=squad"), 200);
  EXPECT_EQ(first["items"].size(), 2u);
  EXPECT_EQ(first["counts"]["new"], 3);
  const std::string cursor = first["next"];
  const Json second =
      expect_json(client_.get("/api/v1/athletes?limit=2&tag=squad&after=" + cursor), 200);
  EXPECT_EQ(second["items"].size(), 1u);
  EXPECT_TRUE(second["next"].is_null());
  EXPECT_EQ(client_.get("/api/v1/athletes?view=dew").status, 422);

  const HttpReply table = client_.get("/api/v1/athletes?format=csv");
  EXPECT_EQ(table.status, 200);
  EXPECT_THAT(table.header("content-type"), HasSubstr("text/csv"));
  EXPECT_THAT(table.body, HasSubstr("Sunniva Kvern"));
  EXPECT_EQ(client_.get("/api/v1/athletes", {{"Accept", "text/csv"}}).body, table.body);
  // A reviewer reads, but takes nothing out.
  HttpClient reviewer = server_.as(Role::Reviewer);
  EXPECT_EQ(reviewer.get("/api/v1/athletes").status, 200);
  EXPECT_EQ(reviewer.get("/api/v1/athletes?format=csv").status, 403);
}

TEST_F(Records, AnArchivedAthleteLeavesTheListsAndComesBack) {
  const std::string id = add_athlete()["id"];
  const std::string path = "/api/v1/athletes/" + id + "/archive";
  EXPECT_EQ(expect_json(client_.post(path, ""), 200)["state"], "archived");
  EXPECT_EQ(expect_json(client_.get("/api/v1/athletes"), 200)["items"].size(), 0u);
  EXPECT_EQ(expect_json(client_.get("/api/v1/athletes?view=archived"), 200)["items"].size(), 1u);
  EXPECT_EQ(expect_json(client_.post(path + "?back=true", ""), 200)["state"], "active");
  EXPECT_EQ(expect_json(client_.get("/api/v1/athletes"), 200)["items"].size(), 1u);
}

TEST_F(Records, TestsOfAVisitBeginEmptyAndAreJudged) {
  const std::string athlete = add_athlete()["id"];
  const std::string visit = add_visit(athlete, "2026-09-07")["id"];
  const std::string path = "/api/v1/visits/" + visit + "/tests";
  const HttpReply before = client_.get(path);
  EXPECT_EQ(before.header("etag"), "\"0\"");
  EXPECT_TRUE(expect_json(before, 200)["id"].is_null());
  EXPECT_TRUE(json_of(before)["outcome"].is_null());
  const Json tests = {{"results",
                       {{{"protocol", "knee_to_wall_distance"},
                         {"side", "left"},
                         {"tries_cm", {9.5, 10.0, 10.5}}}}}};
  const Json stored = put_first(path, tests);
  EXPECT_EQ(stored["document"]["date"], "2026-09-07");
  EXPECT_EQ(stored["document"]["athlete"], "ansa-brinvik");
  EXPECT_EQ(stored["document"]["tester"], "Runa Feldvik");
  EXPECT_EQ(stored["outcome"]["results"][0]["protocol"], "knee_to_wall_distance");
  EXPECT_GE(stored["cautions"].size(), 6u);
  EXPECT_EQ(expect_json(client_.get(path), 200)["outcome"], stored["outcome"]);
  // A second first one is a conflict; a later version is not.
  EXPECT_EQ(client_.put(path, tests.dump(), if_version(0)).status, 412);
  EXPECT_EQ(expect_json(client_.put(path, tests.dump(), if_version(1)), 200)["version"], 2);
  const HttpReply bad = client_.put(
      path, R"({"results":[{"protocol":"knee_to_wal_distance","side":"left","tries_cm":[9]}]})",
      if_version(2));
  EXPECT_EQ(bad.status, 422);
  EXPECT_THAT(bad.body, HasSubstr("knee_to_wall_distance"));
  const Json other = {{"athlete", "somebody"}, {"results", tests["results"]}};
  EXPECT_EQ(client_.put(path, other.dump(), if_version(2)).status, 422);
}

TEST_F(Records, ValuesOverTimeShowWhatIsMoreThanNoise) {
  const std::string athlete = add_athlete()["id"];
  const auto enter = [&](const std::string& date, double distance, double angle) {
    const std::string visit = add_visit(athlete, date)["id"];
    put_first("/api/v1/visits/" + visit + "/tests",
              {{"results",
                {{{"protocol", "knee_to_wall_distance"},
                  {"side", "left"},
                  {"tries_cm", {distance, distance + 0.5, distance}}},
                 {{"protocol", "thoracic_rotation_heel_sit"},
                  {"side", "left"},
                  {"tries_deg", {angle, angle, angle + 1}}}}}});
  };
  enter("2026-08-01", 5.0, 45.0);
  enter("2026-10-01", 10.0, 46.0);
  const Json trends = expect_json(client_.get("/api/v1/athletes/" + athlete + "/trends"), 200);
  ASSERT_EQ(trends["series"].size(), 2u);
  const Json& distance = trends["series"][0];
  EXPECT_EQ(distance["name"], "knee_to_wall_distance");
  EXPECT_EQ(distance["unit"], "cm");
  EXPECT_EQ(distance["points"].size(), 2u);
  EXPECT_NEAR(distance["change"], 5.0, 1e-4);
  EXPECT_EQ(distance["verdict"], "improved");
  EXPECT_GT(distance["change"], distance["detectable_change"]);
  // 1.96 sqrt(a^2 + b^2), from the errors that stand beside it.
  const double a = distance["points"][0]["error"], b = distance["points"][1]["error"];
  EXPECT_NEAR(distance["detectable_change"], 1.96 * std::hypot(a, b), 1e-4);
  EXPECT_EQ(trends["series"][1]["verdict"], "no_detectable_change");
  ASSERT_EQ(distance["forecast"].size(), 13u);
  EXPECT_EQ(distance["forecast"][0]["date"], "2026-10-01");
  const auto width = [&](int i) {
    return distance["forecast"][i]["high"].get<double>() -
           distance["forecast"][i]["low"].get<double>();
  };
  EXPECT_GT(width(12), width(0));
  const HttpReply table = client_.get("/api/v1/athletes/" + athlete + "/trends?format=csv");
  EXPECT_EQ(std::count(table.body.begin(), table.body.end(), '\n'), 5);
  const Json timeline =
      expect_json(client_.get("/api/v1/athletes/" + athlete + "/timeline"), 200)["items"];
  EXPECT_EQ(timeline.size(), 4u) << timeline.dump();  // visits and their tests
}

TEST_F(Records, AChangeIsFromOneDayToAnother) {
  const std::string athlete = add_athlete()["id"];
  const auto series_after = [&](const std::string& date, double distance) {
    const std::string visit = add_visit(athlete, date)["id"];
    put_first("/api/v1/visits/" + visit + "/tests",
              {{"results",
                {{{"protocol", "knee_to_wall_distance"},
                  {"side", "left"},
                  {"tries_cm", {distance, distance, distance}}}}}});
    const Json trends = expect_json(client_.get("/api/v1/athletes/" + athlete + "/trends"), 200);
    return trends["series"][0];
  };
  series_after("2026-08-01", 5.0);
  const Json one_day = series_after("2026-08-01", 5.5);
  EXPECT_EQ(one_day["points"].size(), 2u);
  EXPECT_EQ(one_day["verdict"], "one_session");
  EXPECT_TRUE(one_day["change"].is_null());
  const Json two_days = series_after("2026-10-01", 9.0);
  EXPECT_EQ(two_days["verdict"], "improved");
  // From the first of the first day; which one that is, two visits of one moment leave open.
  const Json& points = two_days["points"];
  EXPECT_NEAR(two_days["change"],
              points[2]["value"].get<double>() - points[0]["value"].get<double>(), 1e-4);
}

TEST_F(Records, TheCohortIsAskedByProtocol) {
  for (const double distance : {6.0, 8.0, 10.0}) {
    Json athlete = example("athlete.json");
    athlete.erase("id");
    const Json made =
        expect_json(client_.post("/api/v1/athletes",
                                 Json{{"athlete", athlete}, {"birth_date", "2000-05-01"}}.dump()),
                    201);
    const std::string visit = add_visit(made["id"], "2026-09-07")["id"];
    put_first(
        "/api/v1/visits/" + visit + "/tests",
        {{"results",
          {{{"protocol", "knee_to_wall_distance"}, {"side", "left"}, {"tries_cm", {distance}}}}}});
  }
  const Json range =
      expect_json(client_.get("/api/v1/cohort/range?protocol=knee_to_wall_distance"), 200);
  ASSERT_EQ(range["items"].size(), 1u);
  EXPECT_EQ(range["items"][0]["athletes"], 3);
  EXPECT_NEAR(range["items"][0]["median"], 8.0, 1e-6);
  EXPECT_GE(range["cautions"].size(), 6u);
  EXPECT_THAT(client_.get("/api/v1/cohort/range?protocol=knee_to_wall_distance&format=csv").body,
              HasSubstr("knee_to_wall_distance,"));
  EXPECT_EQ(client_.get("/api/v1/cohort/change?protocol=knee_to_wall_distance").status, 200);
  EXPECT_EQ(client_.get("/api/v1/cohort/range?protocol=nonsense").status, 404);
  EXPECT_EQ(client_.get("/api/v1/cohort/range").status, 422);
}

TEST_F(Records, AnAssistantReachesOwnVisitsAndNamesOnly) {
  const std::string athlete = add_athlete({{"birth_date", "1998-04-17"}})["id"];
  const std::string others = add_visit(athlete, "2026-09-07")["id"];
  HttpClient assistant = server_.as(Role::Assistant);
  const Json row = expect_json(assistant.get("/api/v1/athletes"), 200)["items"][0];
  EXPECT_EQ(row["name"], "Ansa Brinvik");
  EXPECT_TRUE(row["birth_date"].is_null());
  EXPECT_EQ(assistant.get("/api/v1/athletes/" + athlete).status, 403);
  EXPECT_EQ(assistant.get("/api/v1/visits/" + others).status, 404);
  EXPECT_EQ(assistant.get("/api/v1/visits/" + others + "/tests").status, 404);
  const Json own = expect_json(
      assistant.post("/api/v1/athletes/" + athlete + "/visits", R"({"purpose":"tests"})"), 201);
  EXPECT_EQ(own["document"]["date"], "2026-10-05");
  const std::string visit = own["id"];
  const Json tests = {
      {"results",
       {{{"protocol", "knee_to_wall_distance"}, {"side", "left"}, {"tries_cm", {9.0}}}}}};
  EXPECT_EQ(assistant.put("/api/v1/visits/" + visit + "/tests", tests.dump(), if_version(0)).status,
            200);
  EXPECT_EQ(assistant.get("/api/v1/visits/" + visit + "/tests").status, 200);
  const Json list =
      expect_json(assistant.get("/api/v1/athletes/" + athlete + "/visits"), 200)["items"];
  ASSERT_EQ(list.size(), 1u);
  EXPECT_EQ(list[0]["id"], visit);
  EXPECT_EQ(assistant.get("/api/v1/visits/" + visit + "/findings").status, 403);
  EXPECT_EQ(assistant.get("/api/v1/visits/" + visit + "/question").status, 403);
  // The practitioner sees both.
  EXPECT_EQ(
      expect_json(client_.get("/api/v1/athletes/" + athlete + "/visits"), 200)["items"].size(), 2u);
}

TEST_F(Records, AnotherOrganizationsRecordsAreNotThere) {
  const std::string athlete = add_athlete()["id"];
  const std::string visit = add_visit(athlete, "2026-09-07")["id"];
  HttpClient stranger = server_.as(Role::Owner, 1);
  for (const std::string& path :
       {"/api/v1/athletes/" + athlete, "/api/v1/athletes/" + athlete + "/trends",
        "/api/v1/athletes/" + athlete + "/visits", "/api/v1/visits/" + visit,
        "/api/v1/visits/" + visit + "/tests", "/api/v1/visits/" + visit + "/findings",
        "/api/v1/records/" + visit + "/versions", "/api/v1/athletes/" + athlete + "/fhir",
        "/api/v1/athletes/" + athlete + "/log"}) {
    EXPECT_EQ(stranger.get(path).status, 404) << path;
  }
  EXPECT_EQ(expect_json(stranger.get("/api/v1/athletes"), 200)["items"].size(), 0u);
  EXPECT_EQ(server_.client().get("/api/v1/athletes").status, 401);
}

TEST_F(Records, DecisionsCarryWhoAndWhen) {
  const std::string visit = add_visit(add_athlete()["id"], "2026-09-07")["id"];
  const std::string path = "/api/v1/visits/" + visit + "/overrulings";
  EXPECT_EQ(expect_json(client_.get(path), 200)["version"], 0);
  const Json stored = put_first(
      path,
      {{"overrulings",
        {{{"finding", "stance"}, {"verdict", "rejected"}, {"reason", "The season has begun."}}}}});
  EXPECT_EQ(stored["document"]["overrulings"][0]["who"], "Runa Feldvik");
  EXPECT_EQ(stored["document"]["overrulings"][0]["date"], "2026-10-05");
  const HttpReply bad = client_.put(
      path, R"({"overrulings":[{"finding":"stance","verdict":"rejected"}]})", if_version(1));
  EXPECT_EQ(bad.status, 422);
  EXPECT_EQ(json_of(bad)["faults"][0]["field"], "overrulings[0].reason");
}

TEST_F(Records, ProtocolsAndDrillsAreShownWithDrawings) {
  const Json list = expect_json(client_.get("/api/v1/protocols"), 200)["protocols"];
  ASSERT_GE(list.size(), 10u);
  const std::string id = list[0]["id"];
  EXPECT_EQ(expect_json(client_.get("/api/v1/protocols/" + id), 200)["protocol"]["id"], id);
  const HttpReply svg = client_.get("/api/v1/protocols/" + id + "/drawing.svg");
  EXPECT_THAT(svg.header("content-type"), HasSubstr("image/svg+xml"));
  EXPECT_THAT(svg.body, HasSubstr("<svg"));
  EXPECT_EQ(client_.get("/api/v1/protocols/nothing").status, 404);
  const std::string drill = expect_json(client_.get("/api/v1/drills"), 200)["drills"][0]["id"];
  EXPECT_EQ(expect_json(client_.get("/api/v1/drills/" + drill), 200)["drill"]["id"], drill);
  EXPECT_THAT(client_.get("/api/v1/drills/" + drill + "/drawing.svg").body, HasSubstr("<svg"));
}

}  // namespace
}  // namespace lintel::test
