// A mobility test from a photo through the API: suggested points, points moved by hand, the kept
// picture used again.
#include "base/image.h"
#include "base/units.h"
#include "media/still.h"
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

// Points and length on an empty picture: nobody is found, so all of it is the person's own work.
TEST_F(TestPhoto, ADistanceTakesAKnownLength) {
  const TemporaryFolder folder;
  const auto file = folder.path() / "floor.png";
  ASSERT_TRUE(media::write_png(file, Image(640, 480)));
  const std::string png = bytes_of(file.string());
  const Headers type = {{"Content-Type", "image/png"}};
  const std::string path = "/api/v1/visits/" + visit_ +
                           "/test-photo?protocol=knee_to_wall_distance&side=left" +
                           "&points=%7B%22toe%22:%5B200,400%5D,%22wall%22:%5B300,390%5D%7D";
  const auto problem = [&](const std::string& more) {
    const HttpReply reply = client_.send("POST", path + more, png, type);
    EXPECT_EQ(reply.status, 422) << more << reply.body;
    return json_of(reply)["place"]["field"].get<std::string>();
  };
  EXPECT_EQ(problem(""), "known_length_cm");
  EXPECT_EQ(problem("&between=100,420,300,420"), "known_length_cm");
  EXPECT_EQ(problem("&known_length_cm=30"), "between");
  EXPECT_EQ(problem("&known_length_cm=0&between=100,420,300,420"), "known_length_cm");
  EXPECT_EQ(problem("&known_length_cm=30&between=100,420,300"), "between");
  EXPECT_EQ(problem("&known_length_cm=30&between=100,420,300,420,"), "between");
  EXPECT_EQ(problem("&known_length_cm=30&between=100,nan,300,420"), "between");
  EXPECT_EQ(problem("&known_length_cm=30&between=100,420,104,420"), "between") << "too short";
  const Json read = expect_json(
      client_.send("POST", path + "&known_length_cm=30&between=100,420,400,420", png, type), 200);
  // 100 px along the floor where 300 px are 30 cm.
  EXPECT_NEAR(read["result_cm"]["value"], 10.0, 1e-6);
  EXPECT_GT(read["error_parts_cm"]["length"], 0.1);
  EXPECT_NEAR(read["known_length"]["length_cm"], 30, 1e-9);
  EXPECT_EQ(read["known_length"]["to_px"], Json({400.0, 420.0}));
  EXPECT_EQ(put_first("/api/v1/visits/" + visit_ + "/tests",
                      {{"results",
                        Json::array({read["record_entry"]})}})["outcome"]["results"][0]["protocol"],
            "knee_to_wall_distance");
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
