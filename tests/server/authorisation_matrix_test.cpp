// Every route of docs/api/openapi.json, asked by every role of the own and of another organization.
// What must come out follows from the document ("x-lintel-permission") and from the table of roles
// (app/access.h, which docs/accounts.md shows); a route without a rule fails, and so does a route
// of the server that the document does not have.
#include <gtest/gtest.h>

#include <filesystem>
#include <set>

#include "server/routes.h"
#include "store/records.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Permission;
using app::Role;

constexpr const char* kPassphrase = "harbour wind over Skarnholm";
constexpr const char* kNobodysId = "00000000-0000-4000-8000-00000000dead";
constexpr Role kRoles[] = {Role::Owner, Role::Practitioner, Role::Assistant, Role::Athlete,
                           Role::Reviewer};

// ---- The document

struct Operation {
  std::string method, pattern, id;
  Permission permission = Permission::None;
  std::string query;       // the parameters that must be there
  std::string media_type;  // of the body; empty = none
  bool reads() const { return method == "GET" || method == "HEAD"; }
};

std::string upper(std::string text) {
  for (char& c : text) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return text;
}

std::vector<Operation> read_operations() {
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/docs/api/openapi.json");
  const Json document = Json::parse(file);
  std::vector<Operation> operations;
  for (const auto& [pattern, methods] : document.at("paths").items()) {
    for (const auto& [method, description] : methods.items()) {
      if (method == "parameters") continue;
      Operation operation;
      operation.method = upper(method);
      operation.pattern = pattern;
      operation.id = description.value("operationId", "");
      const auto rule = app::permission_from(description.value("x-lintel-permission", ""));
      EXPECT_TRUE(rule) << operation.method << " " << pattern << " has no rule";
      if (!rule) continue;
      operation.permission = *rule;
      if (description.contains("requestBody")) {
        operation.media_type = description["requestBody"]["content"].begin().key();
      }
      operations.push_back(operation);
    }
  }
  return operations;
}

const std::vector<Operation>& operations() {
  static const std::vector<Operation> all = read_operations();
  return all;
}

// ---- The scene: the same records in two organizations

// What stands for "{visit}" and so on.
using Ids = std::map<std::string, std::string>;

struct Scene {
  Ids records;       // made by the practitioner
  Ids by_assistant;  // the same kinds, made by the assistant
  Ids of_another;    // of another athlete, made by the practitioner
};

