// Accounts over HTTP: first start, sign-in and its cookie, the write token, invitations, tokens,
// the audit trail.
#include <gtest/gtest.h>

#include "app/accounts.h"
#include "base/instant.h"
#include "server/routes.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Role;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr const char* kGood = "kittiwake ledge oilskin rope";
constexpr const char* kOther = "tide table brass lantern";

class AccountRoutes : public ::testing::Test {
 protected:
  AccountRoutes() : server_(options()) {}
  ServerFixture::Options options() {
    ServerFixture::Options options;
    options.server.limit_routes = false;
    options.now = [this] { return now_; };
    return options;
  }
  void pass(double seconds) { now_ = instant_after(now_, seconds); }

  static std::string secret_in(const HttpReply& reply) {
    const std::string head = "lintel_session=";
    if (reply.cookies.empty() || reply.cookies[0].rfind(head, 0) != 0) return "";
    return reply.cookies[0].substr(head.size(), reply.cookies[0].find(';') - head.size());
  }
  HttpClient with_session(const HttpReply& reply) {
    HttpClient client = server_.client();
    client.set_cookie("lintel_session=" + secret_in(reply));
    client.set_header("X-Lintel-Token", json_of(reply).at("csrf_token"));
    return client;
  }
  HttpReply make_owner() {
    return server_.client().post(
        "/api/v1/owner",
        Json{{"name", "Runa Feldvik"}, {"organization", "Skarnholm LK"}, {"passphrase", kGood}}
            .dump());
  }
  HttpReply sign_in(const std::string& login, const std::string& passphrase,
                    const Headers& headers = {}) {
    return server_.client().post(
        "/api/v1/session", Json{{"login", login}, {"passphrase", passphrase}}.dump(), headers);
  }

  std::string now_ = "2026-10-05T09:00:00.000Z";
  ServerFixture server_;
};

TEST_F(AccountRoutes, FirstStartMakesTheOwnerOnce) {
  HttpClient client = server_.client();
  EXPECT_EQ(expect_json(client.get("/api/v1/status"), 200).at("needs_owner"), true);
  const HttpReply made = make_owner();
  const Json session = expect_json(made, 201);
  EXPECT_EQ(session.at("role"), "owner");
  EXPECT_EQ(session.at("login"), "runa.feldvik");
  EXPECT_EQ(session.at("organization").at("name"), "Skarnholm LK");
  EXPECT_EQ(expect_json(client.get("/api/v1/status"), 200).at("needs_owner"), false);
  EXPECT_EQ(make_owner().status, 409);
  EXPECT_EQ(expect_json(with_session(made).get("/api/v1/session"), 200), session);
}

TEST_F(AccountRoutes, AFaultyFirstStartNamesTheField) {
  const auto field = [&](const Json& body) {
    const HttpReply reply = server_.client().post("/api/v1/owner", body.dump());
    EXPECT_EQ(reply.status, 422) << reply.body;
    return json_of(reply).at("place").at("field");
  };
  EXPECT_EQ(field({{"organization", "x"}, {"passphrase", kGood}}), "name");
  EXPECT_EQ(field({{"name", "Runa"}, {"organization", "x"}, {"passphrase", "short"}}),
            "passphrase");
  EXPECT_EQ(field({{"name", "Runa"}, {"organization", "x"}, {"passphrase", kGood}, {"nmae", 1}}),
            "nmae");
  EXPECT_EQ(field({{"name", 7}, {"organization", "x"}, {"passphrase", kGood}}), "name");
}

// RFC 6265, section 4.1.2, and the SameSite attribute of its successor.
TEST_F(AccountRoutes, TheCookieIsOutOfReachForScriptsAndOtherSites) {
  make_owner();
  const HttpReply reply = sign_in("runa.feldvik", kGood);
  ASSERT_EQ(reply.cookies.size(), 1u);
  const std::string& cookie = reply.cookies[0];
  for (const char* part : {"; Path=/", "; HttpOnly", "; SameSite=Strict", "; Max-Age=604800"}) {
    EXPECT_THAT(cookie, HasSubstr(part));
  }
  EXPECT_THAT(cookie, Not(HasSubstr("Secure")));  // plain http on loopback; TLS has its own test
  EXPECT_THAT(cookie, Not(HasSubstr("Domain")));
  EXPECT_EQ(secret_in(reply).size(), 43u);
  EXPECT_EQ(reply.header("cache-control"), "no-store");
  EXPECT_THAT(reply.body, Not(HasSubstr(secret_in(reply))));
}

