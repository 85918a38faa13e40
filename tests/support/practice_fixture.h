// A workplace over both engines with a clock that stands still until it is moved, for tests of
// accounts and of the audit trail.
#pragma once

#include "app/accounts.h"
#include "app/practice.h"
#include "base/instant.h"
#include "support/store_fixture.h"

namespace lintel::test {

inline constexpr const char* kGoodPassphrase = "kittiwake ledge oilskin rope";
inline constexpr const char* kOtherPassphrase = "tide table brass lantern";
inline constexpr const char* kPeer = "192.0.2.7";  // RFC 5737: for documents and tests

class PracticeTest : public StoreTest {
 protected:
  void SetUp() override {
    StoreTest::SetUp();
    if (IsSkipped() || HasFatalFailure()) return;
    app::PracticeOptions options;
    options.data = folder() / "data";
    options.database = url();
    options.now = [this] { return now_; };
    practice_ = expect_value(app::open_practice(options));
    practice_->passphrase_cost = secure::kCheapestCost;
  }
  void TearDown() override {
    practice_.reset();
    StoreTest::TearDown();
  }

  app::Practice& practice() { return *practice_; }
  void pass(double seconds) { now_ = instant_after(now_, seconds); }

  app::NewOwner new_owner() const {
    app::NewOwner owner;
    owner.name = "Runa Feldvik";
    owner.organization = "Skarnholm Lifting Club";
    owner.passphrase = kGoodPassphrase;
    owner.peer = kPeer;
    owner.loopback = true;
    return owner;
  }
  app::SignedIn make_owner() {
    return expect_value(app::create_first_owner(practice(), new_owner()));
  }
  // Of the role athlete: the athlete's record is made too.
  view::Account add(const app::Caller& owner, app::Role role, const std::string& login) {
    app::NewPerson person;
    person.name = "Person " + login;
    person.login = login;
    person.role = role;
    person.passphrase = kGoodPassphrase;
    if (role == app::Role::Athlete) person.athlete = add_athlete(owner.organization, person.name);
    return expect_value(app::add_person(practice(), owner, person)).account;
  }
  app::SignInOutcome sign_in(const std::string& login, const std::string& passphrase,
                             const std::string& peer = kPeer) {
    app::SignInRequest request;
    request.login = login;
    request.passphrase = passphrase;
    request.peer = peer;
    return expect_value(app::sign_in(practice(), request));
  }
  app::Caller who(const std::string& cookie, const std::string& bearer = "") {
    return expect_value(app::authenticate(practice(), cookie, bearer, kPeer));
  }

 private:
  std::string now_ = kNow;
  std::unique_ptr<app::Practice> practice_;
};

}  // namespace lintel::test
