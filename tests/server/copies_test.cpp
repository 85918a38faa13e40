// Light copies for clips that were measured before there were any.
#include "app/copy_job.h"
#include "clip_steps.h"
#include "formats/trial_json.h"
#include "media/clip_reader.h"
#include "store/media_folder.h"
#include "store/records.h"

namespace lintel::test {
namespace {

using app::Role;

class Copies : public ::testing::Test {
 protected:
  // A trial as a program left it that made no copies: its clip, and no more than its numbers.
  std::string old_trial(const std::string& clip, const std::string& media_type) {
    if (visit_.empty()) visit_ = make_visit(runa_, "side-30");
    app::Practice& practice = fixture_.practice();
    const auto media = value_of(practice.media->add_bytes(clip));
    const auto assessment = value_of(practice.media->add_bytes("{}"));
    formats::TrialDocument trial;
    trial.clip = {"clip.mp4", media.sha256, media_type, media.bytes};
    trial.state = formats::TrialState::Measured;
    trial.measured_at = "2026-03-09T10:00:00.000Z";
    trial.program_version = "0.1.0";
    trial.summary = "one squat";
    trial.results = {{"assessment.json", assessment.sha256, "application/json", assessment.bytes},
                     {"zebra.txt", assessment.sha256, "text/plain", assessment.bytes}};
    const app::Caller& caller = fixture_.person(Role::Practitioner).caller;
    const auto body = [&](store::Transaction& t) -> Result<store::Record> {
      const auto visit = LINTEL_TRY(store::find_record(t, caller.organization, visit_));
      store::NewRecord record;
      record.kind = store::RecordKind::Trial;
      record.organization = caller.organization;
      record.athlete = visit.athlete;
      record.parent = visit_;
      record.document = formats::write_trial_json(trial);
      record.index.date = "2026-03-09";
      record.index.measures = {{"trunk_inclination", "2026-03-09", "deg", 38.5, 2.0}};
      auto made = LINTEL_TRY(store::insert_record(t, record, {caller.person, practice.now()}));
      LINTEL_TRY_VOID(store::refer_to_media(t, made.id, media.sha256, media.bytes, media_type));
      return made;
    };
    return value_of(store::write_value<store::Record>(*practice.database, body)).id;
  }
  std::int64_t ask() { return value_of(app::ask_for_copies(fixture_.practice())); }
  Json trial(const std::string& id) { return expect_json(runa_.get("/api/v1/trials/" + id), 200); }

  ServerFixture fixture_;
  HttpClient runa_ = fixture_.as(Role::Practitioner);
  std::string visit_;
};

TEST_F(Copies, AreMadeForClipsThatHaveNone) {
  const std::string clip = clip_bytes("side-30.mp4");
  const std::string id = old_trial(clip, "video/mp4");
  EXPECT_EQ(ask(), 1);
  EXPECT_EQ(ask(), 0) << "one waits already";
  ASSERT_TRUE(do_one_job(fixture_.practice()));
  const Json made = trial(id);
  EXPECT_EQ(made.at("version"), 2);
  const Json& document = made.at("document");
  EXPECT_EQ(document.at("state"), "measured");
  EXPECT_EQ(document.at("measured").at("at"), "2026-03-09T10:00:00.000Z");
  ASSERT_EQ(document.at("results").size(), 3u);
  EXPECT_EQ(document.at("results")[1].at("name"), "screen.mp4");
  const Json trends = expect_json(
      runa_.get("/api/v1/athletes/" + made.at("athlete").get<std::string>() + "/trends"), 200);
  ASSERT_EQ(trends.at("series").size(), 1u) << "its numbers are as they were";
  EXPECT_EQ(trends.at("series")[0].at("points")[0].at("value"), 38.5);

  // Every picture of the clip, at its time.
  const HttpReply copy = runa_.get("/api/v1/trials/" + id + "/files/screen.mp4");
  ASSERT_EQ(copy.status, 200);
  const auto times = [](const std::string& film) {
    const auto* raw = reinterpret_cast<const std::uint8_t*>(film.data());
    auto reader = value_of(media::ClipReader::open_memory({raw, film.size()}, "film.mp4"));
    std::vector<double> out;
    while (const auto frame = value_of(reader.next())) out.push_back(frame->time_s);
    return out;
  };
  const std::vector<double> before = times(clip), after = times(copy.body);
  ASSERT_EQ(before.size(), after.size());
  for (std::size_t i = 0; i < before.size(); ++i) ASSERT_NEAR(before[i], after[i], 1e-3) << i;
  EXPECT_EQ(ask(), 0) << "it has one now";
}

TEST_F(Copies, AJobThatFailsLeavesTheTrialAsItIs) {
  const std::string id = old_trial("no film at all", "video/mp4");
  EXPECT_EQ(ask(), 1);
  ASSERT_TRUE(do_one_job(fixture_.practice()));
  const Json after = trial(id);
  EXPECT_EQ(after.at("version"), 1);
  EXPECT_EQ(after.at("document").at("state"), "measured");
  const Json jobs = expect_json(runa_.get("/api/v1/jobs?trial=" + id), 200).at("items");
  ASSERT_EQ(jobs.size(), 1u);
  EXPECT_EQ(jobs[0].at("kind"), "make_copy");
  EXPECT_EQ(jobs[0].at("state"), "failed");
}

TEST_F(Copies, PhotographsNeedNone) {
  old_trial("a picture", "image/jpeg");
  EXPECT_EQ(ask(), 0);
}

}  // namespace
}  // namespace lintel::test