TEST_F(AccountRoutes, WithTlsTheCookieIsSecure) {
  make_owner();
  std::vector<server::Route> routes;
  server::add_account_routes(routes, server_.practice());
  const auto route = std::find_if(routes.begin(), routes.end(), [](const server::Route& one) {
    return one.operation == "signIn";
  });
  ASSERT_NE(route, routes.end());
  server::Request request;
  request.body = Json{{"login", "runa.feldvik"}, {"passphrase", kGood}}.dump();
  const app::Caller nobody;
  for (const bool tls : {false, true}) {
    request.tls = tls;
    const server::Response reply = value_of(route->handler({request, nobody, {}, {}}));
    ASSERT_EQ(reply.status, 200);
    ASSERT_NE(reply.header("set-cookie"), nullptr);
    EXPECT_EQ(reply.header("set-cookie")->find("; Secure") != std::string::npos, tls);
  }
}

TEST_F(AccountRoutes, AWrongLoginAnswersLikeAWrongPassphrase) {
  make_owner();
  const HttpReply passphrase = sign_in("runa.feldvik", kOther);
  const HttpReply login = sign_in("nobody.here", kGood);
  EXPECT_EQ(passphrase.status, 401);
  EXPECT_EQ(login.status, 401);
  EXPECT_EQ(passphrase.body, login.body);
  auto without_date = [](HttpReply reply) {
    reply.headers.erase("date");
    return reply.headers;
  };
  EXPECT_EQ(without_date(passphrase), without_date(login));
  EXPECT_TRUE(passphrase.cookies.empty());
}

TEST_F(AccountRoutes, LockOutSaysHowLongAndTreatsAnUnknownLoginAlike) {
  make_owner();
  for (const char* login : {"runa.feldvik", "nobody.here"}) {
    for (int i = 0; i < 5; ++i) EXPECT_EQ(sign_in(login, "wrong").status, 401) << login << i;
    const HttpReply locked = sign_in(login, kGood);
    EXPECT_EQ(locked.status, 429) << login;
    EXPECT_EQ(locked.header("retry-after"), "30") << login;
  }
  EXPECT_EQ(sign_in("runa.feldvik", kGood).body, sign_in("nobody.here", kGood).body);
  pass(31);
  EXPECT_EQ(sign_in("runa.feldvik", kGood).status, 200);
}

TEST_F(AccountRoutes, ASecretThatWasPlantedIsNotTakenOver) {
  make_owner();
  const HttpReply reply = sign_in("runa.feldvik", kGood, {{"Cookie", "lintel_session=planted"}});
  EXPECT_EQ(reply.status, 200);
  EXPECT_NE(secret_in(reply), "planted");
  HttpClient planted = server_.client();
  planted.set_cookie("lintel_session=planted");
  EXPECT_EQ(planted.get("/api/v1/session").status, 401);
}

TEST_F(AccountRoutes, ASessionEndsByItselfAndBySigningOut) {
  HttpClient client = with_session(make_owner());
  const HttpReply second = sign_in("runa.feldvik", kGood);
  HttpClient other = with_session(second);
  const HttpReply out = client.remove("/api/v1/session");
  EXPECT_EQ(out.status, 204);
  ASSERT_EQ(out.cookies.size(), 1u);
  EXPECT_THAT(out.cookies[0], HasSubstr("lintel_session=; Path=/; Max-Age=0"));
  EXPECT_EQ(client.get("/api/v1/session").status, 401);
  EXPECT_EQ(other.get("/api/v1/session").status, 200);
  pass(static_cast<double>(app::kSessionIdle_s) + 1);
  EXPECT_EQ(other.get("/api/v1/session").status, 401);
}

