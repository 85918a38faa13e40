// Plans by hand, warning signs, the log and the athlete's own page through the API.
#include <cstdio>

#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Role;
using ::testing::HasSubstr;
using ::testing::Not;

class PlanRoutes : public RecordsTest {
 protected:
  // An athlete with a short ankle, a visit and a plan that has a loaded drill.
  void make_plan(const Json& more = Json::object()) {
    athlete_ = add_athlete(more)["id"];
    visit_ = add_visit(athlete_, "2026-10-05")["id"];
    put_first("/api/v1/visits/" + visit_ + "/tests",
              {{"results",
                {{{"protocol", "knee_to_wall_distance"}, {"side", "left"}, {"tries_cm", {5.0}}},
                 {{"protocol", "knee_to_wall_distance"}, {"side", "right"}, {"tries_cm", {5.5}}},
                 {{"protocol", "arms_to_wall_turned_in"}, {"side", "left"}, {"tries_deg", {0}}},
                 {{"protocol", "arms_to_wall_turned_in"}, {"side", "right"}, {"tries_deg", {0}}},
                 {{"protocol", "hip_flexion_supine"}, {"side", "left"}, {"tries_deg", {125}}},
                 {{"protocol", "hip_flexion_supine"}, {"side", "right"}, {"tries_deg", {125}}}}}});
    record_ = expect_json(
        client_.post("/api/v1/visits/" + visit_ + "/plan",
                     R"({"minutes":20,"sessions":3,"equipment":["kettlebell","wedge","pipe"]})"),
        201);
    plan_ = record_["document"]["plan"];
    path_ = "/api/v1/plans/" + record_["id"].get<std::string>();
  }
  Json edit(const Json& edits, int version, int status = 200) {
    return expect_json(
        client_.put(path_, Json{{"edits", edits}, {"reason", "her knees are sore"}}.dump(),
                    if_version(version)),
        status);
  }
  void note_sign(const std::string& sign) {
    Json document = expect_json(client_.get("/api/v1/athletes/" + athlete_), 200)["document"];
    document["athlete"]["warning_signs"] = Json::array({sign});
    expect_json(client_.put("/api/v1/athletes/" + athlete_, document.dump(), if_version(1)), 200);
  }
  // Names and ids of every loaded drill of the library.
  std::vector<std::string> loaded_words() {
    std::vector<std::string> words;
    const Json library = expect_json(client_.get("/api/v1/drills"), 200);
    for (const Json& drill : library["drills"]) {
      if (!drill["loaded"].get<bool>()) continue;
      words.push_back(drill["name"]);
      words.push_back("\"" + drill["id"].get<std::string>() + "\"");
    }
    EXPECT_GE(words.size(), 8u);
    return words;
  }
  // Every answer about the athlete that somebody may act on.
  std::vector<std::pair<std::string, std::string>> answers() {
    std::vector<std::pair<std::string, std::string>> out;
    const std::string a = "/api/v1/athletes/" + athlete_;
    for (const std::string& path :
         {path_, a + "/plans", a + "/today?date=2026-10-05", a + "/today?date=2026-10-07",
          a + "/progress", a + "/calendar.ics", a + "/fhir",
          "/api/v1/visits/" + visit_ + "/findings?draws=200"}) {
      out.emplace_back(path, client_.get(path).body);
    }
    return out;
  }
  // The text of a page, read by somebody else's program.
  std::string words_of_pdf(const std::string& name) {
    const HttpReply reply = client_.get(path_ + "/files/" + name);
    EXPECT_EQ(reply.status, 200) << reply.body.substr(0, 300);
    TemporaryFolder folder;
    const std::string file = (folder.path() / name).string();
    std::ofstream(file, std::ios::binary) << reply.body;
    FILE* pipe = popen(("pdftotext -layout '" + file + "' -").c_str(), "r");
    std::string text;
    std::array<char, 4096> buffer{};
    for (std::size_t n = 0; (n = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) {
      text.append(buffer.data(), n);
    }
    EXPECT_EQ(pclose(pipe), 0);
    return text;
  }

  std::string athlete_, visit_, path_;
  Json record_, plan_;
};

TEST_F(PlanRoutes, AreEditedByHandAndTheComputedPlanStays) {
  make_plan();
  ASSERT_GE(plan_["drills"].size(), 2u);
  const std::string first = plan_["drills"][0]["id"], second = plan_["drills"][1]["id"];
  const int sets = plan_["drills"][0]["dose"]["sets"];
  const double minutes = plan_["drills"][0]["dose"]["minutes_per_session"];
  const Json edited =
      edit({{{"drill", first}, {"sets", sets + 1}}, {{"drill", second}, {"leave_out", true}}}, 1);
  EXPECT_EQ(edited["version"], 2);
  const Json& plan = edited["document"]["plan"];
  EXPECT_EQ(plan["drills"].size(), plan_["drills"].size() - 1);
  EXPECT_EQ(plan["drills"][0]["dose"]["sets"], sets + 1);
  EXPECT_NEAR(plan["drills"][0]["dose"]["minutes_per_session"], minutes * (sets + 1) / sets, 1e-4);
  for (const Json& week : plan["schedule"]) {
    for (const Json& session : week["sessions"]) {
      double sum = 0;
      for (const Json& item : session["items"]) {
        EXPECT_NE(item["drill"], second);
        sum += item["minutes"].get<double>();
      }
      EXPECT_NEAR(session["minutes"], sum, 1e-3);
      EXPECT_LE(sum, plan["minutes_per_session"].get<double>() + 0.02);
    }
  }
  EXPECT_THAT(plan["notes"].dump(), HasSubstr("her knees are sore"));
  const Json versions =
      expect_json(client_.get("/api/v1/records/" + record_["id"].get<std::string>() + "/versions"),
                  200)["items"];
  ASSERT_EQ(versions.size(), 2u);
  EXPECT_EQ(versions[0]["document"]["plan"], plan_);
  // The pages are those of the plan that counts.
  const std::string second_name = plan_["drills"][1]["name"];
  EXPECT_THAT(words_of_pdf("handout.pdf"), Not(HasSubstr(second_name)));
}

TEST_F(PlanRoutes, RefuseAnEditThatDoesNotHold) {
  make_plan();
  const std::string first = plan_["drills"][0]["id"];
  const Json unknown = edit({{{"drill", first + "x"}, {"sets", 2}}}, 1, 422);
  EXPECT_EQ(unknown["place"]["field"], "edits[0].drill");
  EXPECT_THAT(unknown["mend"].get<std::string>(), HasSubstr(first));
  EXPECT_EQ(edit({{{"drill", first}, {"sets", 20}}}, 1, 422)["status"], 422);  // session too long
  EXPECT_EQ(edit({{{"drill", first}, {"step", 12}}}, 1, 422)["place"]["field"], "edits[0].step");
  EXPECT_EQ(edit({{{"drill", first}, {"sets", 2}}}, 7, 412)["status"], 412);
  EXPECT_EQ(client_.put(path_, R"({"edits":[]})", if_version(1)).status, 422);
  EXPECT_EQ(client_.put(path_, R"({"edits":[{"drill":"x"}]})").status, 428);
  EXPECT_EQ(expect_json(client_.get(path_), 200)["version"], 1);
}

TEST_F(PlanRoutes, AnEarlierVersionIsBroughtBackOnTop) {
  make_plan();
  const int sets = plan_["drills"][0]["dose"]["sets"];
  const Json edits = {{{"drill", plan_["drills"][0]["id"]}, {"sets", sets + 1}},
                      {{"drill", plan_["drills"][1]["id"]}, {"leave_out", true}}};
  edit(edits, 1);
  const Json wish = {{"bring_back", 1}, {"reason", "it was better"}};
  EXPECT_EQ(client_.put(path_, wish.dump(), if_version(1)).status, 412);
  const Json back = expect_json(client_.put(path_, wish.dump(), if_version(2)), 200);
  EXPECT_EQ(back["version"], 3);
  // All as in version 1, the drill that was left out too; only the note tells of it.
  Json document = back["document"];
  Json& notes = document["plan"]["notes"];
  const std::string note = notes.back();
  EXPECT_THAT(note, ::testing::StartsWith("Version 1 brought back on "));
  EXPECT_THAT(note, HasSubstr("it was better"));
  notes.erase(notes.size() - 1);
  EXPECT_EQ(document["plan"], plan_);
  EXPECT_TRUE(document["edits"].empty());
  const std::string second_name = plan_["drills"][1]["name"];
  EXPECT_THAT(words_of_pdf("handout.pdf"), HasSubstr(second_name)) << "pages are made again";
  // What is not there, or two things at once.
  for (const Json& bad : {Json{{"bring_back", 3}}, Json{{"bring_back", 0}},
                          Json{{"bring_back", 1}, {"edits", edits}}}) {
    EXPECT_EQ(client_.put(path_, bad.dump(), if_version(3)).status, 422) << bad;
  }
  note_sign("shoulder_instability");
  EXPECT_EQ(client_.put(path_, wish.dump(), if_version(3)).status, 412) << "loaded drills";
  EXPECT_EQ(expect_json(client_.get(path_), 200)["version"], 3);
}

TEST_F(PlanRoutes, AWarningSignKeepsLoadedDrillsOutOfEveryAnswer) {
  const auto loaded = loaded_words();
  make_plan();
  int named = 0;  // without a sign they are there: the search below can find them
  for (const auto& [path, text] : answers()) {
    for (const std::string& word : loaded) named += text.find(word) != std::string::npos ? 1 : 0;
  }
  EXPECT_GT(named, 0);
  make_plan({{"athlete", {{"warning_signs", {"shoulder_instability"}}}}});
  EXPECT_EQ(plan_["clearance"], "unloaded_only");
  auto texts = answers();
  for (const char* page : {"handout.pdf", "record.pdf", "letter.pdf"}) {
    texts.emplace_back(page, words_of_pdf(page));
  }
  for (const auto& [path, text] : texts) {
    EXPECT_GT(text.size(), 100u) << path;
    for (const std::string& word : loaded) EXPECT_THAT(text, Not(HasSubstr(word))) << path;
  }
}

TEST_F(PlanRoutes, ASignNotedLaterTakesLoadedDrillsOutOfTheOlderPlan) {
  const auto loaded = loaded_words();
  make_plan();
  note_sign("shoulder_instability");
  for (const auto& [path, text] : answers()) {
    for (const std::string& word : loaded) EXPECT_THAT(text, Not(HasSubstr(word))) << path;
  }
  const Json plan = expect_json(client_.get(path_), 200)["document"]["plan"];
  EXPECT_EQ(plan["clearance"], "unloaded_only");
  EXPECT_FALSE(plan["referral"].get<std::string>().empty());
  EXPECT_EQ(client_.get(path_ + "/files/handout.pdf").status, 409);
  EXPECT_EQ(edit({{{"drill", plan_["drills"][0]["id"]}, {"sets", 1}}}, 1, 412)["status"], 412);
}

TEST_F(PlanRoutes, ARedFlagLeavesNoDrillAtAll) {
  make_plan();
  note_sign("nerve_root_signs");
  const Json plan = expect_json(client_.get(path_), 200)["document"]["plan"];
  EXPECT_EQ(plan["clearance"], "no_drills");
  EXPECT_TRUE(plan["drills"].empty());
  const Json today = expect_json(client_.get("/api/v1/athletes/" + athlete_ + "/today"), 200);
  EXPECT_TRUE(today["items"].empty());
  EXPECT_EQ(today["clearance"], "no_drills");
  EXPECT_THAT(today["message"].get<std::string>(), HasSubstr("doctor"));
  const Json fresh =
      expect_json(client_.post("/api/v1/visits/" + visit_ + "/plan", ""), 201)["document"]["plan"];
  EXPECT_TRUE(fresh["drills"].empty());
  EXPECT_THAT(client_.get("/api/v1/athletes/" + athlete_ + "/calendar.ics").status, 404);
}

TEST_F(PlanRoutes, TodayTellsWhatToDoAndWhatIsDone) {
  make_plan();
  const std::string a = "/api/v1/athletes/" + athlete_;
  const Json today = expect_json(client_.get(a + "/today"), 200);
  EXPECT_EQ(today["date"], "2026-10-05");
  EXPECT_EQ(today["plan"], record_["id"]);
  EXPECT_EQ(today["week"], 1);
  ASSERT_FALSE(today["items"].empty());
  const Json& item = today["items"][0];
  EXPECT_FALSE(item["done"]);
  EXPECT_THAT(client_.get(item["drawing"]).body, HasSubstr("<svg"));
  EXPECT_FALSE(today["stop_rules"].empty());
  const Json done = {{"drill", item["drill"]},
                     {"step", item["step"]},
                     {"sets", item["sets"]},
                     {"effort", 6},
                     {"pain_during", 1}};
  const Json entry =
      expect_json(client_.post(a + "/log", Json{{"drills", Json::array({done})}}.dump()), 201);
  EXPECT_TRUE(entry["stop"].is_null());
  EXPECT_EQ(entry["document"]["date"], "2026-10-05");
  const Json after = expect_json(client_.get(a + "/today"), 200);
  EXPECT_TRUE(after["items"][0]["done"]);
  EXPECT_EQ(after["items"][0]["logged"]["effort"], 6);
  EXPECT_EQ(after["sessions_done"], 1);
  // A rest day says when it goes on.
  const Json rest = expect_json(client_.get(a + "/today?date=2026-10-06"), 200);
  EXPECT_TRUE(rest["rest"]);
  EXPECT_EQ(rest["next_session"], plan_["schedule"][0]["sessions"][1]["date"]);
}

TEST_F(PlanRoutes, AStopSignStopsTheDayAndTheNextOnesUntilARelease) {
  make_plan();
  const std::string a = "/api/v1/athletes/" + athlete_;
  const Json first = expect_json(client_.get(a + "/today"), 200)["items"][0];
  const Json done = {{"drill", first["drill"]}, {"sets", 1}, {"stop_sign", "numbness"}};
  const Json entry =
      expect_json(client_.post(a + "/log", Json{{"drills", Json::array({done})}}.dump()), 201);
  EXPECT_THAT(entry["stop"].get<std::string>(), HasSubstr("see a clinician"));
  const Json next = plan_["schedule"][0]["sessions"][1]["date"];
  const std::string path = a + "/today?date=" + next.get<std::string>();
  Json today = expect_json(client_.get(path), 200);
  EXPECT_TRUE(today["stopped"]);
  EXPECT_TRUE(today["items"].empty());
  expect_json(client_.post(a + "/log",
                           R"({"drills":[],"releases":[{"date":"2026-10-05","by":"physician"}]})"),
              200);
  today = expect_json(client_.get(path), 200);
  EXPECT_FALSE(today["stopped"]);
  EXPECT_FALSE(today["items"].empty());
}

TEST_F(PlanRoutes, AnAthleteReachesTheOwnPageHandoutAndLogOnly) {
  HttpClient athlete = server_.as(Role::Athlete);
  athlete_ = server_.person(Role::Athlete).athlete;
  EXPECT_EQ(expect_json(athlete.get("/api/v1/me/athlete"), 200)["athlete"], athlete_);
  visit_ = add_visit(athlete_, "2026-10-05")["id"];
  const Json made = expect_json(
      client_.post("/api/v1/visits/" + visit_ + "/plan", R"({"equipment":["ball"]})"), 201);
  const std::string plan = "/api/v1/plans/" + made["id"].get<std::string>();
  const std::string a = "/api/v1/athletes/" + athlete_;
  EXPECT_EQ(athlete.get(plan).status, 200);
  EXPECT_EQ(athlete.get(a + "/today").status, 200);
  EXPECT_EQ(athlete.get(a + "/plans").status, 200);
  EXPECT_EQ(athlete.get(a + "/log").status, 200);
  EXPECT_EQ(athlete.get(plan + "/files/handout.pdf").status, 200);
  EXPECT_EQ(athlete.get(plan + "/files/record.pdf").status, 404);
  EXPECT_EQ(athlete.get(plan + "/files/letter.pdf").status, 404);
  const std::string drill = expect_json(client_.get("/api/v1/drills"), 200)["drills"][0]["id"];
  const Json done = {{"drills", {{{"drill", drill}, {"sets", 2}}}}};
  EXPECT_EQ(athlete.post(a + "/log", done.dump()).status, 201);
  EXPECT_EQ(
      athlete.post(a + "/log", R"({"drills":[],"releases":[{"date":"2026-10-05","by":"me"}]})")
          .status,
      403);
  for (const std::string& path :
       {a, a + "/trends", a + "/progress", a + "/visits", "/api/v1/visits/" + visit_ + "/findings",
        std::string("/api/v1/athletes"), a + "/fhir"}) {
    EXPECT_EQ(athlete.get(path).status, 403) << path;
  }
  const std::string other = server_.add_athlete("Brita Varg");
  EXPECT_EQ(athlete.get("/api/v1/athletes/" + other + "/today").status, 404);
  EXPECT_EQ(athlete.post("/api/v1/athletes/" + other + "/log", done.dump()).status, 404);
  EXPECT_EQ(client_.post(a + "/log", R"({"date":"2027-01-01","drills":[]})").status, 422);
}

}  // namespace
}  // namespace lintel::test
