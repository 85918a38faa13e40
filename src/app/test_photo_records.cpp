#include "app/test_photo_records.h"

#include <algorithm>

#include "app/athlete_records.h"
#include "app/audit.h"
#include "app/library.h"
#include "app/test_photo.h"
#include "app/text_file.h"
#include "app/work_folder.h"
#include "formats/json_defaults.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using store::Record;
using store::RecordKind;

bool is_png(std::string_view bytes) {
  return bytes.starts_with("\x89PNG");
}

struct Subject {
  SharedLibrary library;
  Record visit;
  formats::Intake intake;
};
Result<Subject> find_subject(Practice& practice, const Caller& caller, std::string_view visit) {
  const auto body = [&](store::Transaction& t) -> Result<Subject> {
    Subject out;
    out.library = LINTEL_TRY(library_of(t, caller.organization));
    out.visit = LINTEL_TRY(find_for(t, caller, Permission::EnterTests, visit, RecordKind::Visit));
    const Record athlete =
        LINTEL_TRY(store::find_record(t, caller.organization, out.visit.athlete));
    out.intake = LINTEL_TRY(intake_of(athlete));
    return out;
  };
  return store::read_value<Subject>(*practice.database, body);
}

// A kept picture of this athlete.
Result<fs::path> kept_picture(Practice& practice, const Caller& caller, const Record& visit,
                              const std::string& sha256) {
  using Uses = std::vector<store::MediaUse>;
  const auto body = [&](store::Transaction& t) {
    return store::media_uses(t, caller.organization, sha256);
  };
  const Uses uses = LINTEL_TRY(store::read_value<Uses>(*practice.database, body));
  const bool is_own = std::any_of(uses.begin(), uses.end(), [&](const store::MediaUse& use) {
    return use.athlete == visit.athlete;
  });
  if (is_own) return practice.media->find(sha256);
  return fail(ErrorCode::NotFound, "this athlete has no such picture", "send the picture itself");
}

Result<std::string> keep(Practice& practice, const Caller& caller, const Record& visit,
                         std::string_view picture) {
  const store::StoredMedia media = LINTEL_TRY(practice.media->add_bytes(picture));
  const std::string type = is_png(picture) ? "image/png" : "image/jpeg";
  const auto body = [&](store::Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(store::refer_to_media(t, visit.id, media.sha256, media.bytes, type));
    return note_change(t, practice, caller, {"picture_kept", visit.id, visit.athlete, {}});
  };
  LINTEL_TRY_VOID(practice.database->write(body));
  return media.sha256;
}

}  // namespace

Result<std::string> measure_visit_photo(Practice& practice, const Caller& caller,
                                        std::string_view visit, const VisitPhoto& photo,
                                        const WorkContext& work) {
  const Subject subject = LINTEL_TRY(find_subject(practice, caller, visit));
  const WorkFolder folder = LINTEL_TRY(WorkFolder::create());
  TestPhotoRequest request;
  if (photo.picture.empty()) {
    request.picture = LINTEL_TRY(kept_picture(practice, caller, subject.visit, photo.media));
  } else {
    request.picture = folder.path() / (is_png(photo.picture) ? "photo.png" : "photo.jpg");
    LINTEL_TRY_VOID(write_text_file(request.picture, photo.picture, ExistingFile::Keep));
  }
  request.library = &subject.library->protocols;
  request.protocol = photo.protocol;
  request.side = photo.side;
  request.person = photo.person;
  request.known_length = photo.known_length;
  if (subject.intake.athlete.stature > 0) request.stature = subject.intake.athlete.stature;
  if (!practice.models.empty()) request.models = practice.models;
  if (!photo.points.empty()) {
    request.points = folder.path() / "points.json";
    LINTEL_TRY_VOID(write_text_file(*request.points, photo.points, ExistingFile::Keep));
  }
  const TestPhotoOutcome outcome = LINTEL_TRY(measure_test_photo(request, work));
  if (!photo.keep || photo.picture.empty()) return outcome.json;
  const std::string sha256 = LINTEL_TRY(keep(practice, caller, subject.visit, photo.picture));
  return formats::with_members(outcome.json, {{"media", formats::json_text_of(sha256)}});
}

}  // namespace lintel::app
