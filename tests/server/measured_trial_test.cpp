// A trial that is measured: its files and numbers, who sees it, what a correction does. One clip is
// measured once for all tests that read.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <set>

#include "clip_steps.h"
#include "media/clip_reader.h"
#include "support/own_library.h"

namespace lintel::test {
namespace {

using app::Role;

class MeasuredTrial : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    fixture_ = new ServerFixture();  // NOLINT: gone in TearDownTestSuite
    HttpClient runa = fixture_->as(Role::Practitioner);
    visit_ = make_visit(runa, "side-30");
    const std::string id = upload(runa, "side-30.mp4", clip_bytes("side-30.mp4"));
    made_ = make_trial(runa, visit_, {{"upload", id}, {"network", "lite"}});
    ASSERT_TRUE(do_one_job(fixture_->practice()));
    runa_ = new HttpClient(std::move(runa));  // NOLINT
  }
  static void TearDownTestSuite() {
    delete runa_;     // NOLINT
    delete fixture_;  // NOLINT
    fixture_ = nullptr;
  }
  static std::string address(const std::string& rest = "") {
    return "/api/v1/trials/" + made_.trial + rest;
  }
  static double trunk_at_bottom(const Json& assessment) {
    return assessment.at("repetitions")
        .at(0)
        .at("channels")
        .at("trunk_inclination_deg")
        .at("bottom")
        .at("value");
  }

  static ServerFixture* fixture_;
  static HttpClient* runa_;
  static std::string visit_;
  static MadeTrial made_;
};
ServerFixture* MeasuredTrial::fixture_ = nullptr;
HttpClient* MeasuredTrial::runa_ = nullptr;
std::string MeasuredTrial::visit_;
MadeTrial MeasuredTrial::made_;

TEST_F(MeasuredTrial, SaysWhatTheCommandLineSays) {
  const Json job = expect_json(runa_->get("/api/v1/jobs/" + made_.job), 200);
  ASSERT_EQ(job.at("state"), "done") << job.dump();
  const TemporaryFolder folder;
  const std::string out = (folder / "out.json").string();
  const std::string command =
      "'" LINTEL_PROGRAM "' assess '" LINTEL_CLIPS_DIR "/side-30.mp4' --athlete '" LINTEL_CLIPS_DIR
      "/side-30.athlete.json' --network lite --date 2026-03-09 --json --quiet > '" +
      out + "'";
  ASSERT_EQ(std::system(command.c_str()), 0);  // NOLINT: fixed words
  Json ours = expect_json(runa_->get(address("/assessment")), 200);
  EXPECT_EQ(ours.at("version"), 2);
  ours.erase("version");
  const Json theirs = Json::parse(file_bytes(out));
  EXPECT_EQ(ours, theirs) << Json::diff(theirs, ours).dump(1).substr(0, 2000);
}

TEST_F(MeasuredTrial, KeepsItsFilesAndNumbers) {
  const Json record = expect_json(runa_->get(address()), 200);
  EXPECT_EQ(record.at("document").at("state"), "measured");
  std::vector<std::string> names;
  for (const Json& file : record.at("document").at("results")) names.push_back(file.at("name"));
  for (const char* name : {"assessment.json", "athlete-page.pdf", "curves.json", "curves.csv",
                           "overlay.mp4", "points.json", "rep1-bottom.png", "screen.mp4"}) {
    EXPECT_NE(std::ranges::find(names, name), names.end()) << name;
  }
  const HttpReply page = runa_->get(address("/files/athlete-page.pdf"));
  EXPECT_EQ(page.header("content-type"), "application/pdf");
  EXPECT_TRUE(page.body.starts_with("%PDF-"));
  EXPECT_EQ(runa_->get(address("/files/nothing.pdf")).status, 404);
  const Json curves = expect_json(runa_->get(address("/curves")), 200);
  const Json points = expect_json(runa_->get(address("/points")), 200);
  EXPECT_EQ(curves.at("time_s").size(), points.at("frames").size());
  const Json list = expect_json(runa_->get("/api/v1/visits/" + visit_ + "/trials"), 200);
  EXPECT_EQ(list.at("items").at(0).at("id"), made_.trial);
}

TEST_F(MeasuredTrial, GivesPartsOfTheClip) {
  const std::string bytes = clip_bytes("side-30.mp4");
  const HttpReply part = runa_->get(address("/clip"), {{"Range", "bytes=1000-1999"}});
  EXPECT_EQ(part.status, 206);
  EXPECT_EQ(part.body, bytes.substr(1000, 1000));
  EXPECT_EQ(part.header("content-range"), "bytes 1000-1999/" + std::to_string(bytes.size()));
  EXPECT_EQ(part.header("content-type"), "video/mp4");
  EXPECT_EQ(runa_->get(address("/clip"), {{"Range", "bytes=99999999-"}}).status, 416);
  EXPECT_EQ(runa_->get(address("/clip")).body, bytes);
}

