#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <thread>

#include "app/uploads.h"
#include "clip_steps.h"

#ifdef LINTEL_HAS_ZXING
#define ZX_USE_UTF8 1
#include <ZXing/ReadBarcode.h>
#endif

namespace lintel::test {
namespace {

using app::Role;

#ifdef LINTEL_HAS_ZXING
// What another library reads off the square code: its dark runs ("M x y h n v1 ...") as pixels.
std::string read_square_code(const std::string& svg) {
  int side = 0;
  if (std::sscanf(svg.c_str() + svg.find("viewBox"), "viewBox=\"0 0 %d", &side) != 1) return {};
  constexpr int kScale = 5;
  const int width = side * kScale;
  std::vector<std::uint8_t> pixels(static_cast<std::size_t>(width * width), 255);
  for (std::size_t at = svg.find('M'); at != std::string::npos; at = svg.find('M', at + 1)) {
    int x = 0, y = 0, run = 0;
    if (std::sscanf(svg.c_str() + at, "M%d %dh%dv1", &x, &y, &run) != 3) continue;
    for (int py = y * kScale; py < (y + 1) * kScale; ++py) {
      for (int px = x * kScale; px < (x + run) * kScale; ++px) {
        pixels[static_cast<std::size_t>(py * width + px)] = 0;
      }
    }
  }
  const ZXing::ImageView view(pixels.data(), width, width, ZXing::ImageFormat::Lum);
  ZXing::DecodeHints hints;
  hints.setFormats(ZXing::BarcodeFormat::QRCode);
  return ZXing::ReadBarcode(view, hints).text();
}
#endif

// ---- Uploads

TEST(Uploads, GoOnAfterTheServerWasStopped) {
  ServerFixture fixture;
  const std::string bytes = clip_bytes("side-30.mp4");
  ASSERT_GT(bytes.size(), 600'000u);
  std::string address;
  {
    HttpClient runa = fixture.as(Role::Practitioner);
    const Json asked = {{"name", "../squat 1.mp4"}, {"bytes", bytes.size()}};
    const HttpReply begun = runa.post("/api/v1/uploads", asked.dump());
    const Json upload = expect_json(begun, 201);
    EXPECT_EQ(upload.at("name"), "squat 1.mp4");
    EXPECT_EQ(upload.at("chunk_bytes"), 8 << 20);
    address = begun.header("location");
    const HttpReply first = send_piece(runa, address, bytes, 0, 300'000);
    EXPECT_EQ(expect_json(first, 200).at("offset"), 300'000);
  }
  fixture.restart();
  HttpClient runa = fixture.as(Role::Practitioner);
  const HttpReply where = runa.head(address);
  EXPECT_EQ(where.status, 200);
  ASSERT_EQ(where.header("upload-offset"), "300000");
  // A piece that was sent already, and one that leaves a hole.
  EXPECT_EQ(send_piece(runa, address, bytes, 0, 300'000).status, 409);
  EXPECT_EQ(send_piece(runa, address, bytes, 600'000, 1000).status, 409);
  const Json whole = expect_json(send_piece(runa, address, bytes, 300'000, bytes.size()), 200);
  EXPECT_EQ(whole.at("complete"), true);
  // The digest by another program.
  FILE* pipe = ::popen("sha256sum < '" LINTEL_CLIPS_DIR "/side-30.mp4'", "r");
  char digest[65] = {};
  ASSERT_EQ(std::fread(digest, 1, 64, pipe), 64u);
  ::pclose(pipe);
  EXPECT_EQ(whole.at("sha256"), digest);
}

TEST(Uploads, EndThoughTheServerStoppedBeforeItSaidSo) {
  ServerFixture fixture;
  HttpClient runa = fixture.as(Role::Practitioner);
  const std::string bytes = clip_bytes("compressed.mp4");
  const Json asked = {{"name", "a.mp4"}, {"bytes", bytes.size()}};
  const HttpReply begun = runa.post("/api/v1/uploads", asked.dump());
  const std::string address = begun.header("location");
  send_piece(runa, address, bytes, 0, 1000);
  // The last piece reached the disk, its answer nobody.
  const std::string id = id_of(parsed(begun));
  std::ofstream(fixture.practice().data / "uploads" / (id + ".part"),
                std::ios::binary | std::ios::app)
      << bytes.substr(1000);
  const HttpReply where = runa.head(address);
  EXPECT_EQ(where.header("upload-offset"), std::to_string(bytes.size()));
  EXPECT_EQ(where.header("upload-complete"), "?1");
  const std::string visit = make_visit(runa, "side-30");
  EXPECT_EQ(expect_json(
                runa.post("/api/v1/visits/" + visit + "/trials", Json{{"upload", id}}.dump()), 201)
                .at("document")
                .at("media")
                .at("bytes"),
            bytes.size());
}

TEST(Uploads, AreCheckedAgainstTheirDigest) {
  ServerFixture fixture;
  HttpClient runa = fixture.as(Role::Practitioner);
  const std::string bytes = "not the clip that was announced";
  const Json asked = {{"name", "a.mp4"}, {"bytes", bytes.size()}, {"sha256", std::string(64, 'a')}};
  const std::string address = runa.post("/api/v1/uploads", asked.dump()).header("location");
  EXPECT_EQ(send_piece(runa, address, bytes, 0, bytes.size()).status, 422);
  EXPECT_EQ(runa.head(address).status, 404);
}

TEST(Uploads, RefuseWhatCannotBe) {
  ServerFixture fixture;
  HttpClient runa = fixture.as(Role::Practitioner);
  const auto begin = [&](const Json& asked) {
    return runa.post("/api/v1/uploads", asked.dump()).status;
  };
  EXPECT_EQ(begin({{"name", "a.mp4"}, {"bytes", 0}}), 422);
  EXPECT_EQ(begin({{"name", "a.mp4"}, {"bytes", 1.5}}), 422);
  EXPECT_EQ(begin({{"name", ""}, {"bytes", 5}}), 422);
  EXPECT_EQ(begin({{"name", "a.mp4"}, {"bytes", 5}, {"colour", "red"}}), 422);
  EXPECT_EQ(begin({{"name", "a.mp4"}, {"bytes", 5}, {"sha256", "abc"}}), 422);
  EXPECT_EQ(begin({{"name", "a.mp4"}, {"bytes", std::int64_t{1} << 45}}), 413);
  const Json asked = {{"name", "a.mp4"}, {"bytes", 10}};
  const std::string address = runa.post("/api/v1/uploads", asked.dump()).header("location");
  for (const char* range : {"", "bytes 0-9", "bytes 5-4/10", "bytes 0-10/10", "bytes 0-4/11",
                            "bytes 0-3/10", "bytes -1-4/10", "bytes 0-4/10x", "items 0-4/10"}) {
    const HttpReply reply =
        runa.send("PUT", address, "12345",
                  {{"Content-Type", "application/octet-stream"}, {"Content-Range", range}});
    EXPECT_EQ(reply.status, 422) << range;
  }
  EXPECT_EQ(runa.head(address).header("upload-offset"), "0");
  const std::string large(static_cast<std::size_t>(8 << 20) + 1, 'x');
  EXPECT_EQ(send_piece(runa, address, large, 0, large.size()).status, 413);
  EXPECT_EQ(runa.remove(address).status, 204);
  EXPECT_EQ(runa.head(address).status, 404);
}

TEST(Uploads, LeaveNoFileBehindWhenTheirTimeIsOver) {
  std::string now = "2026-03-09T07:00:00.000Z";
  ServerFixture::Options options;
  options.now = [&now] { return now; };
  ServerFixture fixture(std::move(options));
  HttpClient runa = fixture.as(Role::Practitioner);
  const Json asked = {{"name", "a.mp4"}, {"bytes", 10}};
  const std::string id = id_of(parsed(runa.post("/api/v1/uploads", asked.dump())));
  const auto file = fixture.practice().data / "uploads" / (id + ".part");
  ASSERT_TRUE(app::sweep_uploads(fixture.practice()));
  EXPECT_TRUE(std::filesystem::exists(file));
  now = "2026-03-10T07:00:00.000Z";
  ASSERT_TRUE(app::sweep_uploads(fixture.practice()));
  EXPECT_FALSE(std::filesystem::exists(file));
}

TEST(Uploads, BelongToWhoBeganThem) {
  ServerFixture fixture;
  HttpClient runa = fixture.as(Role::Practitioner);
  const Json asked = {{"name", "a.mp4"}, {"bytes", 10}};
  const std::string address = runa.post("/api/v1/uploads", asked.dump()).header("location");
  HttpClient owner = fixture.as(Role::Owner);
  HttpClient stranger = fixture.as(Role::Practitioner, 1);
  HttpClient reviewer = fixture.as(Role::Reviewer);
  EXPECT_EQ(owner.head(address).status, 404);
  EXPECT_EQ(stranger.head(address).status, 404);
  EXPECT_EQ(reviewer.head(address).status, 403);
  EXPECT_EQ(fixture.client().head(address).status, 401);
  EXPECT_EQ(send_piece(owner, address, "1234567890", 0, 10).status, 404);
}

// ---- Hand-off

TEST(HandOff, TakesOneClipAndIsSpent) {
  ServerFixture fixture;
  HttpClient runa = fixture.as(Role::Practitioner);
  const std::string visit = make_visit(runa, "side-30");
  const Json offer = expect_json(runa.post("/api/v1/visits/" + visit + "/hand-off", "{}"), 201);
  const std::string url = offer.at("url");
  const std::string secret = url.substr(url.rfind('/') + 1);
  ASSERT_GE(secret.size(), 40u);
  EXPECT_EQ(url.substr(0, url.rfind('/')), fixture.server().url() + "/u");
  EXPECT_EQ(offer.at("reachable"), false);  // the test's server is on loopback
  const std::string svg = offer.at("qr_svg");
  EXPECT_TRUE(svg.starts_with("<svg"));
#ifdef LINTEL_HAS_ZXING
  EXPECT_EQ(read_square_code(svg), url);
#endif

  HttpClient phone = fixture.client();
  const std::string door = "/api/v1/hand-off/" + secret;
  const Json shown = expect_json(phone.get(door), 200);
  EXPECT_EQ(shown.at("athlete_first_name"), "Jorek");
  EXPECT_EQ(shown.at("visit_date"), "2026-03-09");
  EXPECT_EQ(phone.get("/api/v1/hand-off/" + std::string(secret.size(), 'A')).status, 404);

  const std::string bytes = clip_bytes("compressed.mp4");
  const Json asked = {{"name", "film.mp4"}, {"bytes", bytes.size()}};
  const std::string id = id_of(expect_json(phone.post(door + "/uploads", asked.dump()), 201));
  EXPECT_EQ(send_piece(phone, door + "/uploads/" + id, bytes, 0, 20'000).status, 200);
  // The page was loaded again: the same file goes on where it was.
  const Json again = expect_json(phone.post(door + "/uploads", asked.dump()), 201);
  EXPECT_EQ(again.at("id"), id);
  EXPECT_EQ(again.at("offset"), 20'000);
  const Json whole =
      expect_json(send_piece(phone, door + "/uploads/" + id, bytes, 20'000, bytes.size()), 200);
  EXPECT_EQ(whole.at("complete"), true);
  const std::string trial = whole.at("trial");

  EXPECT_EQ(phone.get(door).status, 404);
  EXPECT_EQ(phone.post(door + "/uploads", asked.dump()).status, 404);
  // A lost answer can be asked for again.
  EXPECT_EQ(phone.head(door + "/uploads/" + id).header("upload-complete"), "?1");
  const Json made = expect_json(runa.get("/api/v1/trials/" + trial), 200);
  EXPECT_EQ(made.at("parent"), visit);
  EXPECT_EQ(made.at("created_by"), fixture.person(Role::Practitioner).caller.person);
  EXPECT_EQ(made.at("document").at("media").at("sha256"), whole.at("sha256"));
  EXPECT_EQ(made.at("job").at("state"), "waiting");
  // The audit trail has who offered it and what came of it.
  const Json trail = expect_json(fixture.as(Role::Owner).get("/api/v1/audit?limit=500"), 200);
  const auto has = [&](const std::string& action, const std::string& record) {
    for (const Json& row : trail.at("items")) {
      if (row.at("action") == action && row.at("record") == record) return true;
    }
    return false;
  };
  EXPECT_TRUE(has("hand_off_made", visit));
  EXPECT_TRUE(has("record_created", trial));
}

TEST(HandOff, IsGoodForHalfAnHour) {
  std::string now = "2026-03-09T07:00:00.000Z";
  ServerFixture::Options options;
  options.now = [&now] { return now; };
  ServerFixture fixture(std::move(options));
  HttpClient runa = fixture.as(Role::Practitioner);
  const std::string visit = make_visit(runa, "side-30");
  const Json offer = expect_json(runa.post("/api/v1/visits/" + visit + "/hand-off", "{}"), 201);
  EXPECT_EQ(offer.at("expires_at"), "2026-03-09T07:30:00.000Z");
  const std::string url = offer.at("url");
  const std::string door = "/api/v1/hand-off/" + url.substr(url.rfind('/') + 1);
  now = "2026-03-09T07:29:59.999Z";
  EXPECT_EQ(fixture.client().get(door).status, 200);
  now = "2026-03-09T07:30:00.000Z";
  EXPECT_EQ(fixture.client().get(door).status, 404);
}

// ---- Jobs

class Jobs : public ::testing::Test {
 protected:
  MadeTrial a_trial(const std::string& name, const std::string& bytes) {
    if (visit_.empty()) visit_ = make_visit(runa_, "side-30");
    return make_trial(runa_, visit_, {{"upload", upload(runa_, name, bytes)}, {"network", "lite"}});
  }
  std::string state(const MadeTrial& made) {
    return expect_json(runa_.get("/api/v1/jobs/" + made.job), 200).at("state");
  }
  // Waits for a condition, at most five minutes.
  template <typename F>
  bool comes_true(const F& condition) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::minutes(5);
    while (std::chrono::steady_clock::now() < end) {
      if (condition()) return true;
      std::this_thread::yield();
    }
    return false;
  }
  ServerFixture fixture_;
  HttpClient runa_ = fixture_.as(Role::Practitioner);
  std::string visit_;
};

TEST_F(Jobs, FailWithTheReasonWhenTheFileIsNoClip) {
  const MadeTrial made = a_trial("clip.mp4", "this is a letter, not a clip");
  ASSERT_TRUE(do_one_job(fixture_.practice()));
  const Json job = expect_json(runa_.get("/api/v1/jobs/" + made.job), 200);
  EXPECT_EQ(job.at("state"), "failed");
  EXPECT_EQ(job.at("attempts"), 1);
  EXPECT_FALSE(job.at("problem").at("detail").get<std::string>().empty());
  const Json trial = expect_json(runa_.get("/api/v1/trials/" + made.trial), 200);
  EXPECT_EQ(trial.at("document").at("state"), "failed");
  EXPECT_FALSE(trial.at("document").at("fault").at("message").get<std::string>().empty());
  EXPECT_EQ(runa_.get("/api/v1/trials/" + made.trial + "/assessment").status, 404);
  const Json again = expect_json(runa_.post("/api/v1/jobs/" + made.job + "/retry", "{}"), 200);
  EXPECT_EQ(again.at("state"), "waiting");
  const Json failed = expect_json(runa_.get("/api/v1/jobs?state=failed"), 200);
  EXPECT_EQ(failed.at("items").size(), 0u);
  EXPECT_EQ(runa_.get("/api/v1/jobs?state=lost").status, 422);
}

TEST_F(Jobs, AreCancelledWhileTheyWaitAndWhileTheyRun) {
  const MadeTrial waiting = a_trial("clip.mp4", clip_bytes("side-60.mp4"));
  EXPECT_EQ(expect_json(runa_.remove("/api/v1/jobs/" + waiting.job), 200).at("state"), "cancelled");
  EXPECT_FALSE(do_one_job(fixture_.practice()));
  const MadeTrial running = a_trial("five.mp4", clip_bytes("five-reps.mp4"));
  {
    app::WorkerOptions options;
    options.heartbeat_s = 0.05;
    options.idle_s = 0.01;
    const app::Worker worker(fixture_.practice(), options);
    ASSERT_TRUE(comes_true([&] { return state(running) == "running"; }));
    EXPECT_EQ(runa_.remove("/api/v1/jobs/" + running.job).status, 200);
    ASSERT_TRUE(comes_true([&] { return state(running) != "running"; }));
  }
  EXPECT_EQ(state(running), "cancelled");
  EXPECT_EQ(runa_.remove("/api/v1/jobs/" + running.job).status, 409);
}

TEST_F(Jobs, MeasureAnotherPersonFromThePictures) {
  visit_ = make_visit(runa_, "two-people");
  const MadeTrial made = a_trial("two.mp4", clip_bytes("two-people.mp4"));
  ASSERT_TRUE(do_one_job(fixture_.practice()));
  const std::string address = "/api/v1/trials/" + made.trial;
  const Json first = expect_json(runa_.get(address + "/points"), 200);
  ASSERT_EQ(first.at("people"), 2);
  const int other = first.at("chosen_person") == 1 ? 2 : 1;
  Json document = expect_json(runa_.get(address), 200).at("document");
  document["corrections"]["person"] = other;
  const Json edited =
      expect_json(runa_.put(address, document.dump(), {{"If-Match", "\"2\""}}), 200);
  EXPECT_EQ(edited.at("job").at("kind"), "measure_clip");
  ASSERT_TRUE(do_one_job(fixture_.practice()));
  // Whoever stands there may not squat; either way the points are another's.
  const Json after = expect_json(runa_.get(address), 200);
  if (after.at("document").at("state") == "measured") {
    EXPECT_EQ(expect_json(runa_.get(address + "/points"), 200).at("chosen_person"), other);
    EXPECT_EQ(expect_json(runa_.get(address + "/points?version=2"), 200).at("chosen_person"),
              first.at("chosen_person"));
  } else {
    EXPECT_FALSE(after.at("document").at("fault").at("message").get<std::string>().empty());
    EXPECT_EQ(expect_json(runa_.get(address + "/points"), 200), first);
  }
}

TEST_F(Jobs, TellTheirProgressAsEvents) {
  const MadeTrial made = a_trial("clip.mp4", clip_bytes("side-60.mp4"));
  app::WorkerOptions options;
  options.heartbeat_s = 0.1;
  options.idle_s = 0.01;
  const app::Worker worker(fixture_.practice(), options);
  std::string text;
  runa_.set_time_limit_ms(300'000);
  const HttpReply stream =
      runa_.stream("/api/v1/jobs/" + made.job + "/events", [&](std::string_view piece) {
        text += piece;
        return true;  // until the server ends it
      });
  EXPECT_EQ(stream.header("content-type").substr(0, 17), "text/event-stream");
  EXPECT_NE(text.find("event: progress"), std::string::npos) << text.substr(0, 500);
  EXPECT_NE(text.find("find body and bar"), std::string::npos);
  EXPECT_NE(text.find("event: done"), std::string::npos);
  EXPECT_EQ(state(made), "done");
}

// ---- Live view

TEST(LiveView, FindsTheLifterInPicturesOfAClip) {
  ServerFixture fixture;
  HttpClient runa = fixture.as(Role::Practitioner);
  const TemporaryFolder folder;
  const std::string command = "ffmpeg -v error -i '" LINTEL_CLIPS_DIR
                              "/side-30.mp4' -frames:v 5 -q:v 3 '" +
                              folder.path().string() + "/%d.jpg' </dev/null";
  ASSERT_EQ(std::system(command.c_str()), 0);  // NOLINT: fixed words
  Json seen;
  for (int i = 1; i <= 5; ++i) {
    const std::string jpeg = file_bytes(folder / (std::to_string(i) + ".jpg"));
    seen = expect_json(runa.send("POST", "/api/v1/live?session=desk&stature_cm=176", jpeg,
                                 {{"Content-Type", "image/jpeg"}}),
                       200);
  }
  ASSERT_EQ(seen.at("landmarks").size(), 33u);
  EXPECT_EQ(seen.at("width_px"), 540);
  // The lifter stands upright under the bar in the first pictures.
  EXPECT_LT(std::abs(seen.at("trunk_deg").get<double>()), 15.0);
  EXPECT_TRUE(seen.at("bar").is_object());
  EXPECT_EQ(runa.send("POST", "/api/v1/live", "GIF89a", {{"Content-Type", "image/jpeg"}}).status,
            422);
  EXPECT_EQ(fixture.as(Role::Athlete)
                .send("POST", "/api/v1/live", "x", {{"Content-Type", "image/jpeg"}})
                .status,
            403);
}

}  // namespace
}  // namespace lintel::test