class Matrix : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    ServerFixture::Options options;
    options.server.limit_routes = false;
    server_ = new ServerFixture(options);
    for (int i = 0; i < 2; ++i) scenes_[i] = make_scene(i);
  }
  static void TearDownTestSuite() {
    delete server_;
    server_ = nullptr;
  }

  static std::string id_of(const HttpReply& reply) {
    const Json json = Json::parse(reply.body, nullptr, false);
    if (reply.status >= 300 || !json.is_object()) {
      throw std::runtime_error("the scene cannot be made: " + reply.body.substr(0, 500));
    }
    return json.at("id");
  }

  static std::string upload(HttpClient& client) {
    const std::string id =
        id_of(client.post("/api/v1/uploads", R"({"name":"squat.mp4","bytes":4})"));
    client.send("PUT", "/api/v1/uploads/" + id, "clip",
                {{"Content-Type", "application/octet-stream"}, {"Content-Range", "bytes 0-3/4"}});
    return id;
  }

  // A visit with a clip that waits to be measured.
  static Ids make_visit(HttpClient& client, const std::string& athlete) {
    Ids ids;
    ids["visit"] = id_of(client.post("/api/v1/athletes/" + athlete + "/visits",
                                     R"({"date":"2026-09-07","purpose":"first"})"));
    ids["record"] = ids["visit"];
    const Json trial = {{"upload", upload(client)}, {"name", "squat"}, {"view", "side"}};
    const HttpReply made = client.post("/api/v1/visits/" + ids["visit"] + "/trials", trial.dump());
    ids["trial"] = id_of(made);
    ids["job"] = Json::parse(made.body).at("job").at("id");
    ids["upload"] = upload(client);
    return ids;
  }

  static Scene make_scene(int organization) {
    Scene scene;
    HttpClient practitioner = server_->as(Role::Practitioner, organization);
    HttpClient assistant = server_->as(Role::Assistant, organization);
    HttpClient owner = server_->as(Role::Owner, organization);
    Json intake = {{"athlete", example("athlete.json")}};
    const std::string athlete = id_of(practitioner.post("/api/v1/athletes", intake.dump()));
    intake["athlete"]["id"] = "ilka-tornvald";
    intake["athlete"]["name"] = "Ilka Tornvald";
    const std::string another = id_of(practitioner.post("/api/v1/athletes", intake.dump()));
    scene.records = make_visit(practitioner, athlete);
    scene.by_assistant = make_visit(assistant, athlete);
    scene.records["athlete"] = scene.by_assistant["athlete"] = athlete;
    scene.of_another = make_visit(practitioner, another);
    scene.of_another["athlete"] = another;
    for (Ids* ids : {&scene.records, &scene.of_another}) {
      (*ids)["plan"] = id_of(practitioner.post(
          "/api/v1/visits/" + (*ids)["visit"] + "/plan",
          R"({"minutes":15,"sessions":4,"weeks":4,"goal_deg":25,"from":"2026-09-07"})"));
    }
    const HttpReply sessions = owner.get("/api/v1/sessions");
    scene.records["session"] = Json::parse(sessions.body).at("items").at(0).at("id");
    scene.records["token"] = id_of(owner.post("/api/v1/tokens", R"({"name":"sheet"})"));
    scene.records["person"] = server_->person(Role::Reviewer, organization).caller.person;
    const HttpReply hand_off =
        practitioner.post("/api/v1/visits/" + scene.records["visit"] + "/hand-off", "{}");
    const std::string url = Json::parse(hand_off.body).at("url");
    scene.records["secret"] = url.substr(url.find_last_of('/') + 1);
    for (const char* name : {"plan", "token", "person", "secret", "session"}) {
      scene.by_assistant[name] = scene.records[name];
      scene.of_another.emplace(name, scene.records[name]);
    }
    return scene;
  }

  // ---- Who asks

  // Signed in as that role; an athlete is the one whose records the scene has.
  static HttpClient client_of(Role role, int organization) {
    if (role != Role::Athlete) return server_->as(role, organization);
    const std::string login = "the.athlete" + std::to_string(organization);
    if (athletes_.insert(organization).second) {
      app::NewPerson person;
      person.name = "Ansa Brinvik";
      person.login = login;
      person.role = Role::Athlete;
      person.passphrase = kPassphrase;
      person.athlete = scenes_[organization].records.at("athlete");
      value_of(app::add_person(server_->practice(),
                               server_->person(Role::Owner, organization).caller, person));
    }
    return signed_in(login);
  }
  static HttpClient signed_in(const std::string& login) {
    app::SignInRequest request;
    request.login = login;
    request.passphrase = kPassphrase;
    const auto session = value_of(app::sign_in(server_->practice(), request)).session;
    if (!session) throw std::runtime_error(login + " cannot sign in");
    HttpClient client = server_->client();
    client.set_cookie("lintel_session=" + session->cookie);
    client.set_header("X-Lintel-Token", session->csrf_token);
    return client;
  }

  // ---- A request for an operation

  static bool names_a_record(const Operation& operation) {
    for (const char* name : {"{athlete}", "{visit}", "{record}", "{trial}", "{plan}", "{job}",
                             "{token}", "{person}", "{session}", "/uploads/{id}"}) {
      if (operation.pattern.find(name) != std::string::npos) {
        return operation.permission != Permission::None;
      }
    }
    return false;
  }

  static std::string path_of(const Operation& operation, const Ids& ids) {
    std::string path = operation.pattern;
    const auto replace = [&](const std::string& what, const std::string& by) {
      const std::size_t at = path.find(what);
      if (at != std::string::npos) path.replace(at, what.size(), by);
    };
    const bool of_plan = path.find("{plan}") != std::string::npos;
    if (path.find("/uploads/") != std::string::npos) replace("{id}", ids.at("upload"));
    if (path.find("/protocols/") != std::string::npos) replace("{id}", "knee_to_wall_distance");
    if (path.find("/drills/") != std::string::npos) replace("{id}", "calf-rolling");
    replace("{name}", of_plan ? "handout.pdf" : "athlete-page.pdf");
    for (const auto& [name, id] : ids) replace("{" + name + "}", id);
    EXPECT_EQ(path.find('{'), std::string::npos) << path << ": give the matrix a value for it";
    if (operation.id == "compareTrials") path += "?with=" + ids.at("trial");
    if (path.find("/cohort/") != std::string::npos) path += "?protocol=knee_to_wall_distance";
    if (operation.id == "measureTestPhoto") path += "?protocol=knee_to_wall_distance&side=left";
    return path;
  }

  // A body that the route takes, so that nothing but access stands in the way.
  static std::string body_of(const Operation& operation, const Ids& ids) {
    const std::map<std::string, std::string> bodies = {
        {"changeAthlete", Json{{"athlete", example("athlete.json")}}.dump()},
        {"archiveAthlete", ""},
        {"createVisit", R"({"date":"2026-09-08"})"},
        {"changeVisit", R"({"schema":"lintel-visit-1","date":"2026-09-07","purpose":"changed"})"},
        {"putTests",
         R"({"results":[{"protocol":"knee_to_wall_distance","side":"left","tries_cm":[9,9,9]}]})"},
        {"measureTestPhoto", "no picture"},
        {"createUpload", R"({"name":"squat.mp4","bytes":4})"},
        {"putUpload", "clip"},
        {"createTrial",
         Json{{"upload", ids.at("upload")}, {"name", "squat"}, {"view", "side"}}.dump()},
        {"changeTrial", R"({"name":"changed"})"},
        {"createHandOff", "{}"},
        {"putOverrulings", R"({"overrulings":[]})"},
        {"createPlan",
         R"({"minutes":15,"sessions":4,"weeks":4,"goal_deg":25,"from":"2026-09-07"})"},
        {"changePlan", R"({"edits":[{"drill":"calf-rolling","sets":2}]})"},
        {"createLogEntry", R"({"date":"2026-09-09","drills":[{"drill":"calf-rolling","sets":2}]})"},
        {"eraseAthlete", R"({"reason":"asked for"})"},
        {"changePerson", R"({"name":"Changed Name"})"},
        {"changeOrganization", R"({"name":"Changed Name"})"},
        {"archiveProtocol", R"({"archived":true})"},
        {"archiveDrill", R"({"archived":true})"},
        {"putStandardError", R"({"value":0.8,"tries":3,"source":"own repeats, 2026"})"},
        {"computeReliability", "monday,tuesday\n8,9\n7,7.5\n10,9\n"},
    };
    const auto body = bodies.find(operation.id);
    if (body != bodies.end()) return body->second;
    return operation.media_type.empty() ? "" : "{}";
  }

  static HttpReply ask(HttpClient& client, const Operation& operation, const Ids& ids) {
    const std::string path = path_of(operation, ids);
    if (operation.id == "getJobEvents") {
      return client.stream(path, [](std::string_view) { return false; });
    }
    if (operation.reads()) return client.send(operation.method, path);
    const bool first = operation.id == "putTests" || operation.id == "putOverrulings" ||
                       operation.id == "putStandardError";
    Headers headers = {{"If-Match", first ? "\"0\"" : "\"1\""}};
    if (!operation.media_type.empty()) headers.emplace_back("Content-Type", operation.media_type);
    if (operation.id == "putUpload") headers.emplace_back("Content-Range", "bytes 0-3/4");
    return client.send(operation.method, path, body_of(operation, ids), headers);
  }

  static std::string what(const Operation& operation, Role role) {
    return operation.method + " " + operation.pattern + " (" + operation.id + ") as " +
           std::string(app::role_name(role));
  }

  static std::string digest() {
    return value_of(store::read_value<std::string>(
        *server_->practice().database,
        [](store::Transaction& t) { return store::digest_of_everything(t); }));
  }

  static ServerFixture* server_;
  static std::map<int, Scene> scenes_;
  static std::set<int> athletes_;
};
ServerFixture* Matrix::server_ = nullptr;
std::map<int, Scene> Matrix::scenes_;
std::set<int> Matrix::athletes_;

