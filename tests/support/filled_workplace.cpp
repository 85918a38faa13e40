#include "support/filled_workplace.h"

#include "formats/trial_json.h"
#include "store/job_queue.h"
#include "store/records.h"
#include "store/uploads.h"
#include "support/own_library.h"
#include "support/practice_fixture.h"

namespace lintel::test {
namespace {

using store::Author;
using store::NewRecord;
using store::Record;
using store::RecordKind;
using store::Transaction;

NewRecord record_of(const FilledWorkplace& place, RecordKind kind, const std::string& athlete,
                    const std::string& parent, std::string document) {
  NewRecord record;
  record.kind = kind;
  record.organization = place.owner.organization;
  record.athlete = athlete;
  record.parent = parent;
  record.document = std::move(document);
  record.index.date = "2026-03-09";
  return record;
}

std::string add_athlete(Transaction& t, const FilledWorkplace& place, const std::string& name,
                        const Author& author) {
  NewRecord record = record_of(place, RecordKind::Athlete, "", "", intake_of(name));
  record.index.date = "";
  record.index.athlete = store::AthleteRow{name, "1996-04-12", "female", {"club", "snatch"}};
  const Record made = expect_value(store::insert_record(t, record, author));
  // Changed, archived and back: three more versions.
  store::IndexRows index = record.index;
  index.due = {{"retest", "2026-04-06"}};
  expect_value(store::replace_record(t, made.id, 1, intake_of(name) + "\n", index,
                                     "goal written down",
                                     {author.person, "2026-03-10T08:00:00.000Z"}));
  expect_value(store::set_record_state(t, made.id, 2, store::RecordState::Archived, "away",
                                       {author.person, "2026-03-11T08:00:00.000Z"}));
  expect_value(store::set_record_state(t, made.id, 3, store::RecordState::Active, "back",
                                       {author.person, "2026-03-12T08:00:00.000Z"}));
  return made.id;
}

void add_visit(Transaction& t, FilledWorkplace& place, const Author& author,
               const store::StoredMedia& clip, const store::StoredMedia& page) {
  const Record visit = expect_value(store::insert_record(
      t,
      record_of(place, RecordKind::Visit, place.athlete, "",
                R"({"schema": "lintel-visit-1", "date": "2026-03-09", "purpose": "first visit"})"),
      author));
  place.visit = visit.id;
  formats::TrialDocument document;
  document.clip = {"squat.mp4", clip.sha256, "video/mp4", clip.bytes};
  document.state = formats::TrialState::Measured;
  document.measured_at = "2026-03-09T07:20:00.000Z";
  document.program_version = "0.1.0";
  document.results = {{"athlete-page.pdf", page.sha256, "application/pdf", page.bytes}};
  NewRecord trial =
      record_of(place, RecordKind::Trial, place.athlete, visit.id, write_trial_json(document));
  // A number whose last bits must survive.
  trial.index.measures = {
      {"trunk_inclination", "2026-03-09", "deg", 38.123456789012345, 1.0 / 3.0}};
  place.trial = expect_value(store::insert_record(t, trial, author)).id;
  for (const auto& [media, type] : {std::pair{clip, "video/mp4"}, {page, "application/pdf"}}) {
    EXPECT_TRUE(store::refer_to_media(t, place.trial, media.sha256, media.bytes, type));
  }
  NewRecord tests =
      record_of(place, RecordKind::TestRecord, place.athlete, visit.id,
                R"({"schema": "lintel-tests-1", "words": "Ångström, 12 cm, \"tight\""})");
  tests.index.tests = {{"knee_to_wall_distance", "left", "2026-03-09", "cm", 8.1, 0.6},
                       {"knee_to_wall_distance", "right", "2026-03-09", "cm", 5.8, 0.6}};
  expect_value(store::insert_record(t, tests, author));
  NewRecord log = record_of(place, RecordKind::SessionLog, place.athlete, "",
                            R"({"schema": "lintel-session-1"})");
  log.index.date = "2026-03-12";
  log.index.drills = {{"slow-heel-drop", "2026-03-12", 3, 7.5, 2},
                      {"pipe-pass-through", "2026-03-12", 2, 4.0, std::nullopt}};
  expect_value(store::insert_record(t, log, {place.athlete, "2026-03-12T18:00:00.000Z"}));
}

void add_rest(Transaction& t, const FilledWorkplace& place, const store::StoredMedia& picture,
              const Author& author) {
  for (const std::string& athlete : {place.athlete, place.companion}) {
    const Record attachment = expect_value(store::insert_record(
        t, record_of(place, RecordKind::Attachment, athlete, "", R"({"name": "wall.png"})"),
        author));
    EXPECT_TRUE(
        store::refer_to_media(t, attachment.id, picture.sha256, picture.bytes, "image/png"));
  }
  store::NewJob job;
  job.kind = "measure_clip";
  job.organization = place.owner.organization;
  job.athlete = place.athlete;
  job.record = place.trial;
  job.created_by = place.owner.person;
  job.input = std::string(R"({"note": ")") + kAthleteName + "\"}";
  expect_value(store::add_job(t, job, kNow));
  store::Upload upload;
  upload.organization = place.owner.organization;
  upload.created_by = place.owner.person;
  upload.athlete = place.athlete;
  upload.name = "brinvik-ansa.mp4";
  upload.bytes = 1000;
  upload.created_at = kNow;
  upload.expires_at = "2026-03-10T07:05:30.123Z";
  expect_value(store::add_upload(t, upload));
}

// Of the workplace's own: a protocol, an archived drill, a standard error.
void add_library(Transaction& t, const FilledWorkplace& place, const Author& author) {
  const auto add = [&](RecordKind kind, const std::string& name, const std::string& document) {
    NewRecord record;
    record.kind = kind;
    record.organization = place.owner.organization;
    record.name = name;
    record.document = document;
    return expect_value(store::insert_record(t, record, author)).id;
  };
  add(RecordKind::Protocol, "quay_ankle", own_protocol().dump());
  const std::string drill = add(RecordKind::Drill, "quay-calf", own_drill().dump());
  expect_value(store::set_record_state(t, drill, 1, store::RecordState::Archived, "wet", author));
  add(RecordKind::StandardError, "quay_ankle",
      R"({"schema":"lintel-standard-error-1","protocol":"quay_ankle","unit":"deg","value":0.8,)"
      R"("tries":1,"share_between_tries":0.5,"source":"own repeats, 2026"})");
}

}  // namespace

