#include "store/uploads.h"

#include <gtest/gtest.h>

#include "base/instant.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::kNow;

class UploadsTest : public lintel::test::StoreTest {
 protected:
  template <typename F>
  auto write(F&& body) {
    using Answer = std::invoke_result_t<F&, Transaction&>;
    return write_value<typename Answer::value_type>(database(), std::forward<F>(body));
  }
  Upload add(const std::string& person = "runa", const std::string& hand_off = "",
             const std::string& athlete = "") {
    Upload upload;
    upload.organization = "skarnholm";
    upload.created_by = person;
    upload.hand_off = hand_off;
    upload.athlete = athlete;
    upload.name = "größer.mp4";
    upload.bytes = std::int64_t{3} << 30;
    upload.media_type = "video/mp4";
    upload.created_at = kNow;
    upload.expires_at = later(3600);
    return expect_value(write([&](Transaction& t) { return add_upload(t, upload); }));
  }
  HandOff hand_off(const std::string& secret) {
    HandOff one;
    one.organization = "skarnholm";
    one.athlete = "ansa";
    one.visit = "visit";
    one.created_by = "runa";
    one.creator_role = "practitioner";
    one.secret_sha256 = secret;
    one.created_at = kNow;
    one.expires_at = later(1800);
    return expect_value(write([&](Transaction& t) { return add_hand_off(t, one); }));
  }
  static std::string later(double seconds) { return instant_after(kNow, seconds); }
  Result<Upload> find(const std::string& id, const std::string& organization = "skarnholm",
                      double after = 0) {
    return write([&](Transaction& t) { return find_upload(t, organization, id, later(after)); });
  }
};
LINTEL_BOTH_ENGINES(UploadsTest);

TEST_P(UploadsTest, KeepWhatTheyAreUntilTheirTimeIsOver) {
  const Upload upload = add();
  open_again();
  const Upload again = expect_value(find(upload.id));
  EXPECT_EQ(again.name, "größer.mp4");
  EXPECT_EQ(again.bytes, std::int64_t{3} << 30);
  EXPECT_FALSE(again.complete());
  EXPECT_FALSE(find(upload.id, "elsewhere"));
  EXPECT_TRUE(find(upload.id, "skarnholm", 3599));
  EXPECT_FALSE(find(upload.id, "skarnholm", 3600));
}

TEST_P(UploadsTest, AreFoundByTheirDigestOnceComplete) {
  const Upload upload = add();
  const std::string digest(64, 'a');
  const auto by_digest = [&](const std::string& organization) {
    return expect_value(write([&](Transaction& t) {
             return find_complete_upload(t, organization, digest, kNow);
           }))
        .has_value();
  };
  EXPECT_FALSE(by_digest("skarnholm"));
  ASSERT_TRUE(database().write(
      [&](Transaction& t) { return complete_upload(t, upload.id, digest, later(7200)); }));
  EXPECT_TRUE(by_digest("skarnholm"));
  EXPECT_FALSE(by_digest("elsewhere"));
  EXPECT_TRUE(expect_value(find(upload.id, "skarnholm", 7000)).complete());
  EXPECT_EQ(expect_value(write([](Transaction& t) { return media_of_uploads(t); })),
            std::vector<std::string>{digest});
}

TEST_P(UploadsTest, CountWhatOnePersonHasOpen) {
  add();
  const Upload done = add();
  add("olve");
  ASSERT_TRUE(database().write([&](Transaction& t) {
    return complete_upload(t, done.id, std::string(64, 'b'), later(7200));
  }));
  const auto open = [&](double after) {
    return expect_value(write(
        [&](Transaction& t) { return count_open_uploads(t, "skarnholm", "runa", later(after)); }));
  };
  EXPECT_EQ(open(0), 1);
  EXPECT_EQ(open(4000), 0);
}

TEST_P(UploadsTest, GoWhenTheirTimeIsOver) {
  const Upload old = add();
  EXPECT_TRUE(expect_value(write([&](Transaction& t) {
                return remove_expired_uploads(t, later(3599));
              })).empty());
  EXPECT_EQ(
      expect_value(write([&](Transaction& t) { return remove_expired_uploads(t, later(3600)); })),
      std::vector<std::string>{old.id});
  EXPECT_FALSE(find(old.id));
}

TEST_P(UploadsTest, OfAnAthleteGoWithTheAthlete) {
  const HandOff one = hand_off("digest of a secret");
  const Upload mine = add("runa", one.id, "ansa");
  const Upload other = add();
  EXPECT_EQ(expect_value(write(
                [&](Transaction& t) { return remove_uploads_of_athlete(t, "skarnholm", "ansa"); })),
            std::vector<std::string>{mine.id});
  EXPECT_TRUE(find(other.id));
  EXPECT_FALSE(write([&](Transaction& t) { return find_hand_off(t, "digest of a secret", kNow); }));
}

TEST_P(UploadsTest, AHandOffIsSpentOnce) {
  const HandOff made = hand_off("digest");
  EXPECT_FALSE(write([&](Transaction& t) { return find_hand_off(t, "other", kNow); }));
  EXPECT_FALSE(write([&](Transaction& t) { return find_hand_off(t, "digest", later(1800)); }));
  const Upload upload = add("runa", made.id, "ansa");
  const auto uploads =
      expect_value(write([&](Transaction& t) { return uploads_of_hand_off(t, made.id); }));
  ASSERT_EQ(uploads.size(), 1u);
  EXPECT_EQ(uploads.front().id, upload.id);
  const auto spend = [&] {
    return database().write(
        [&](Transaction& t) { return spend_hand_off(t, made.id, "trial", later(60)); });
  };
  EXPECT_TRUE(spend());
  const auto again = spend();
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, ErrorCode::Conflict);
  const HandOff spent =
      expect_value(write([&](Transaction& t) { return find_hand_off(t, "digest", later(61)); }));
  EXPECT_EQ(spent.trial, "trial");
  EXPECT_EQ(spent.spent_at, later(60));
}

}  // namespace
}  // namespace lintel::store
