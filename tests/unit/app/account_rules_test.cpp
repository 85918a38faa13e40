#include "app/account_rules.h"

#include <gtest/gtest.h>

namespace lintel::app {
namespace {

TEST(Login, IsTheSameHoweverItIsTyped) {
  EXPECT_EQ(login_form(" Runa  Feldvik "), "runa.feldvik");
  EXPECT_EQ(login_form("RUNA.feldvik"), "runa.feldvik");
  EXPECT_EQ(login_form("runa@skarnholm.example"), "runa@skarnholm.example");
  EXPECT_EQ(login_form("Åsa Brinvik"), "Åsa.brinvik");  // only ASCII is folded
  EXPECT_EQ(login_form(""), "");
}

TEST(Login, HasTwoToAHundredLettersAndNoControlCharacters) {
  EXPECT_EQ(checked_login("ab").value(), "ab");
  EXPECT_FALSE(checked_login("a"));
  EXPECT_FALSE(checked_login("  "));
  EXPECT_FALSE(checked_login(std::string(101, 'a')));
  EXPECT_FALSE(checked_login("ab\x01"));
  EXPECT_EQ(checked_login("a").error().place.field, "login");
}

TEST(AccountPassphrase, IsLongAndNotTheFirstThatIsTried) {
  for (const char* good :
       {"kittiwake ledge oilskin rope", "tau und tide am kai", "Wörter-aus-Ebbe", "x9!kQ2#mL0pZ"}) {
    EXPECT_TRUE(check_account_passphrase(good, {"runa.feldvik", "Runa Feldvik"})) << good;
  }
  for (const char* bad : {"", "short", "elevenchars", "aaaaaaaaaaaa", "ababababababab",
                          "abcdefghijklmnop", "123456789012", "210987654321", "passwordpassword",
                          "Password1234", "runa.feldvik", "RUNA FELDVIK"}) {
    const auto refused = check_account_passphrase(bad, {"runa.feldvik", "Runa Feldvik"});
    ASSERT_FALSE(refused) << bad;
    EXPECT_EQ(refused.error().code, ErrorCode::Invalid);
    EXPECT_EQ(refused.error().place.field, "passphrase");
    EXPECT_FALSE(refused.error().mend.empty());
    // The words of the passphrase must not come back in a message.
    if (*bad != '\0') {
      EXPECT_EQ(describe(refused.error()).find(bad), std::string::npos) << bad;
    }
  }
  EXPECT_FALSE(
      check_account_passphrase(std::string(300, 'a') + std::string(800, 'b') + "cdefg", {}));
  // Twelve characters, not twelve bytes.
  EXPECT_FALSE(check_account_passphrase("äöüßéàèùñ", {}));
}

}  // namespace
}  // namespace lintel::app