// A page of another site can send a request with our cookie at most; it does not know the token.
TEST_F(AccountRoutes, OwnSessionsAreListedAndEnded) {
  HttpClient here = with_session(make_owner());
  pass(120);
  HttpClient tablet = with_session(sign_in("runa.feldvik", kGood));
  HttpClient phone = with_session(sign_in("runa.feldvik", kGood));
  expect_json(
      here.post(
          "/api/v1/people",
          Json{{"name", "Eskil Moen"}, {"role", "practitioner"}, {"passphrase", kOther}}.dump()),
      201);
  HttpClient other = with_session(sign_in("eskil.moen", kOther));
  const std::string theirs =
      expect_json(other.get("/api/v1/sessions"), 200).at("items").at(0).at("id");
  const auto id_of = [](HttpClient& client) {
    const Json list = expect_json(client.get("/api/v1/sessions"), 200);
    for (const Json& one : list.at("items")) {
      if (one.at("current")) return one.at("id").get<std::string>();
    }
    return std::string();
  };
  const Json items = expect_json(here.get("/api/v1/sessions"), 200).at("items");
  ASSERT_EQ(items.size(), 3u);
  int current = 0;
  for (const Json& one : items) {
    current += one.at("current") ? 1 : 0;
    EXPECT_EQ(one.at("peer"), "127.0.0.1");
    const std::string begun = one.at("created_at"), used = one.at("last_used_at");
    EXPECT_EQ(begun, one.at("current") ? "2026-10-05T09:00:00.000Z" : "2026-10-05T09:02:00.000Z");
    EXPECT_EQ(used, "2026-10-05T09:02:00.000Z") << "this one was used just now";
    EXPECT_EQ(one.at("idle_until"), instant_after(used, 8 * 3600));
    EXPECT_EQ(one.at("expires_at"), instant_after(begun, 7 * 24 * 3600));
    EXPECT_NE(one.at("id"), theirs);
    EXPECT_FALSE(one.contains("digest"));
  }
  EXPECT_EQ(current, 1);

  // One of somebody else, and one that is not: the same answer.
  EXPECT_EQ(here.remove("/api/v1/sessions/" + theirs).status, 404);
  EXPECT_EQ(here.remove("/api/v1/sessions/none").status, 404);
  EXPECT_EQ(other.get("/api/v1/session").status, 200);
  EXPECT_EQ(here.remove("/api/v1/sessions/" + id_of(phone)).status, 204);
  EXPECT_EQ(phone.get("/api/v1/session").status, 401);
  EXPECT_EQ(tablet.get("/api/v1/session").status, 200);
  const Json ended = expect_json(here.remove("/api/v1/sessions"), 200);
  EXPECT_EQ(ended.at("ended"), 1);
  EXPECT_EQ(tablet.get("/api/v1/session").status, 401);
  EXPECT_EQ(here.get("/api/v1/session").status, 200);
  EXPECT_EQ(other.get("/api/v1/session").status, 200) << "somebody else's stays";
  // The own one too, and then its cookie goes.
  const HttpReply last = here.remove("/api/v1/sessions/" + id_of(here));
  EXPECT_EQ(last.status, 204);
  ASSERT_FALSE(last.cookies.empty());
  EXPECT_THAT(last.cookies[0], HasSubstr("Max-Age=0"));
  EXPECT_EQ(here.get("/api/v1/session").status, 401);
  HttpClient again = with_session(sign_in("runa.feldvik", kGood));
  std::string actions;
  const Json trail = expect_json(again.get("/api/v1/audit?limit=100"), 200);
  for (const Json& row : trail.at("items")) {
    if (row.at("action") == "session_ended") actions += "x";
  }
  EXPECT_EQ(actions, "xxx");
}

TEST_F(AccountRoutes, SessionsAreNotForTokensAndThoseThatAreOverAreNotShown) {
  HttpClient owner = with_session(make_owner());
  const Json made = expect_json(owner.post("/api/v1/tokens", R"({"name":"sheet"})"), 201);
  HttpClient program = server_.client();
  program.set_header("Authorization", "Bearer " + made.at("token").get<std::string>());
  EXPECT_EQ(program.get("/api/v1/sessions").status, 403);
  EXPECT_EQ(program.remove("/api/v1/sessions").status, 403);
  EXPECT_EQ(owner.get("/api/v1/session").status, 200);
  pass(9 * 3600.0);  // the first one is over by disuse
  HttpClient fresh = with_session(sign_in("runa.feldvik", kGood));
  EXPECT_EQ(expect_json(fresh.get("/api/v1/sessions"), 200).at("items").size(), 1u);
  EXPECT_EQ(expect_json(fresh.remove("/api/v1/sessions"), 200).at("ended"), 0);
}

TEST_F(AccountRoutes, AWriteNeedsTheTokenOfItsOwnSession) {
  const HttpReply made = make_owner();
  const std::string other_token = json_of(sign_in("runa.feldvik", kGood)).at("csrf_token");
  const std::string body = R"({"name":"sheet"})";
  HttpClient client = server_.client();
  client.set_cookie("lintel_session=" + secret_in(made));
  EXPECT_EQ(client.post("/api/v1/tokens", body).status, 403);
  for (const std::string& token : {std::string("x"), other_token, secret_in(made)}) {
    EXPECT_EQ(client.post("/api/v1/tokens", body, {{"X-Lintel-Token", token}}).status, 403);
  }
  const Headers right = {{"X-Lintel-Token", json_of(made).at("csrf_token")}};
  EXPECT_EQ(client.post("/api/v1/tokens", body, right).status, 201);
  Headers elsewhere = right;
  elsewhere.emplace_back("Origin", "https://elsewhere.example");
  EXPECT_EQ(client.post("/api/v1/tokens", body, elsewhere).status, 403);
  EXPECT_EQ(expect_json(client.get("/api/v1/tokens"), 200).at("items").size(), 1u);
}

