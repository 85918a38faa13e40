// People, roles and invitations, on both engines.
#include <gtest/gtest.h>

#include <thread>

#include "support/practice_fixture.h"

namespace lintel::app {
namespace {

using test::expect_value;
using test::kGoodPassphrase;
using test::kOtherPassphrase;

class PeopleTest : public test::PracticeTest {
 protected:
  std::optional<ErrorCode> fault(const Result<PersonWithInvitation>& result) {
    return result ? std::nullopt : std::optional<ErrorCode>(result.error().code);
  }
};
LINTEL_BOTH_ENGINES(PeopleTest);

TEST_P(PeopleTest, AreAddedByAnOwnerAlone) {
  const SignedIn owner = make_owner();
  for (const Role role : {Role::Practitioner, Role::Assistant, Role::Athlete, Role::Reviewer}) {
    const std::string login(role_name(role));
    const view::Account account = add(owner.caller, role, login);
    const Caller caller = sign_in(login, kGoodPassphrase).session->caller;
    EXPECT_EQ(caller.role, role);
    EXPECT_EQ(caller.person, account.person);
    NewPerson more;
    more.name = "Somebody";
    more.role = Role::Owner;
    more.passphrase = kGoodPassphrase;
    EXPECT_EQ(fault(add_person(practice(), caller, more)), ErrorCode::Denied);
    EXPECT_EQ(fault(change_person(practice(), caller, account.person, {})), ErrorCode::Denied);
    EXPECT_EQ(list_people(practice(), caller).error().code, ErrorCode::Denied);
  }
  EXPECT_EQ(expect_value(list_people(practice(), owner.caller)).size(), 5u);
}

TEST_P(PeopleTest, AreRefusedWithTheFieldThatIsWrong) {
  const SignedIn owner = make_owner();
  const auto field = [&](NewPerson person) {
    const auto result = add_person(practice(), owner.caller, person);
    return result ? std::string("none") : result.error().place.field;
  };
  NewPerson person;
  person.name = "Eskil Moen";
  person.passphrase = kGoodPassphrase;
  person.role = Role::Practitioner;
  NewPerson bad = person;
  bad.name = "";
  EXPECT_EQ(field(bad), "name");
  bad = person;
  bad.passphrase = "eskil.moen  ";
  EXPECT_EQ(field(bad), "passphrase");
  bad = person;
  bad.login = "Runa Feldvik";
  EXPECT_EQ(field(bad), "login");
  bad = person;
  bad.role = Role::Athlete;
  EXPECT_EQ(field(bad), "athlete");
  bad.athlete = "11111111-1111-4111-8111-111111111111";
  EXPECT_EQ(field(bad), "athlete");
  bad.athlete = owner.caller.person;  // a record, but no athlete's
  EXPECT_EQ(field(bad), "athlete");
  bad = person;
  bad.athlete = add_athlete(owner.caller.organization, "Ansa Brinvik");
  EXPECT_EQ(field(bad), "athlete");
  EXPECT_EQ(expect_value(list_people(practice(), owner.caller)).size(), 1u);
}

TEST_P(PeopleTest, AnAthleteHasOneAccountAndOfTheOwnOrganizationOnly) {
  const SignedIn owner = make_owner();
  NewOwner elsewhere = new_owner();
  elsewhere.login = "other.owner";
  elsewhere.organization = "Ytre Havn";
  const SignedIn other = expect_value(found_organization(practice(), elsewhere));
  NewPerson person;
  person.name = "Ansa Brinvik";
  person.role = Role::Athlete;
  person.athlete = add_athlete(owner.caller.organization, person.name);
  EXPECT_EQ(fault(add_person(practice(), other.caller, person)), ErrorCode::NotFound);
  EXPECT_EQ(fault(add_person(practice(), owner.caller, person)), std::nullopt);
  person.login = "ansa2";
  EXPECT_EQ(fault(add_person(practice(), owner.caller, person)), ErrorCode::Conflict);
}

TEST_P(PeopleTest, OfAnotherOrganizationAreNotThere) {
  const SignedIn owner = make_owner();
  NewOwner elsewhere = new_owner();
  elsewhere.login = "other.owner";
  elsewhere.organization = "Ytre Havn";
  const SignedIn other = expect_value(found_organization(practice(), elsewhere));
  PersonChange change;
  change.active = false;
  EXPECT_EQ(fault(change_person(practice(), other.caller, owner.caller.person, change)),
            ErrorCode::NotFound);
  EXPECT_EQ(find_person(practice(), other.caller, owner.caller.person).error().code,
            ErrorCode::NotFound);
  EXPECT_EQ(expect_value(list_people(practice(), other.caller)).size(), 1u);
  EXPECT_TRUE(who(owner.cookie).signed_in());
}

TEST_P(PeopleTest, ChangeOfRoleCountsAtOnce) {
  const SignedIn owner = make_owner();
  const view::Account eskil = add(owner.caller, Role::Practitioner, "eskil");
  const auto session = sign_in("eskil", kGoodPassphrase).session;
  PersonChange change;
  change.expected_version = 1;
  change.role = Role::Reviewer;
  const auto changed = expect_value(change_person(practice(), owner.caller, eskil.person, change));
  EXPECT_EQ(changed.account.role, "reviewer");
  EXPECT_EQ(changed.account.version, 2);
  EXPECT_FALSE(who(session->cookie).has(Permission::WriteRecords));
  EXPECT_EQ(fault(change_person(practice(), owner.caller, eskil.person, change)),
            ErrorCode::Conflict);
}

TEST_P(PeopleTest, AnAthleteStaysOneAndNobodyBecomesOne) {
  const SignedIn owner = make_owner();
  const view::Account ansa = add(owner.caller, Role::Athlete, "ansa");
  const view::Account eskil = add(owner.caller, Role::Assistant, "eskil");
  PersonChange change;
  change.role = Role::Practitioner;
  EXPECT_EQ(fault(change_person(practice(), owner.caller, ansa.person, change)),
            ErrorCode::Invalid);
  change.role = Role::Athlete;
  EXPECT_EQ(fault(change_person(practice(), owner.caller, eskil.person, change)),
            ErrorCode::Invalid);
}

TEST_P(PeopleTest, WhoIsSwitchedOffIsOutAtOnce) {
  const SignedIn owner = make_owner();
  const view::Account eskil = add(owner.caller, Role::Practitioner, "eskil");
  const auto session = sign_in("eskil", kGoodPassphrase).session;
  const TokenWithSecret token = expect_value(add_token(practice(), session->caller, {"t", {}, ""}));
  PersonChange change;
  change.active = false;
  expect_value(change_person(practice(), owner.caller, eskil.person, change));
  EXPECT_FALSE(who(session->cookie).signed_in());
  EXPECT_FALSE(who("", token.secret).signed_in());
  EXPECT_FALSE(sign_in("eskil", kGoodPassphrase).session);
  change.active = true;
  expect_value(change_person(practice(), owner.caller, eskil.person, change));
  EXPECT_FALSE(who(session->cookie).signed_in());  // ended for good
  EXPECT_FALSE(who("", token.secret).signed_in());
  EXPECT_TRUE(sign_in("eskil", kGoodPassphrase).session);
}

TEST_P(PeopleTest, TheLastOwnerStays) {
  const SignedIn owner = make_owner();
  PersonChange off;
  off.active = false;
  PersonChange down;
  down.role = Role::Practitioner;
  EXPECT_EQ(fault(change_person(practice(), owner.caller, owner.caller.person, off)),
            ErrorCode::Conflict);
  EXPECT_EQ(fault(change_person(practice(), owner.caller, owner.caller.person, down)),
            ErrorCode::Conflict);
  EXPECT_TRUE(who(owner.cookie).has(Permission::Administer));
  const view::Account second = add(owner.caller, Role::Owner, "second");
  const Caller second_caller = sign_in("second", kGoodPassphrase).session->caller;
  // Two owners who put each other out at the same moment: one of them stays.
  std::vector<std::thread> both;
  std::atomic<int> done{0};
  both.emplace_back([&] {
    if (change_person(practice(), owner.caller, second.person, off)) ++done;
  });
  both.emplace_back([&] {
    if (change_person(practice(), second_caller, owner.caller.person, off)) ++done;
  });
  for (std::thread& one : both) one.join();
  EXPECT_EQ(done, 1);
}

TEST_P(PeopleTest, AnInvitationIsTakenUpOnce) {
  const SignedIn owner = make_owner();
  NewPerson person;
  person.name = "Ansa Brinvik";
  person.role = Role::Athlete;
  person.athlete = add_athlete(owner.caller.organization, person.name);
  const auto invited = expect_value(add_person(practice(), owner.caller, person));
  EXPECT_FALSE(invited.account.has_passphrase);
  ASSERT_FALSE(invited.invitation.empty());
  EXPECT_FALSE(sign_in("ansa.brinvik", kGoodPassphrase).session);
  const InvitationInfo info = expect_value(look_at_invitation(practice(), invited.invitation));
  EXPECT_EQ(info.name, "Ansa Brinvik");
  EXPECT_EQ(info.login, "ansa.brinvik");
  EXPECT_EQ(info.organization, "Skarnholm Lifting Club");
  const auto weak = accept_invitation(practice(), invited.invitation, "short", test::kPeer);
  EXPECT_EQ(weak.error().code, ErrorCode::Invalid);
  std::vector<std::thread> twice;
  std::atomic<int> done{0};
  for (int i = 0; i < 2; ++i) {
    twice.emplace_back([&] {
      if (accept_invitation(practice(), invited.invitation, kGoodPassphrase, test::kPeer)) ++done;
    });
  }
  for (std::thread& one : twice) one.join();
  EXPECT_EQ(done, 1);
  const auto session = sign_in("ansa.brinvik", kGoodPassphrase).session;
  ASSERT_TRUE(session);
  EXPECT_EQ(session->caller.person, person.athlete);
  EXPECT_EQ(look_at_invitation(practice(), invited.invitation).error().code, ErrorCode::NotFound);
  EXPECT_EQ(look_at_invitation(practice(), "").error().code, ErrorCode::NotFound);
}

TEST_P(PeopleTest, AnInvitationEndsAfterAWeekOrWithANewOne) {
  const SignedIn owner = make_owner();
  NewPerson person;
  person.name = "Eskil Moen";
  person.role = Role::Assistant;
  const auto first = expect_value(add_person(practice(), owner.caller, person));
  PersonChange again;
  again.reset_passphrase = true;
  const auto second =
      expect_value(change_person(practice(), owner.caller, first.account.person, again));
  EXPECT_FALSE(look_at_invitation(practice(), first.invitation));
  EXPECT_TRUE(look_at_invitation(practice(), second.invitation));
  pass(7 * 24 * 3600 + 1);
  EXPECT_FALSE(look_at_invitation(practice(), second.invitation));
}

TEST_P(PeopleTest, AResetTakesThePassphraseAndAllWaysIn) {
  const SignedIn owner = make_owner();
  const view::Account eskil = add(owner.caller, Role::Practitioner, "eskil");
  const auto session = sign_in("eskil", kGoodPassphrase).session;
  const TokenWithSecret token = expect_value(add_token(practice(), session->caller, {"t", {}, ""}));
  PersonChange reset;
  reset.passphrase = kOtherPassphrase;
  expect_value(change_person(practice(), owner.caller, eskil.person, reset));
  EXPECT_FALSE(who(session->cookie).signed_in());
  EXPECT_FALSE(who("", token.secret).signed_in());
  EXPECT_FALSE(sign_in("eskil", kGoodPassphrase).session);
  EXPECT_TRUE(sign_in("eskil", kOtherPassphrase).session);
}

TEST_P(PeopleTest, HaveARecordWhoseVersionsAreKept) {
  const SignedIn owner = make_owner();
  const view::Account eskil = add(owner.caller, Role::Assistant, "eskil");
  PersonChange change;
  change.name = "Eskil Moen-Sandnes";
  expect_value(change_person(practice(), owner.caller, eskil.person, change));
  const auto versions = expect_value(
      store::read_value<std::vector<store::Record>>(database(), [&](store::Transaction& t) {
        return store::record_versions(t, owner.caller.organization, eskil.person);
      }));
  ASSERT_EQ(versions.size(), 2u);
  EXPECT_NE(versions[0].document.find("Person eskil"), std::string::npos);
  EXPECT_NE(versions[1].document.find("Eskil Moen-Sandnes"), std::string::npos);
  EXPECT_EQ(versions[1].changed_by, owner.caller.person);
}

TEST_P(PeopleTest, TheOrganizationIsRenamedByAnOwnerFromItsNewestVersion) {
  const SignedIn owner = make_owner();
  EXPECT_EQ(expect_value(organization_of(practice(), owner.caller)).name, "Skarnholm Lifting Club");
  const auto renamed =
      expect_value(rename_organization(practice(), owner.caller, 1, "Skarnholm LK"));
  EXPECT_EQ(renamed.name, "Skarnholm LK");
  EXPECT_EQ(renamed.version, 2);
  EXPECT_EQ(rename_organization(practice(), owner.caller, 1, "Late").error().code,
            ErrorCode::Conflict);
  add(owner.caller, Role::Practitioner, "eskil");
  const Caller eskil = sign_in("eskil", kGoodPassphrase).session->caller;
  EXPECT_EQ(rename_organization(practice(), eskil, 2, "Mine").error().code, ErrorCode::Denied);
  EXPECT_EQ(expect_value(organization_of(practice(), eskil)).name, "Skarnholm LK");
}

TEST_P(PeopleTest, ThePersonAtTheMachineActsForTheOneOrganization) {
  EXPECT_EQ(caller_at_the_machine(practice()).error().code, ErrorCode::NotFound);
  const SignedIn owner = make_owner();
  const Caller machine = expect_value(caller_at_the_machine(practice()));
  EXPECT_EQ(machine.organization, owner.caller.organization);
  EXPECT_EQ(machine.peer, "cli");
  EXPECT_TRUE(machine.has(Permission::Administer));
  NewOwner elsewhere = new_owner();
  elsewhere.login = "other.owner";
  const SignedIn other = expect_value(found_organization(practice(), elsewhere));
  EXPECT_FALSE(caller_at_the_machine(practice()));
  EXPECT_EQ(expect_value(caller_at_the_machine(practice(), other.caller.organization)).organization,
            other.caller.organization);
}

}  // namespace
}  // namespace lintel::app