// ---- The rules

TEST_F(Matrix, TheServersRoutesAreThoseOfTheDocumentWithTheSameRule) {
  std::map<std::string, const Operation*> documented;
  for (const Operation& operation : operations()) {
    documented[operation.method + " " + operation.pattern] = &operation;
  }
  std::set<std::string> served;
  for (const server::Route& route : server::all_routes(server_->practice())) {
    const std::string name = std::string(server::method_name(route.method)) + " " + route.pattern;
    served.insert(name);
    const auto found = documented.find(name);
    ASSERT_NE(found, documented.end()) << name << " is not in docs/api/openapi.json";
    EXPECT_EQ(app::permission_name(route.permission),
              app::permission_name(found->second->permission))
        << name;
    EXPECT_EQ(route.operation, found->second->id) << name;
  }
  for (const auto& [name, operation] : documented) {
    EXPECT_TRUE(served.count(name)) << name << " is not served";
  }
  EXPECT_GE(documented.size(), 90u);
}

TEST_F(Matrix, NobodyReachesOnlyWhatNeedsNoSignIn) {
  HttpClient nobody = server_->client();
  HttpClient pretender = server_->client();
  pretender.set_cookie("lintel_session=no-such-session");
  pretender.set_header("X-Lintel-Token", "no-such-token");
  HttpClient by_token = server_->client();
  by_token.set_header("Authorization", "Bearer lnt_no-such-token");
  for (const Operation& operation : operations()) {
    const bool open = operation.permission == Permission::None;
    for (HttpClient* client : {&nobody, &pretender, &by_token}) {
      const HttpReply reply = ask(*client, operation, scenes_[0].records);
      const std::string name = operation.method + " " + operation.pattern;
      if (open) {
        EXPECT_NE(reply.status, 403) << name << reply.body;
        EXPECT_NE(reply.status, 401) << name << reply.body;
      } else {
        EXPECT_EQ(reply.status, 401) << name << reply.body;
      }
    }
  }
}