TEST_F(AccountRoutes, ANewPassphraseEndsTheOtherSessionsAndGivesThisOneANewSecret) {
  const HttpReply made = make_owner();
  HttpClient client = with_session(made);
  HttpClient other = with_session(sign_in("runa.feldvik", kGood));
  const auto change = [&](const std::string& old, const std::string& fresh) {
    return client.put("/api/v1/session/passphrase", Json{{"old", old}, {"new", fresh}}.dump());
  };
  EXPECT_EQ(change("wrong", kOther).status, 403);
  EXPECT_EQ(change(kGood, "short").status, 422);
  const HttpReply changed = change(kGood, kOther);
  EXPECT_EQ(changed.status, 200);
  EXPECT_NE(secret_in(changed), secret_in(made));
  EXPECT_EQ(client.get("/api/v1/session").status, 401);
  EXPECT_EQ(other.get("/api/v1/session").status, 401);
  EXPECT_EQ(with_session(changed).get("/api/v1/session").status, 200);
  EXPECT_EQ(sign_in("runa.feldvik", kGood).status, 401);
  EXPECT_EQ(sign_in("runa.feldvik", kOther).status, 200);
}

TEST_F(AccountRoutes, PeopleAreAddedChangedAndInvited) {
  HttpClient owner = with_session(make_owner());
  const HttpReply added =
      owner.post("/api/v1/people", R"({"name":"Eskil Moen","role":"practitioner","invite":true})");
  const Json person = expect_json(added, 201);
  EXPECT_EQ(added.header("location"), "/api/v1/people/" + person.at("id").get<std::string>());
  EXPECT_EQ(person.at("state"), "invited");
  const Json secret = {{"secret", person.at("invitation").at("secret")}};
  HttpClient nobody = server_.client();
  const Json info = expect_json(nobody.post("/api/v1/invitations/look", secret.dump()), 200);
  EXPECT_EQ(info.at("name"), "Eskil Moen");
  EXPECT_EQ(info.at("organization"), "Skarnholm LK");
  Json accept = secret;
  accept["passphrase"] = kOther;
  const HttpReply accepted = nobody.post("/api/v1/invitations/accept", accept.dump());
  EXPECT_EQ(expect_json(accepted, 200).at("role"), "practitioner");
  EXPECT_EQ(with_session(accepted).get("/api/v1/session").status, 200);
  EXPECT_EQ(nobody.post("/api/v1/invitations/accept", accept.dump()).status, 404);

  const std::string path = added.header("location");
  const HttpReply got = owner.get(path);
  EXPECT_EQ(expect_json(got, 200).at("state"), "active");
  EXPECT_EQ(got.header("etag"), "\"2\"");
  EXPECT_EQ(owner.put(path, R"({"state":"inactive"})").status, 428);
  EXPECT_EQ(owner.put(path, R"({"state":"inactive"})", if_version(1)).status, 412);
  EXPECT_EQ(owner.put(path, R"({"state":"gone"})", if_version(2)).status, 422);
  const Json off = expect_json(owner.put(path, R"({"state":"inactive"})", if_version(2)), 200);
  EXPECT_EQ(off.at("state"), "inactive");
  EXPECT_EQ(with_session(accepted).get("/api/v1/session").status, 401);
  // Neither a passphrase nor an invitation, or both: no.
  for (const char* body :
       {R"({"name":"A B","role":"reviewer"})",
        R"({"name":"A B","role":"reviewer","invite":true,"passphrase":"kittiwake ledge rope"})",
        R"({"name":"A B","role":"boss","invite":true})"}) {
    EXPECT_EQ(owner.post("/api/v1/people", body).status, 422) << body;
  }
  EXPECT_EQ(expect_json(owner.get("/api/v1/people"), 200).at("items").size(), 2u);
}

