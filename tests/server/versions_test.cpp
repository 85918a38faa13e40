// Versions of a record as a person looks at them: who made each, also who has no account here; an
// earlier one brought back as a new one. And the trunk of a visit without a clip.
#include "store/accounts.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Role;

class Versions : public RecordsTest {
 protected:
  Json versions_of(HttpClient& client, const std::string& record) {
    return expect_json(client.get("/api/v1/records/" + record + "/versions"), 200)["items"];
  }
};

TEST_F(Versions, EachNamesWhoMadeIt) {
  const Json made = add_athlete();
  const std::string id = made["id"];
  HttpClient owner = server_.as(Role::Owner);
  Json document = made["document"];
  document["notes"] = "Prefers mornings.";
  expect_json(owner.put("/api/v1/athletes/" + id, document.dump(), if_version(1)), 200);
  for (const Json& versions :
       {versions_of(client_, id),
        expect_json(client_.get("/api/v1/athletes/" + id + "/versions"), 200)["items"]}) {
    ASSERT_EQ(versions.size(), 2u);
    EXPECT_EQ(versions[0]["changed_by_name"], server_.person(Role::Practitioner).caller.name);
    EXPECT_EQ(versions[1]["changed_by_name"], server_.person(Role::Owner).caller.name);
  }
  // A new name counts for what was done before; ids stay.
  const std::string person = server_.person(Role::Practitioner).caller.person;
  const Json account = expect_json(owner.get("/api/v1/people/" + person), 200);
  expect_json(
      owner.put("/api/v1/people/" + person, R"({"name":"Halvar Nyborg","state":"inactive"})",
                if_version(account["version"])),
      200);
  const Json renamed = versions_of(owner, id);
  EXPECT_EQ(renamed[0]["changed_by_name"], "Halvar Nyborg") << "also of somebody switched off";
  EXPECT_EQ(renamed[0]["changed_by"], person);
}

TEST_F(Versions, WhoHasNoAccountHereHasNoName) {
  const std::string id = add_athlete()["id"];
  const auto forget = [&](store::Transaction& t) -> Result<void> {
    LINTEL_TRY(store::remove_account(t, server_.person(Role::Practitioner).caller.person));
    return {};
  };
  ASSERT_TRUE(server_.practice().database->write(forget));
  HttpClient owner = server_.as(Role::Owner);
  const Json versions = versions_of(owner, id);
  EXPECT_TRUE(versions[0]["changed_by_name"].is_null());
  EXPECT_FALSE(versions[0]["changed_by"].get<std::string>().empty());
}

TEST_F(Versions, AnAthletesOwnEntryBearsTheAthletesName) {
  HttpClient athlete = server_.as(Role::Athlete);
  const Person& person = server_.person(Role::Athlete);
  const std::string path = "/api/v1/athletes/" + person.athlete + "/log";
  const Json entry = expect_json(
      athlete.post(path, R"({"date":"2026-10-05","drills":[{"drill":"calf-rolling","sets":2}]})"),
      201);
  EXPECT_EQ(versions_of(client_, entry["id"])[0]["changed_by_name"], person.caller.name);
  EXPECT_EQ(versions_of(athlete, entry["id"])[0]["changed_by_name"], person.caller.name);
}

TEST_F(Versions, AnEarlierOneComesBackAsANewOne) {
  const std::string athlete = add_athlete()["id"];
  const std::string visit = add_visit(athlete, "2026-10-05")["id"];
  const std::string path = "/api/v1/visits/" + visit + "/tests";
  const auto tests = [](double value) {
    return Json{{"results",
                 {{{"protocol", "knee_to_wall_distance"},
                   {"side", "left"},
                   {"tries_cm", {value, value, value}}}}}};
  };
  const std::string record = put_first(path, tests(9))["id"];
  expect_json(client_.put(path, tests(12).dump(), if_version(1)), 200);
  const Json first = versions_of(client_, record)[0]["document"];
  const HttpReply back = client_.put(path + "?reason=mistyped", first.dump(), if_version(2));
  EXPECT_EQ(expect_json(back, 200)["version"], 3);
  const Json versions = versions_of(client_, record);
  ASSERT_EQ(versions.size(), 3u);
  EXPECT_EQ(versions[2]["document"], versions[0]["document"]);
  EXPECT_NE(versions[1]["document"], versions[0]["document"]) << "nothing was taken away";
  EXPECT_EQ(versions[2]["reason"], "mistyped");
}