std::string intake_of(const std::string& name) {
  return R"({
  "schema": "lintel-intake-1",
  "athlete": {"schema": "lintel-athlete-1", "id": "someone", "name": ")" +
         name + R"(", "sex": "female",
    "body": {"stature_cm": 170, "mass_kg": 66},
    "setup": {"bar_mass_kg": 35, "disc_diameter_mm": 450, "bar_position": "overhead",
      "stance_width_cm": 34, "toe_out_deg": 16, "heel_elevation_cm": 0, "grip_width_cm": 78}},
  "birth_date": "1996-04-12",
  "history": ")" +
         (name == kAthleteName ? kHistoryWords : "nothing to tell") + R"(",
  "tags": ["club", "snatch"]
})";
}

FilledWorkplace fill(app::Practice& practice) {
  FilledWorkplace place;
  app::NewOwner owner;
  owner.name = "Runa Feldvik";
  owner.organization = "Skarnholm Lifting Club";
  owner.passphrase = kGoodPassphrase;
  owner.loopback = true;
  place.owner = expect_value(app::create_first_owner(practice, owner)).caller;
  owner.name = "Eskil Moen";
  owner.organization = "Hollerhavn Rowing";
  place.other_owner = expect_value(app::found_organization(practice, owner)).caller;
  app::NewPerson invited;
  invited.name = "Tyra Sund";
  invited.role = app::Role::Assistant;
  expect_value(app::add_person(practice, place.owner, invited));
  app::NewToken token;
  token.name = "tables";
  expect_value(app::add_token(practice, place.owner, token));

  const auto clip = expect_value(practice.media->add_bytes(std::string(200'000, 'c') + "clip"));
  const auto page = expect_value(practice.media->add_bytes("%PDF-1.7 a page for the athlete"));
  const auto picture = expect_value(practice.media->add_bytes("\x89PNG a wall"));
  place.own_clip = clip.sha256;
  place.own_page = page.sha256;
  place.shared_picture = picture.sha256;
  const Author author{place.owner.person, kNow};
  const Result<void> done = practice.database->write([&](Transaction& t) -> Result<void> {
    place.athlete = add_athlete(t, place, kAthleteName, author);
    place.companion = add_athlete(t, place, "Liv Torgersen", author);
    add_visit(t, place, author, clip, page);
    add_rest(t, place, picture, author);
    add_library(t, place, author);
    return {};
  });
  EXPECT_TRUE(done) << done.error();
  app::NewPerson athlete;
  athlete.name = kAthleteName;
  athlete.login = "brinvik";
  athlete.role = app::Role::Athlete;
  athlete.passphrase = kGoodPassphrase;
  athlete.athlete = place.athlete;
  expect_value(app::add_person(practice, place.owner, athlete));
  return place;
}

}  // namespace lintel::test