TEST_F(Matrix, ARoleWithoutThePermissionIsRefusedWhateverTheRecord) {
  for (const Role role : kRoles) {
    HttpClient client = client_of(role, 0);
    for (const Operation& operation : operations()) {
      if (app::may(role, operation.permission)) continue;
      Ids nowhere = scenes_[0].records;
      for (auto& [name, id] : nowhere) id = kNobodysId;
      for (const Ids& ids : {scenes_[0].records, scenes_[1].records, nowhere}) {
        const HttpReply reply = ask(client, operation, ids);
        EXPECT_EQ(reply.status, 403) << what(operation, role) << reply.body;
      }
    }
  }
}

// What is another organization's reads like what is not there at all, and stays as it is.
TEST_F(Matrix, AnotherOrganizationsRecordIsNotThere) {
  std::vector<std::pair<Role, HttpClient>> clients;
  for (const Role role : kRoles) clients.emplace_back(role, client_of(role, 0));
  const std::string before = digest();
  for (auto& [role, client] : clients) {
    for (const Operation& operation : operations()) {
      if (!names_a_record(operation) || !app::may(role, operation.permission)) continue;
      Ids nowhere = scenes_[1].records;
      for (auto& [name, id] : nowhere) id = kNobodysId;
      const HttpReply theirs = ask(client, operation, scenes_[1].records);
      const HttpReply none = ask(client, operation, nowhere);
      EXPECT_EQ(theirs.status, 404) << what(operation, role) << theirs.body;
      EXPECT_EQ(none.status, 404) << what(operation, role) << none.body;
      EXPECT_EQ(theirs.body, none.body) << what(operation, role);
    }
  }
  EXPECT_EQ(digest(), before);
  // And nothing of it stands in a list.
  for (auto& [role, client] : clients) {
    for (const Operation& operation : operations()) {
      if (operation.method != "GET" || names_a_record(operation) ||
          operation.permission == Permission::None || !app::may(role, operation.permission)) {
        continue;
      }
      const HttpReply reply = ask(client, operation, scenes_[0].records);
      for (const auto& [name, id] : scenes_[1].records) {
        EXPECT_EQ(reply.body.find(id), std::string::npos)
            << what(operation, role) << " shows the " << name << " of another organization";
      }
    }
  }
}

// Within the organization: another athlete's records for an athlete, another's making for an
// assistant.
TEST_F(Matrix, AnAthleteAndAnAssistantReachOnlyTheirOwn) {
  HttpClient athlete = client_of(Role::Athlete, 0), assistant = client_of(Role::Assistant, 0);
  const std::string before = digest();
  for (const Operation& operation : operations()) {
    if (!names_a_record(operation)) continue;
    const bool of_account = operation.permission == Permission::SignedIn ||
                            operation.permission == Permission::Administer;
    if (!of_account && app::may(Role::Athlete, operation.permission)) {
      Ids other = scenes_[0].of_another;
      other["record"] = other["plan"];  // of a visit not even the role reads versions
      const HttpReply reply = ask(athlete, operation, other);
      EXPECT_EQ(reply.status, 404) << what(operation, Role::Athlete) << reply.body;
    }
    const bool of_athlete = operation.pattern.find("{athlete}") != std::string::npos;
    if (!of_account && !of_athlete && app::may(Role::Assistant, operation.permission)) {
      const HttpReply reply = ask(assistant, operation, scenes_[0].records);
      EXPECT_EQ(reply.status, 404) << what(operation, Role::Assistant) << reply.body;
    }
  }
  EXPECT_EQ(digest(), before);
}

