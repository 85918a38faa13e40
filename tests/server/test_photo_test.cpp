// A mobility test from a photo through the API: suggested points, points moved by hand, the kept
// picture used again.
#include "base/units.h"
#include "support/photographs.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

class TestPhoto : public RecordsTest {
 protected:
  TestPhoto() {
    athlete_ = add_athlete()["id"];
    visit_ = add_visit(athlete_, "2026-10-05")["id"];
    path_ = "/api/v1/visits/" + visit_ + "/test-photo?protocol=active_straight_leg_raise&side=left";
  }
  static std::string bytes_of(const std::string& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream bytes;
    bytes << in.rdbuf();
    return bytes.str();
  }

  std::string athlete_, visit_, path_;
};

TEST_F(TestPhoto, PointsAreSuggestedMovedAndGoIntoTheRecord) {
  const std::string photo = lunge_photograph();
  LINTEL_NEED(photo);
  const Headers jpeg = {{"Content-Type", "image/jpeg"}};
  const Json first =
      expect_json(client_.send("POST", path_ + "&keep=true", bytes_of(photo), jpeg), 200);
  EXPECT_EQ(first["points"]["hip"]["placed_by"], "network");
  EXPECT_GE(first["cautions"].size(), 6u);
  const std::string media = first["media"];
  const std::string points = R"({"hip": [285, 235], "shoulder": [275, 125], "ankle": [423, 270]})";
  const Json moved = expect_json(client_.post(path_ + "&media=" + media, points), 200);
  const double noted = 180 - kDegreesPerRadian * std::abs(std::atan2(275.0 - 285, 235.0 - 125) -
                                                          std::atan2(423.0 - 285, 235.0 - 270));
  EXPECT_NEAR(moved["result_deg"]["value"], noted, 1e-3);
  EXPECT_EQ(moved["originals"]["hip"]["placed_by"], "network");
  const Json stored = put_first("/api/v1/visits/" + visit_ + "/tests",
                                {{"results", Json::array({moved["record_entry"]})}});
  EXPECT_EQ(stored["outcome"]["results"][0]["protocol"], "active_straight_leg_raise");
  // The picture is this athlete's alone.
  const std::string other = add_athlete()["id"];
  const std::string visit = add_visit(other, "2026-10-05")["id"];
  EXPECT_EQ(client_
                .post("/api/v1/visits/" + visit +
                          "/test-photo?protocol=active_straight_leg_raise&side=left&media=" + media,
                      points)
                .status,
            404);
}

TEST_F(TestPhoto, RefusesWhatIsNoPicture) {
  EXPECT_EQ(client_.send("POST", path_, "%PDF-1.7", {{"Content-Type", "application/pdf"}}).status,
            415);
  const HttpReply broken =
      client_.send("POST", path_, "no picture at all", {{"Content-Type", "image/jpeg"}});
  EXPECT_GE(broken.status, 400);
  EXPECT_LT(broken.status, 500);
  EXPECT_EQ(client_.send("POST", path_ + "&side=top", "x", {{"Content-Type", "image/jpeg"}}).status,
            422);
  EXPECT_EQ(client_.post("/api/v1/visits/" + visit_ + "/test-photo", "{}").status, 422);
}

}  // namespace
}  // namespace lintel::test
