// What the audit trail says about tampering, with rows changed by the engines' own programs.
#include <gtest/gtest.h>

#include "app/audit.h"
#include "store/accounts.h"
#include "support/practice_fixture.h"

namespace lintel::app {
namespace {

using test::expect_value;
using test::kGoodPassphrase;

class AuditVerifyTest : public test::PracticeTest {
 protected:
  // Whoever owns the database can take the triggers away; the chain must still tell.
  void tamper(const std::string& sql) {
    const bool sqlite = GetParam() == store::Engine::Sqlite;
    const std::string table = sqlite ? "" : " ON audit_trail";
    std::string drop = "DROP TRIGGER IF EXISTS audit_trail_keeps_rows" + table +
                       "; DROP TRIGGER IF EXISTS audit_trail_loses_no_rows" + table + "; ";
    if (sqlite) drop += "DROP TRIGGER IF EXISTS audit_trail_grows_at_its_end; ";
    ask_outside(drop + sql);
  }
  view::ChainVerdict verify(const ExpectedHead& expected = {}) {
    return expect_value(verify_audit(practice(), owner_, expected));
  }
  // Ten rows or more of an ordinary morning.
  void morning() {
    owner_ = make_owner().caller;
    for (int i = 0; i < 9; ++i) {
      expect_value(store::write_value<int>(database(), [&](store::Transaction& t) -> Result<int> {
        LINTEL_TRY_VOID(
            note_change(t, practice(), owner_,
                        {"record_changed", "r-" + std::to_string(i), "a-1", "kind visit"}));
        return 0;
      }));
    }
  }
  Caller owner_;
};
LINTEL_BOTH_ENGINES(AuditVerifyTest);

TEST_P(AuditVerifyTest, AWholeTrailIsWhole) {
  morning();
  const view::ChainVerdict verdict = verify();
  EXPECT_TRUE(verdict.whole) << verdict.fault;
  EXPECT_EQ(verdict.rows, 10);
  EXPECT_EQ(verdict.head_sequence, 10);
  EXPECT_EQ(verdict.head_hash.size(), 64u);
  EXPECT_EQ(verdict.first_broken, 0);
}

TEST_P(AuditVerifyTest, AChangedFieldIsFoundInWhateverColumn) {
  morning();
  for (const char* column : {"organization", "at", "person", "session", "peer", "action", "record",
                             "athlete", "detail", "hash", "previous_hash"}) {
    const std::string old =
        ask_outside("SELECT " + std::string(column) + " FROM audit_trail WHERE sequence = 4");
    tamper("UPDATE audit_trail SET " + std::string(column) + " = " + column +
           " || 'x' WHERE sequence = 4");
    const view::ChainVerdict verdict = verify();
    EXPECT_FALSE(verdict.whole) << column;
    EXPECT_EQ(verdict.first_broken, 4) << column;
    EXPECT_FALSE(verdict.fault.empty());
    tamper("UPDATE audit_trail SET " + std::string(column) + " = '" +
           old.substr(0, old.find('\n')) + "' WHERE sequence = 4");
    EXPECT_TRUE(verify().whole) << column;
  }
}

TEST_P(AuditVerifyTest, ARemovedRowIsFound) {
  morning();
  tamper("DELETE FROM audit_trail WHERE sequence = 6");
  EXPECT_EQ(verify().first_broken, 6);
  EXPECT_EQ(verify().fault, "rows are missing here");
}

TEST_P(AuditVerifyTest, ARemovedRowIsFoundThoughTheRestWasNumberedAnew) {
  morning();
  tamper(
      "DELETE FROM audit_trail WHERE sequence = 6; UPDATE audit_trail SET sequence = -(sequence - "
      "1) WHERE sequence > 6; UPDATE audit_trail SET sequence = -sequence WHERE sequence < 0");
  EXPECT_EQ(verify().first_broken, 6);
}

TEST_P(AuditVerifyTest, RowsRemovedAtTheEndAreFound) {
  morning();
  tamper("DELETE FROM audit_trail WHERE sequence > 8");
  const view::ChainVerdict verdict = verify();
  EXPECT_EQ(verdict.first_broken, 9);
  EXPECT_EQ(verdict.fault, "rows are missing at the end");
}

TEST_P(AuditVerifyTest, AnEmptiedTrailIsFound) {
  morning();
  tamper("DELETE FROM audit_trail");
  EXPECT_EQ(verify().first_broken, 1);
}

TEST_P(AuditVerifyTest, AnInsertedRowIsFound) {
  morning();
  tamper(
      "UPDATE audit_trail SET sequence = -(sequence + 1) WHERE sequence > 5; UPDATE audit_trail "
      "SET sequence = -sequence WHERE sequence < 0; INSERT INTO audit_trail SELECT 6, "
      "organization, at, person, session, peer, action, record, athlete, detail, previous_hash, "
      "hash FROM audit_trail WHERE sequence = 5");
  EXPECT_EQ(verify().first_broken, 6);
}

TEST_P(AuditVerifyTest, ARowAddedAtTheEndByHandIsFound) {
  morning();
  tamper(
      "INSERT INTO audit_trail SELECT 11, organization, at, person, session, peer, action, "
      "record, athlete, detail, hash, hash FROM audit_trail WHERE sequence = 10");
  EXPECT_EQ(verify().first_broken, 11);
}

TEST_P(AuditVerifyTest, ExchangedRowsAreFound) {
  morning();
  tamper(
      "UPDATE audit_trail SET sequence = -3 WHERE sequence = 3; UPDATE audit_trail SET sequence = "
      "3 WHERE sequence = 4; UPDATE audit_trail SET sequence = 4 WHERE sequence = -3");
  EXPECT_EQ(verify().first_broken, 3);
}

// Somebody who knows the format could write the whole chain anew. A hash that was noted down
// elsewhere finds that.
TEST_P(AuditVerifyTest, AChainMadeAnewIsFoundByAHeadThatWasNotedDown) {
  morning();
  const view::ChainVerdict noted = verify();
  EXPECT_TRUE(verify({noted.head_sequence, noted.head_hash}).whole);
  const std::string last = "(SELECT MAX(sequence) FROM audit_trail)";
  tamper(
      "UPDATE audit_head SET sequence = 9, hash = (SELECT hash FROM audit_trail WHERE sequence = "
      "9); DELETE FROM audit_trail WHERE sequence = 10");
  EXPECT_TRUE(verify().whole);  // by itself it looks whole
  const view::ChainVerdict against = verify({noted.head_sequence, noted.head_hash});
  EXPECT_FALSE(against.whole);
  EXPECT_EQ(against.first_broken, 10);
  EXPECT_EQ(verify({5, noted.head_hash}).first_broken, 5);
}

// Erasing an athlete takes the account and the records; the trail stays whole, and holds no name.
TEST_P(AuditVerifyTest, StaysWholeWhenAnAthleteIsErased) {
  morning();
  const view::Account ansa = add(owner_, Role::Athlete, "ansa");
  ASSERT_TRUE(sign_in("ansa", kGoodPassphrase).session);
  expect_value(store::write_value<bool>(database(), [&](store::Transaction& t) -> Result<bool> {
    const bool removed = LINTEL_TRY(store::remove_account(t, ansa.person));
    LINTEL_TRY(store::erase_athlete(t, owner_.organization, ansa.person));
    LINTEL_TRY_VOID(
        note_change(t, practice(), owner_, {"athlete_erased", ansa.person, ansa.person}));
    return removed;
  }));
  EXPECT_TRUE(verify().whole);
  EXPECT_FALSE(sign_in("ansa", kGoodPassphrase).session);
  const std::string trail = ask_outside("SELECT * FROM audit_trail");
  EXPECT_NE(trail.find(ansa.person), std::string::npos);
  EXPECT_EQ(trail.find("Person ansa"), std::string::npos);
  EXPECT_EQ(trail.find("Feldvik"), std::string::npos);
}

TEST_P(AuditVerifyTest, SaysWhoDidWhatFromWhere) {
  const SignedIn owner = make_owner();
  owner_ = owner.caller;
  sign_in("runa.feldvik", "wrong", "192.0.2.66");
  sign_in("nobody.here", "wrong", "192.0.2.66");
  const view::Account liv = add(owner.caller, Role::Reviewer, "liv");
  const auto page = expect_value(list_audit(practice(), owner.caller, {}));
  ASSERT_EQ(page.rows.size(), 3u);  // the login that nobody has belongs to no organization
  EXPECT_EQ(page.rows[0].action, "person_added");
  EXPECT_EQ(page.rows[0].person, owner.caller.person);
  EXPECT_EQ(page.rows[0].record, liv.person);
  EXPECT_EQ(page.rows[0].detail, "role reviewer");
  EXPECT_EQ(page.rows[0].at, test::kNow);
  EXPECT_EQ(page.rows[1].action, "sign_in_failed");
  EXPECT_EQ(page.rows[1].person, "");
  EXPECT_EQ(page.rows[1].record, owner.caller.person);
  EXPECT_EQ(page.rows[1].peer, "192.0.2.66");
  EXPECT_EQ(page.rows[2].action, "organization_founded");
  EXPECT_EQ(verify().rows, 4);
  const Caller reviewer = sign_in("liv", kGoodPassphrase).session->caller;
  EXPECT_TRUE(list_audit(practice(), reviewer, {}));
  add(owner.caller, Role::Practitioner, "eskil");
  const Caller practitioner = sign_in("eskil", kGoodPassphrase).session->caller;
  EXPECT_EQ(list_audit(practice(), practitioner, {}).error().code, ErrorCode::Denied);
  EXPECT_EQ(verify_audit(practice(), practitioner).error().code, ErrorCode::Denied);
}

TEST_P(AuditVerifyTest, WhatWasSeenIsNotedOnceInAQuarterOfAnHour) {
  owner_ = make_owner().caller;
  const auto rows = [&] { return verify().rows; };
  const std::int64_t before = rows();
  for (int i = 0; i < 5; ++i)
    ASSERT_TRUE(note_seen(practice(), owner_, {"getVisit", "v-1", "a-1"}));
  EXPECT_EQ(rows(), before + 1);
  ASSERT_TRUE(note_seen(practice(), owner_, {"getVisit", "v-2", "a-1"}));
  EXPECT_EQ(rows(), before + 2);
  pass(kSeenAgain_s + 1);
  ASSERT_TRUE(note_seen(practice(), owner_, {"getVisit", "v-1", "a-1"}));
  EXPECT_EQ(rows(), before + 3);
  // What a list has shown was seen; two lists without a record are two things.
  ASSERT_TRUE(note_seen(practice(), owner_, {"list_seen", "a-2", "a-2", "plans"}));
  ASSERT_TRUE(note_seen(practice(), owner_, {"record_seen", "a-2", "a-2", "getTrends"}));
  EXPECT_EQ(rows(), before + 4);
  for (int i = 0; i < 2; ++i) {
    ASSERT_TRUE(note_seen(practice(), owner_, {"list_seen", "", "", "listAthletes"}));
    ASSERT_TRUE(note_seen(practice(), owner_, {"list_seen", "", "", "listAudit"}));
  }
  EXPECT_EQ(rows(), before + 6);
}

}  // namespace
}  // namespace lintel::app