class TypedTrunk : public RecordsTest {
 protected:
  TypedTrunk() {
    athlete_ = add_athlete()["id"];
    visit_ = "/api/v1/visits/" + add_visit(athlete_, "2026-09-07")["id"].get<std::string>();
    put_first(visit_ + "/tests", example("tests.json"));
  }
  Json findings() { return expect_json(client_.get(visit_ + "/findings?draws=200"), 200); }
  HttpReply put_trunk(const Json& trunk, int version) {
    return client_.put(visit_, Json{{"date", "2026-09-07"}, {"trunk", trunk}}.dump(),
                       if_version(version));
  }
  std::string athlete_, visit_;
};

TEST_F(TypedTrunk, ExplainsALeanWithoutAClip) {
  const Json without = findings();
  EXPECT_TRUE(without["explanation"]["observed_trunk_inclination_deg"].is_null());
  const Json put = expect_json(
      put_trunk({{"inclination_deg", 48}, {"standard_error_deg", 4}, {"method", "eye"}}, 1), 200);
  EXPECT_EQ(put["document"]["trunk"]["method"], "eye");
  const Json with = findings();
  EXPECT_TRUE(with["trial"].is_null());
  const Json& seen = with["explanation"]["observed_trunk_inclination_deg"];
  EXPECT_NEAR(seen["value"], 48, 1e-6);
  EXPECT_NEAR(seen["standard_error"], 4, 1e-6);
  // The parts sum up to what is beyond the reference, as for a clip; the same question asked
  // without records gives the same.
  double sum = 0;
  for (const Json& part : with["explanation"]["parts"]) sum += part["share_deg"].get<double>();
  EXPECT_NEAR(sum, 48 - with["explanation"]["reference_trunk_inclination_deg"].get<double>(), 0.2);
  // Another angle is another answer, not the one that was remembered.
  put_trunk({{"inclination_deg", 40}, {"standard_error_deg", 4}, {"method", "inclinometer"}}, 2);
  EXPECT_NEAR(findings()["explanation"]["observed_trunk_inclination_deg"]["value"], 40, 1e-6);
  const Json plan = expect_json(client_.post(visit_ + "/plan", R"({"goal_deg":32})"), 201);
  bool has_trunk_goal = false;
  for (const Json& goal : plan["document"]["plan"]["goals"]) {
    has_trunk_goal = has_trunk_goal || goal.dump().find("trunk_inclination") != std::string::npos;
  }
  EXPECT_TRUE(has_trunk_goal) << plan["document"]["plan"]["goals"].dump();
}

TEST_F(TypedTrunk, SaysWhatIsWrongWithIt) {
  const auto field = [&](const Json& trunk) {
    const HttpReply reply = put_trunk(trunk, 1);
    EXPECT_EQ(reply.status, 422) << trunk;
    return json_of(reply)["faults"][0]["field"].get<std::string>();
  };
  EXPECT_EQ(field({{"inclination_deg", 148}, {"standard_error_deg", 4}, {"method", "eye"}}),
            "trunk.inclination_deg");
  EXPECT_EQ(field({{"inclination_deg", 48}, {"standard_error_deg", 0}, {"method", "eye"}}),
            "trunk.standard_error_deg");
  EXPECT_EQ(field({{"inclination_deg", 48}, {"standard_error_deg", 4}, {"method", "guess"}}),
            "trunk.method");
  EXPECT_EQ(field({{"inclination_deg", 48}, {"method", "eye"}}), "trunk.standard_error_deg");
}

}  // namespace
}  // namespace lintel::test
