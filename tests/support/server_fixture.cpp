#include "support/server_fixture.h"

#include <stdexcept>

#include "server/routes.h"
#include "store/records.h"

namespace lintel::test {
namespace {

constexpr const char* kPassphrase = "harbour wind over Skarnholm";

std::string role_person_name(app::Role role) {
  switch (role) {
    case app::Role::Owner:
      return "Torun Halvard";
    case app::Role::Practitioner:
      return "Runa Feldvik";
    case app::Role::Assistant:
      return "Eskil Moen";
    case app::Role::Athlete:
      return "Ansa Brinvik";
    case app::Role::Reviewer:
      return "Liv Sandnes";
  }
  return "Nobody";
}

// A document with what an athlete's record needs at least.
std::string intake_of(const std::string& name) {
  return R"({"schema":"lintel-intake-1","athlete":{"schema":"lintel-athlete-1","id":"a","name":")" +
         name + R"(","sex":"female","body":{"stature_cm":168,"mass_kg":64}},"tags":[]})";
}

}  // namespace

ServerFixture::ServerFixture(Options options) : options_(std::move(options)) {
  start();
}

ServerFixture::~ServerFixture() {
  if (server_) server_->stop();
}

void ServerFixture::start() {
  app::PracticeOptions place;
  place.data = folder_.path() / "data";
  place.database = options_.database;
  place.now = options_.now;
  practice_ = value_of(app::open_practice(place));
  practice_->passphrase_cost = secure::kCheapestCost;
  server::ServerOptions options = options_.server;
  options.port = 0;
  std::vector<server::Route> routes = server::all_routes(*practice_);
  if (options_.more_routes) options_.more_routes(routes);
  server_ = value_of(server::Server::start(options, std::move(routes),
                                           server::whole_gate(*practice_), options_.files));
}

void ServerFixture::restart() {
  server_->stop();
  server_.reset();
  practice_.reset();
  start();
}

const app::SignedIn& ServerFixture::owner(int organization) {
  const auto found = owners_.find(organization);
  if (found != owners_.end()) return found->second;
  app::NewOwner owner;
  owner.name = role_person_name(app::Role::Owner);
  owner.organization = organization == 0 ? "Skarnholm Lifting Club" : "Ytre Havn Rowing Club";
  owner.login = "owner" + std::to_string(organization);
  owner.passphrase = kPassphrase;
  owner.peer = "127.0.0.1";
  owner.loopback = true;
  if (organization == 0) {
    owners_[0] = value_of(app::create_first_owner(*practice_, owner));
  } else {
    this->owner(0);  // the first one is made by the first start
    owners_[organization] = value_of(app::found_organization(*practice_, owner));
  }
  return owners_[organization];
}

std::string ServerFixture::add_athlete(const std::string& name, int organization) {
  const app::SignedIn& maker = owner(organization);
  store::NewRecord record;
  record.kind = store::RecordKind::Athlete;
  record.organization = maker.caller.organization;
  record.document = intake_of(name);
  record.index.athlete = store::AthleteRow{name, "", "female", {}};
  const store::Author author{maker.caller.person, practice_->now()};
  return value_of(store::write_value<store::Record>(
                      *practice_->database,
                      [&](store::Transaction& t) { return insert_record(t, record, author); }))
      .id;
}

ServerFixture::Account& ServerFixture::account(app::Role role, int organization) {
  const auto key = std::make_pair(organization, role);
  const auto found = accounts_.find(key);
  if (found != accounts_.end()) return found->second;
  const app::SignedIn& maker = owner(organization);
  Account account;
  account.person.passphrase = kPassphrase;
  app::SignedIn signed_in = maker;
  if (role == app::Role::Owner) {
    account.person.login = "owner" + std::to_string(organization);
  } else {
    app::NewPerson person;
    person.name = role_person_name(role);
    person.role = role;
    person.login = std::string(app::role_name(role)) + std::to_string(organization);
    person.passphrase = kPassphrase;
    if (role == app::Role::Athlete) {
      person.athlete = account.person.athlete = add_athlete(person.name, organization);
    }
    value_of(app::add_person(*practice_, maker.caller, person));
    account.person.login = person.login;
    app::SignInRequest request;
    request.login = person.login;
    request.passphrase = kPassphrase;
    request.peer = "127.0.0.1";
    const app::SignInOutcome outcome = value_of(app::sign_in(*practice_, request));
    if (!outcome.session) throw std::runtime_error("the test's person cannot sign in");
    signed_in = *outcome.session;
  }
  account.person.caller = signed_in.caller;
  account.cookie = signed_in.cookie;
  account.csrf_token = signed_in.csrf_token;
  return accounts_[key] = std::move(account);
}

const Person& ServerFixture::person(app::Role role, int organization) {
  return account(role, organization).person;
}

HttpClient ServerFixture::as(app::Role role, int organization) {
  const Account& who = account(role, organization);
  HttpClient out = client();
  out.set_cookie("lintel_session=" + who.cookie);
  out.set_header("X-Lintel-Token", who.csrf_token);
  return out;
}

}  // namespace lintel::test