// The copy that the player jumps in shows every measured frame, at its time.
TEST_F(MeasuredTrial, HasACopyForTheScreenWithTheSameTimes) {
  const Json curves = expect_json(runa_->get(address("/curves")), 200);
  const HttpReply copy = runa_->get(address("/files/screen.mp4"));
  EXPECT_EQ(copy.header("content-type"), "video/mp4");
  const std::span bytes(reinterpret_cast<const std::uint8_t*>(copy.body.data()), copy.body.size());
  auto reader = media::ClipReader::open_memory(bytes, "screen.mp4");
  ASSERT_TRUE(reader) << reader.error();
  for (const Json& time : curves.at("time_s")) {
    const auto frame = reader->next();
    ASSERT_TRUE(frame) << frame.error();
    ASSERT_TRUE(frame->has_value());
    ASSERT_NEAR((*frame)->time_s, time.get<double>(), 1e-4);
  }
  EXPECT_FALSE(reader->next()->has_value());
}

TEST_F(MeasuredTrial, IsHiddenFromOthers) {
  HttpClient stranger = fixture_->as(Role::Owner, 1);
  HttpClient assistant = fixture_->as(Role::Assistant);
  HttpClient athlete = fixture_->as(Role::Athlete);
  HttpClient reviewer = fixture_->as(Role::Reviewer);
  for (const char* rest : {"", "/assessment", "/curves", "/points", "/clip", "/files/curves.csv"}) {
    EXPECT_EQ(stranger.get(address(rest)).status, 404) << rest;
    EXPECT_EQ(assistant.get(address(rest)).status, 404) << rest;
    EXPECT_EQ(athlete.get(address(rest)).status, 403) << rest;
    EXPECT_EQ(reviewer.get(address(rest)).status, 200) << rest;
  }
  EXPECT_EQ(stranger.get("/api/v1/jobs/" + made_.job).status, 404);
  EXPECT_EQ(expect_json(assistant.get("/api/v1/jobs"), 200).at("items").size(), 0u);
  // Its digest tells an assistant and another organization nothing.
  const Json body = {
      {"media", parsed(runa_->get(address())).at("document").at("media").at("sha256")}};
  const std::string trials = "/api/v1/visits/" + visit_ + "/trials";
  EXPECT_EQ(stranger.post(trials, body.dump()).status, 404);
  EXPECT_EQ(assistant.post(trials, body.dump()).status, 404);
}

TEST_F(MeasuredTrial, IsNoDifferentFromItself) {
  const Json same = expect_json(runa_->post(address("/comparison?with=" + made_.trial), "{}"), 200);
  bool trunk = false;
  for (const Json& m : same.at("measures")) {
    EXPECT_EQ(m.at("difference"), 0);
    EXPECT_EQ(m.at("real"), false) << m;
    EXPECT_NEAR(m.at("error").get<double>(), std::sqrt(2.0) * m.at("a_error").get<double>(), 1e-5);
    trunk = trunk || m.at("measure") == "trunk_inclination";
  }
  EXPECT_TRUE(trunk);
  EXPECT_FALSE(same.at("cautions").empty());
}

