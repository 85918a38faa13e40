// Writes bursts of records and media until it is killed, and says what was acknowledged, a line
// each: "ack <record> <version> <digest of the medium>". For store_crash_test.
//   store_writer URL MEDIA_FOLDER ORGANIZATION SEED
#include <unistd.h>

#include <cstdio>
#include <string>
#include <vector>

#include "base/random.h"
#include "store/database.h"
#include "store/media_folder.h"
#include "store/records.h"

namespace lintel::store {
namespace {

const Author kAuthor{"runa", "2026-03-09T07:05:30.123Z"};

struct Written {
  std::string record, sha256;
  std::int64_t version = 0;
};

std::string random_bytes(Random& random) {
  std::string bytes(1000 + random.next() % 30'000, '\0');
  for (char& byte : bytes) byte = static_cast<char>(random.next());
  return bytes;
}

Result<Written> add_visit(Transaction& t, const std::string& organization,
                          const std::string& athlete, const StoredMedia& media) {
  NewRecord record;
  record.kind = RecordKind::Visit;
  record.organization = organization;
  record.athlete = athlete;
  record.document = R"({"purpose":"burst"})";
  record.index.date = "2026-03-09";
  record.index.tests = {{"knee_to_wall_distance", "left", "2026-03-09", "cm", 9.5, 0.7}};
  const Record made = LINTEL_TRY(insert_record(t, record, kAuthor));
  LINTEL_TRY_VOID(refer_to_media(t, made.id, media.sha256, media.bytes, "video/mp4"));
  return Written{made.id, media.sha256, made.version};
}

// Up to three new records with a medium each, and a new version of one from before.
Result<std::vector<Written>> burst(Database& database, const MediaFolder& folder,
                                   const std::string& organization, const std::string& athlete,
                                   const Written& earlier, Random& random) {
  std::vector<StoredMedia> media;
  for (std::uint64_t n = 1 + random.next() % 3; n > 0; --n) {
    media.push_back(LINTEL_TRY(folder.add_bytes(random_bytes(random))));
  }
  return write_value<std::vector<Written>>(
      database, [&](Transaction& t) -> Result<std::vector<Written>> {
        std::vector<Written> out;
        for (const StoredMedia& one : media) {
          out.push_back(LINTEL_TRY(add_visit(t, organization, athlete, one)));
        }
        if (!earlier.record.empty()) {
          const Record next = LINTEL_TRY(
              replace_record(t, earlier.record, earlier.version, "{}", {}, "burst", kAuthor));
          out.push_back({next.id, earlier.sha256, next.version});
        }
        return out;
      });
}

Result<void> write_for_ever(const std::string& url, const std::string& media,
                            const std::string& organization, std::uint64_t seed) {
  Random random(seed);
  const std::unique_ptr<Database> database = LINTEL_TRY(Database::open({url, 2, 60'000}));
  const MediaFolder folder = LINTEL_TRY(MediaFolder::open(media));
  const Record athlete =
      LINTEL_TRY(write_value<Record>(*database, [&](Transaction& t) -> Result<Record> {
        NewRecord record;
        record.organization = organization;
        record.index.athlete = AthleteRow{"Ansa Brinvik", "1994-05-17", "female", {"burst"}};
        return insert_record(t, record, kAuthor);
      }));
  for (Written last;;) {
    const std::vector<Written> written =
        LINTEL_TRY(burst(*database, folder, organization, athlete.id, last, random));
    std::string lines;
    for (const Written& one : written) {
      lines += "ack " + one.record + " " + std::to_string(one.version) + " " + one.sha256 + "\n";
    }
    lines += "burst\n";
    if (::write(STDOUT_FILENO, lines.data(), lines.size()) < 0) return {};  // less than PIPE_BUF
    last = written.back();
  }
}

}  // namespace
}  // namespace lintel::store

int main(int argc, char** argv) {
  if (argc != 5) return 64;
  const lintel::Result<void> done =
      lintel::store::write_for_ever(argv[1], argv[2], argv[3], std::stoull(argv[4]));
  if (done) return 0;
  // That the server was killed is no news; all else is.
  if (done.error().code != lintel::ErrorCode::Io) {
    std::fprintf(stderr, "%s\n", lintel::describe(done.error()).c_str());
  }
  return 3;
}