TEST_F(AccountRoutes, ATokenIsShownOnceAndWorksWithoutACookie) {
  HttpClient owner = with_session(make_owner());
  const Json made = expect_json(
      owner.post("/api/v1/tokens", R"({"name":"sheet","scopes":["signed_in","compute"]})"), 201);
  const std::string secret = made.at("token");
  EXPECT_THAT(owner.get("/api/v1/tokens").body, Not(HasSubstr(secret)));
  HttpClient program = server_.client();
  program.set_header("Authorization", "Bearer " + secret);
  const Json session = expect_json(program.get("/api/v1/session"), 200);
  EXPECT_EQ(session.at("by_token"), true);
  EXPECT_TRUE(session.at("csrf_token").is_null());
  EXPECT_EQ(session.at("permissions"), Json({"signed_in", "compute"}));
  EXPECT_EQ(program.get("/api/v1/people").status, 403);
  EXPECT_EQ(program.post("/api/v1/tokens", R"({"name":"more"})").status, 403);
  EXPECT_EQ(program.remove("/api/v1/session").status, 403);
  for (const char* bad : {"Bearer wrong", "Bearer", "Basic cnVuYTp4", "bearer lnt_x"}) {
    program.set_header("Authorization", bad);
    EXPECT_EQ(program.get("/api/v1/session").status, 401) << bad;
  }
}

// A secret must not come back from what was kept for a repeated request.
TEST_F(AccountRoutes, AnAnswerWithASecretIsNotKeptForAnIdempotencyKey) {
  HttpClient owner = with_session(make_owner());
  const Headers key = {{"Idempotency-Key", "one-and-the-same"}};
  const HttpReply first = owner.post("/api/v1/tokens", R"({"name":"sheet"})", key);
  const HttpReply again = owner.post("/api/v1/tokens", R"({"name":"sheet"})", key);
  EXPECT_THAT(again.body, Not(HasSubstr(json_of(first).at("token").get<std::string>())));
}

TEST_F(AccountRoutes, TheOrganizationIsChangedFromItsNewestVersion) {
  HttpClient owner = with_session(make_owner());
  const HttpReply got = owner.get("/api/v1/organization");
  EXPECT_EQ(expect_json(got, 200).at("name"), "Skarnholm LK");
  EXPECT_EQ(got.header("etag"), "\"1\"");
  EXPECT_EQ(owner.put("/api/v1/organization", R"({"name":"Skarnholm"})").status, 428);
  EXPECT_EQ(
      expect_json(owner.put("/api/v1/organization", R"({"name":"Skarnholm"})", if_version(1)), 200)
          .at("name"),
      "Skarnholm");
  EXPECT_EQ(owner.put("/api/v1/organization", R"({"name":"Late"})", if_version(1)).status, 412);
}

TEST_F(AccountRoutes, TheTrailShowsReadsAndChangesAndIsWhole) {
  HttpClient practitioner = server_.as(Role::Practitioner);
  HttpClient owner = server_.as(Role::Owner);
  const Json athlete = expect_json(
      practitioner.post("/api/v1/athletes", Json{{"athlete", example("athlete.json")}}.dump()),
      201);
  const std::string id = athlete.at("id");
  for (int i = 0; i < 3; ++i) EXPECT_EQ(practitioner.get("/api/v1/athletes/" + id).status, 200);
  const Json page = expect_json(owner.get("/api/v1/audit?limit=100&athlete=" + id), 200);
  std::map<std::string, int> actions;
  for (const Json& row : page.at("items")) {
    ++actions[row.at("action")];
    EXPECT_EQ(row.at("athlete"), id);
    EXPECT_EQ(row.at("person"), server_.person(Role::Practitioner).caller.person);
    EXPECT_EQ(row.at("peer"), "127.0.0.1");
  }
  EXPECT_EQ(actions, (std::map<std::string, int>{{"record_created", 1}, {"record_seen", 1}}));
  const Json verdict = expect_json(owner.get("/api/v1/audit/verify"), 200);
  EXPECT_EQ(verdict.at("whole"), true);
  const std::string head = "?sequence=" + verdict.at("head_sequence").dump() +
                           "&hash=" + verdict.at("head_hash").get<std::string>();
  EXPECT_EQ(expect_json(owner.get("/api/v1/audit/verify" + head), 200).at("whole"), true);
  EXPECT_EQ(expect_json(owner.get("/api/v1/audit/verify" + head + "0"), 200).at("whole"), false);
  EXPECT_EQ(owner.get("/api/v1/audit?after=x").status, 422);
  // Pages fit together.
  const Json first = expect_json(owner.get("/api/v1/audit?limit=2"), 200);
  const Json second = expect_json(
      owner.get("/api/v1/audit?limit=2&after=" + first.at("next").get<std::string>()), 200);
  EXPECT_EQ(first.at("items")[1].at("sequence").get<int>() - 1,
            second.at("items")[0].at("sequence").get<int>());
}

}  // namespace
}  // namespace lintel::test