TEST_F(MeasuredTrial, IsMeasuredAgainAfterACorrectionAndKeepsTheOriginal) {
  const Json before = expect_json(runa_->get(address("/assessment")), 200);
  const HttpReply got = runa_->get(address());
  Json document = parsed(got).at("document");
  const std::int64_t version = parsed(got).at("version");
  const auto sha_of = [](const Json& doc, const std::string& name) {
    for (const Json& file : doc.at("results")) {
      if (file.at("name") == name) return file.at("sha256").get<std::string>();
    }
    return std::string();
  };
  const std::string points_before = sha_of(document, "points.json");
  const std::string copy_before = sha_of(document, "screen.mp4");
  // Both shoulders 40 px forward around the bottom.
  const Json points = expect_json(runa_->get(address("/points")), 200);
  const std::int64_t bottom = before.at("repetitions").at(0).at("bottom").at("frame");
  const double way = before.at("camera").at("facing") == "right" ? 40.0 : -40.0;
  document["corrections"]["points"] = Json::array();
  for (std::int64_t f = bottom - 3; f <= bottom + 3; ++f) {
    const Json& body = points.at("frames").at(static_cast<std::size_t>(f)).at("body");
    for (const std::size_t landmark : {11u, 12u}) {
      document["corrections"]["points"].push_back(
          {{"frame", f},
           {"landmark", points.at("landmarks").at(landmark)},
           {"x_px", body.at(landmark).at(0).get<double>() + way},
           {"y_px", body.at(landmark).at(1)}});
    }
  }
  document["corrections"]["events"] = {
      {{"repetition", 1}, {"event", "bottom"}, {"frame", bottom + 2}}};
  const std::string old = "\"" + std::to_string(version - 1) + "\"";
  const std::string newest = "\"" + std::to_string(version) + "\"";
  EXPECT_EQ(runa_->put(address(), document.dump()).status, 428);
  EXPECT_EQ(runa_->put(address(), document.dump(), {{"If-Match", old}}).status, 412);
  const Json edited =
      expect_json(runa_->put(address(), document.dump(), {{"If-Match", newest}}), 200);
  EXPECT_EQ(edited.at("job").at("kind"), "measure_again");
  EXPECT_EQ(edited.at("document").at("state"), "waiting");
  ASSERT_TRUE(do_one_job(fixture_->practice()));

  const Json after = expect_json(runa_->get(address("/assessment")), 200);
  EXPECT_GT(trunk_at_bottom(after), trunk_at_bottom(before) + 3);
  EXPECT_EQ(after.at("repetitions").at(0).at("bottom").at("frame"), bottom + 2);
  EXPECT_EQ(after.at("repetitions").at(0).at("moved_by_hand"), Json::array({"bottom"}));
  bool warned = false;
  for (const Json& w : after.at("warnings")) warned = warned || w.at("code") == "corrected_by_hand";
  EXPECT_TRUE(warned);
  const Json now = expect_json(runa_->get(address()), 200);
  EXPECT_EQ(now.at("version"), version + 2);
  EXPECT_EQ(now.at("document").at("measured").at("corrected"), true);
  EXPECT_EQ(sha_of(now.at("document"), "points.json"), points_before);
  EXPECT_EQ(sha_of(now.at("document"), "screen.mp4"), copy_before);  // the clip is the same
  // The measurement before is still there, as a version.
  Json kept =
      expect_json(runa_->get(address("/assessment?version=" + std::to_string(version))), 200);
  EXPECT_EQ(kept, before);

  // Without corrections the kept points give the very numbers of the first measurement.
  document["corrections"] = Json::object();
  const std::string last = "\"" + std::to_string(version + 2) + "\"";
  expect_json(runa_->put(address(), document.dump(), {{"If-Match", last}}), 200);
  ASSERT_TRUE(do_one_job(fixture_->practice()));
  Json again = expect_json(runa_->get(address("/assessment")), 200);
  again.erase("version");
  kept.erase("version");
  EXPECT_EQ(again, kept) << Json::diff(kept, again).dump(1).substr(0, 2000);
}

TEST_F(MeasuredTrial, StandsInTheAuditTrail) {
  runa_->get(address("/points"));
  const Json trail = expect_json(fixture_->as(Role::Owner).get("/api/v1/audit?limit=500"), 200);
  std::set<std::string> actions;
  for (const Json& row : trail.at("items")) {
    if (row.at("record") == made_.trial) actions.insert(row.at("action"));
  }
  EXPECT_EQ(actions, (std::set<std::string>{"record_changed", "record_created", "record_seen"}));
}

TEST_F(MeasuredTrial, ChangesItsNameWithoutMeasuringAgain) {
  const Json got = expect_json(runa_->get(address()), 200);
  Json document = got.at("document");
  document["name"] = "40 kg, second set";
  const std::string version = "\"" + std::to_string(got.at("version").get<int>()) + "\"";
  const Json edited =
      expect_json(runa_->put(address(), document.dump(), {{"If-Match", version}}), 200);
  EXPECT_EQ(edited.at("document").at("state"), "measured");
  EXPECT_EQ(edited.at("job").at("state"), "done");
}

// The worker reads the visit's tests by the workplace's own protocols too.
TEST_F(MeasuredTrial, KnowsTheAnkleByAnOwnProtocol) {
  const auto assessment = [] { return expect_json(runa_->get(address("/assessment")), 200); };
  const Json before = assessment();
  expect_json(runa_->post("/api/v1/protocols", own_protocol().dump()), 201);
  Json results;
  for (const char* side : {"left", "right"}) {
    results.push_back({{"protocol", "quay_ankle"}, {"side", side}, {"tries_deg", {34, 35, 34}}});
  }
  expect_json(runa_->put("/api/v1/visits/" + visit_ + "/tests", Json{{"results", results}}.dump(),
                         {{"If-Match", "\"0\""}}),
              200);
  // The document as it is asks for a measurement, because the tests are newer than the last one.
  const auto as_it_is = [] {
    const Json got = expect_json(runa_->get(address()), 200);
    const std::string version = "\"" + std::to_string(got.at("version").get<int>()) + "\"";
    return expect_json(runa_->put(address(), got.at("document").dump(), {{"If-Match", version}}),
                       200);
  };
  const Json asked = as_it_is();
  EXPECT_EQ(asked.at("document").at("state"), "waiting");
  EXPECT_EQ(asked.at("job").at("kind"), "measure_again");
  ASSERT_TRUE(do_one_job(fixture_->practice()));
  const Json now = expect_json(runa_->get(address()), 200);
  ASSERT_EQ(now.at("document").at("state"), "measured") << now.dump();
  const auto missing = [](const Json& of) { return of.at("explanation").at("missing_tests"); };
  EXPECT_EQ(missing(assessment()).size() + 1, missing(before).size()) << missing(before).dump();
  // Once more there is nothing new, and nothing is done.
  EXPECT_EQ(as_it_is().at("job"), now.at("job"));
}

}  // namespace
}  // namespace lintel::test
