// Once-only keys (app/idempotency.h), on both engines.
#include "app/idempotency.h"

#include <gtest/gtest.h>

#include <atomic>
#include <thread>
#include <vector>

#include "support/practice_fixture.h"

namespace lintel::app {
namespace {

using test::expect_value;

class OnceKeys : public test::PracticeTest {
 protected:
  OnceKeys() {
    caller_.person = "person";
    caller_.organization = "organization";
  }
  Result<std::optional<std::string>> begin(const OnceKey& key) {
    return begin_once(practice(), caller_, key);
  }
  Result<void> finish(const OnceKey& key, const std::string& answer) {
    return finish_once(practice(), caller_, key, answer);
  }
  Caller caller_;
  const OnceKey key_{"key", "POST /api/v1/athletes", "body"};
};
LINTEL_BOTH_ENGINES(OnceKeys);

TEST_P(OnceKeys, TheFirstCallGoesOnAndTheNextGetsItsAnswer) {
  EXPECT_EQ(*begin(key_), std::nullopt);
  EXPECT_EQ(begin(key_).error().code, ErrorCode::Conflict);  // it still runs
  ASSERT_TRUE(finish(key_, "answer"));
  EXPECT_EQ(*begin(key_), "answer");
  EXPECT_EQ(*begin(key_), "answer");
}

TEST_P(OnceKeys, AnotherContentUnderTheSameKeyIsRefused) {
  ASSERT_TRUE(begin(key_));
  ASSERT_TRUE(finish(key_, "answer"));
  const auto other = begin({key_.key, key_.path, "another body"});
  EXPECT_EQ(other.error().code, ErrorCode::Invalid);
  EXPECT_EQ(other.error().place.field, "Idempotency-Key");
}

TEST_P(OnceKeys, KeysOfOthersAndOtherPathsAreOtherKeys) {
  ASSERT_TRUE(begin(key_));
  EXPECT_EQ(*begin({key_.key, "POST /api/v1/people", key_.content}), std::nullopt);
  caller_.person = "somebody else";
  EXPECT_EQ(*begin(key_), std::nullopt);
  caller_.organization = "another organization";
  EXPECT_EQ(*begin(key_), std::nullopt);
  // Parts that run into each other must not look alike.
  caller_.person = "a";
  EXPECT_EQ(*begin({"c", "b", ""}), std::nullopt);
  caller_.person = "ab";
  EXPECT_EQ(*begin({"c", "", ""}), std::nullopt);
}

TEST_P(OnceKeys, AFailureIsForgottenAndADayEndsAllKeys) {
  ASSERT_TRUE(begin(key_));
  ASSERT_TRUE(finish(key_, ""));
  EXPECT_EQ(*begin(key_), std::nullopt);
  ASSERT_TRUE(finish(key_, "answer"));
  pass(24 * 3600 - 1);
  EXPECT_EQ(*begin(key_), "answer");
  pass(2);
  EXPECT_EQ(*begin(key_), std::nullopt);
}

TEST_P(OnceKeys, OfManyAtOnceOneIsTheFirst) {
  std::atomic<int> first{0}, told_to_wait{0};
  std::vector<std::jthread> threads;
  for (int i = 0; i < 8; ++i) {
    threads.emplace_back([&] {
      const auto begun = begin(key_);
      if (begun && !begun->has_value()) ++first;
      if (!begun && begun.error().code == ErrorCode::Conflict) ++told_to_wait;
    });
  }
  threads.clear();
  EXPECT_EQ(first, 1);
  EXPECT_EQ(told_to_wait, 7);
}

TEST_P(OnceKeys, NothingThatWasSentIsKeptButTheAnswer) {
  ASSERT_TRUE(begin({"a secret key", "POST /api/v1/athletes", "Ansa Brinvik"}));
  const std::string kept =
      ask_outside("SELECT once_key, organization, content, answer FROM once_keys");
  EXPECT_NE(kept.find("organization"), std::string::npos);
  EXPECT_EQ(kept.find("secret"), std::string::npos);
  EXPECT_EQ(kept.find("Ansa"), std::string::npos);
}

}  // namespace
}  // namespace lintel::app