// The other way round: nobody is kept from what the role has.
TEST_F(Matrix, ARoleWithThePermissionIsLetIn) {
  // These need what only a measured clip has, or have none yet.
  const std::set<std::string> needs_measurement = {
      "getAssessment", "getCurves",     "getPoints",          "getTrialFile",
      "compareTrials", "getTrialFrame", "deleteStandardError"};
  const std::set<std::string> ends_something = {"deleteUpload", "cancelJob",       "deleteToken",
                                                "signOut",      "eraseAthlete",    "retryJob",
                                                "endSession",   "endOtherSessions"};
  for (const Role role : kRoles) {
    HttpClient client = client_of(role, 0);
    Ids ids = role == Role::Assistant ? scenes_[0].by_assistant : scenes_[0].records;
    // Which permission a version list needs depends on the kind of record.
    if (role == Role::Athlete) ids["record"] = ids["plan"];
    // An upload is reached by whoever began it alone.
    if (app::may(role, Permission::EnterTests)) ids["upload"] = upload(client);
    for (const Operation& operation : operations()) {
      if (!app::may(role, operation.permission) || ends_something.count(operation.id)) continue;
      if (role != Role::Athlete && operation.id == "getMyAthlete") continue;  // has none
      const HttpReply reply = ask(client, operation, ids);
      const std::string name = what(operation, role) + ": " + std::to_string(reply.status) + " ";
      if (operation.permission != Permission::None) {
        EXPECT_NE(reply.status, 401) << name << reply.body;
      }
      EXPECT_NE(reply.status, 403) << name << reply.body;
      EXPECT_LT(reply.status, 500) << name << reply.body;
      EXPECT_NE(reply.status, 0) << name << reply.fault;
      const bool may_lack = needs_measurement.count(operation.id) > 0 ||
                            operation.permission == Permission::None ||
                            (operation.id == "deleteToken" && role != Role::Owner);
      if (operation.reads() && !may_lack) {
        EXPECT_EQ(reply.status, 200) << name << reply.body;
      } else if (!may_lack) {
        EXPECT_NE(reply.status, 404) << name << reply.body;
      }
    }
  }
}

// A token with one scope reaches the routes of that scope (and of what is part of it), no others.
TEST_F(Matrix, ATokenReachesItsScopesAlone) {
  HttpClient owner = client_of(Role::Owner, 0);
  for (const Permission scope : {Permission::ReadRecords, Permission::EnterTests,
                                 Permission::Compute, Permission::ReadAudit}) {
    const Json body = {{"name", "one scope"}, {"scopes", {app::permission_name(scope)}}};
    const Json made = expect_json(owner.post("/api/v1/tokens", body.dump()), 201);
    HttpClient client = server_->client();
    client.set_header("Authorization", "Bearer " + made["token"].get<std::string>());
    app::Caller caller;
    caller.person = "somebody";
    caller.role = Role::Owner;
    caller.scopes = {scope};
    for (const Operation& operation : operations()) {
      if (operation.permission == Permission::None) continue;
      if (caller.has(operation.permission)) {
        if (!operation.reads() || operation.id == "getJobEvents") continue;
        EXPECT_NE(ask(client, operation, scenes_[0].records).status, 403) << operation.id;
      } else {
        EXPECT_EQ(ask(client, operation, scenes_[0].records).status, 403) << operation.id;
      }
    }
  }
}

// Last: what ends something is let through too.
TEST_F(Matrix, WhatEndsSomethingIsLetThroughForWhoMay) {
  for (const Role role : kRoles) {
    HttpClient client = client_of(role, 1);
    Ids ids = role == Role::Assistant ? scenes_[1].by_assistant : scenes_[1].records;
    if (app::may(role, Permission::EnterTests)) ids["upload"] = upload(client);
    const Json token = expect_json(client.post("/api/v1/tokens", R"({"name":"mine"})"), 201);
    ids["token"] = token["id"];
    for (const Operation& operation : operations()) {
      if (!app::may(role, operation.permission)) continue;
      if (operation.id == "deleteUpload" || operation.id == "deleteToken") {
        EXPECT_EQ(ask(client, operation, ids).status, 204) << what(operation, role);
      }
      if (operation.id == "cancelJob") {
        const int status = ask(client, operation, ids).status;
        EXPECT_TRUE(status / 100 == 2 || status == 412) << what(operation, role) << status;
      }
    }
    for (const Operation& operation : operations()) {
      if (operation.id != "eraseAthlete" || !app::may(role, operation.permission)) continue;
      EXPECT_EQ(ask(client, operation, scenes_[1].of_another).status / 100, 2)
          << what(operation, role);
    }
    EXPECT_EQ(client.remove("/api/v1/session").status, 204) << app::role_name(role);
    EXPECT_EQ(client.get("/api/v1/session").status, 401) << app::role_name(role);
  }
}

}  // namespace
}  // namespace lintel::test
