#include "store/name_fold.h"

#include <gtest/gtest.h>

namespace lintel::store {
namespace {

// Every letter of three Latin blocks by hand: the folding is that of UnicodeData.txt.
TEST(NameFold, LeavesAccentsAndCaseAside) {
  EXPECT_EQ(fold_name("Ansa Brinvik"), "ansa brinvik");
  EXPECT_EQ(fold_name("ÅSA ÖBERG-Łuczak"), "asa oberg luczak");
  EXPECT_EQ(fold_name("Þórdís Æsa Ðorn"), "thordis aesa dorn");
  EXPECT_EQ(fold_name("Größl"), "grossl");
  EXPECT_EQ(fold_name("Nguyễn Thị Ánh"), "nguyen thi anh");
  EXPECT_EQ(fold_name("İpek Işıl"), "ipek isil");
  EXPECT_EQ(fold_name("Ελένη Άννα"), fold_name("ΕΛΕΝΗ ΑΝΝΑ"));
  EXPECT_EQ(fold_name("Ёлкина Юлия"), fold_name("ЕЛКИНА юлия"));
}

TEST(NameFold, ComposedAndDecomposedLettersAreTheSame) {
  EXPECT_EQ(fold_name("A\xCC\x8Asa"), fold_name("\xC3\x85sa"));  // A + ring, and A-ring
  EXPECT_EQ(fold_name("e\xCC\x81\xCC\xA3"), "e");                // two marks
}

TEST(NameFold, PartsWordsAndKeepsWhatItDoesNotKnow) {
  EXPECT_EQ(fold_name("  O'Tervik,  Jo.  "), "otervik jo");
  EXPECT_EQ(fold_name("O\xE2\x80\x99Tervik"), "otervik");
  EXPECT_EQ(fold_name("山田 花子"), "山田 花子");
  EXPECT_EQ(fold_name(""), "");
  EXPECT_EQ(fold_name("-'-"), "");
}

TEST(NameFold, TakesBytesThatAreNoText) {
  for (const char* bytes : {"\xFF", "\xC3", "\xE2\x80", "\xF0\x9F", "a\x80\x80z", "\xC0\xAF"}) {
    EXPECT_LE(fold_name(bytes).size(), std::string_view(bytes).size() * 3) << bytes;
  }
}

TEST(NameFold, SearchesBecomeWords) {
  EXPECT_EQ(search_parts(" Brïn  ANS "), (std::vector<std::string>{"brin", "ans"}));
  EXPECT_TRUE(search_parts(" - ").empty());
}

}  // namespace
}  // namespace lintel::store
