#include <algorithm>
#include <iterator>

#include "store/accounts.h"
#include "store/athlete_summary.h"
#include "store/job_queue.h"
#include "store/records.h"
#include "store/sql.h"
#include "store/uploads.h"

namespace lintel::store {
namespace {

Result<std::vector<std::string>> digests(Transaction& t, const std::string& where,
                                         const std::string& athlete) {
  return run_sql(t, "reading media", [&](soci::session& sql) {
    std::vector<std::string> out;
    std::string sha256;
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT DISTINCT m.sha256 FROM media_references m" << where << " ORDER BY m.sha256";
    if (!athlete.empty()) prepared, soci::use(athlete, "athlete");
    prepared, soci::into(sha256);
    soci::statement rows(prepared);
    rows.execute();
    while (rows.fetch()) out.push_back(sha256);
    return out;
  });
}

Result<std::vector<std::string>> uploaded_media(Transaction& t, const std::string& athlete) {
  return run_sql(t, "reading uploads", [&](soci::session& sql) {
    std::vector<std::string> out;
    std::string sha256;
    soci::statement rows =
        (sql.prepare << "SELECT DISTINCT sha256 FROM uploads WHERE athlete = :athlete"
                        " AND sha256 <> ''",
         soci::use(athlete, "athlete"), soci::into(sha256));
    rows.execute();
    while (rows.fetch()) out.push_back(sha256);
    return out;
  });
}

using Counts = std::vector<std::pair<std::string, std::int64_t>>;

Result<Counts> count_kinds(Transaction& t, const std::string& athlete) {
  return run_sql(t, "counting records", [&](soci::session& sql) {
    Counts out;
    std::string kind;
    std::int64_t count = 0;
    soci::statement rows =
        (sql.prepare << "SELECT kind, COUNT(*) FROM records WHERE athlete = :athlete"
                        " GROUP BY kind ORDER BY kind",
         soci::use(athlete, "athlete"), soci::into(kind), soci::into(count));
    rows.execute();
    while (rows.fetch()) out.emplace_back(kind, count);
    return out;
  });
}

Result<void> delete_records(Transaction& t, const std::string& athlete) {
  return run_sql(t, "erasing the athlete", [&](soci::session& sql) {
    // Versions, columns and references go with the records: ON DELETE CASCADE.
    sql << "DELETE FROM records WHERE athlete = :athlete", soci::use(athlete, "athlete");
  });
}

}  // namespace

Result<void> refer_to_media(Transaction& t, std::string_view record, std::string_view sha256,
                            std::int64_t bytes, std::string_view media_type) {
  return run_sql(t, "referring to a file", [&](soci::session& sql) {
    const std::string of(record), digest(sha256), type(media_type);
    sql << "INSERT INTO media_references (record, sha256, bytes, media_type)"
           " VALUES (:record, :sha256, :bytes, :type) ON CONFLICT (record, sha256)"
           " DO UPDATE SET bytes = excluded.bytes, media_type = excluded.media_type",
        soci::use(of, "record"), soci::use(digest, "sha256"), soci::use(bytes, "bytes"),
        soci::use(type, "type");
  });
}

Result<std::vector<std::string>> referenced_media(Transaction& t) {
  std::vector<std::string> out = LINTEL_TRY(digests(t, "", ""));
  const std::vector<std::string> uploads = LINTEL_TRY(media_of_uploads(t));
  out.insert(out.end(), uploads.begin(), uploads.end());
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

Result<std::vector<MediaUse>> media_uses(Transaction& t, std::string_view organization,
                                         std::string_view sha256) {
  return run_sql(t, "reading media", [&](soci::session& sql) {
    const std::string of(organization), digest(sha256);
    std::vector<MediaUse> out;
    MediaUse use;
    soci::statement rows =
        (sql.prepare << "SELECT m.record, COALESCE(r.athlete, ''), m.media_type, m.bytes"
                        " FROM media_references m JOIN records r ON r.id = m.record"
                        " WHERE m.sha256 = :sha256 AND r.organization = :organization"
                        " ORDER BY m.record",
         soci::use(digest, "sha256"), soci::use(of, "organization"), soci::into(use.record),
         soci::into(use.athlete), soci::into(use.media_type), soci::into(use.bytes));
    rows.execute();
    while (rows.fetch()) out.push_back(use);
    return out;
  });
}

Result<Erased> erase_athlete(Transaction& t, std::string_view organization,
                             std::string_view athlete) {
  const Record record = LINTEL_TRY(find_record(t, organization, athlete));
  if (record.kind != RecordKind::Athlete) {
    return fail(ErrorCode::NotFound, "there is no such athlete");
  }
  Erased out;
  out.records = LINTEL_TRY(count_kinds(t, record.id));
  std::vector<std::string> media = LINTEL_TRY(
      digests(t, " JOIN records r ON r.id = m.record WHERE r.athlete = :athlete", record.id));
  const std::vector<std::string> uploaded = LINTEL_TRY(uploaded_media(t, record.id));
  media.insert(media.end(), uploaded.begin(), uploaded.end());
  std::sort(media.begin(), media.end());
  media.erase(std::unique(media.begin(), media.end()), media.end());

  const std::int64_t jobs = LINTEL_TRY(remove_jobs_of_athlete(t, organization, athlete));
  if (jobs > 0) out.records.emplace_back("job", jobs);
  out.uploads = LINTEL_TRY(remove_uploads_of_athlete(t, organization, athlete));
  if (!out.uploads.empty()) {
    out.records.emplace_back("upload", static_cast<std::int64_t>(out.uploads.size()));
  }
  if (LINTEL_TRY(remove_account(t, record.id))) out.records.emplace_back("account", 1);
  LINTEL_TRY_VOID(forget_athlete(t, record));
  LINTEL_TRY_VOID(delete_records(t, record.id));

  const std::vector<std::string> still = LINTEL_TRY(referenced_media(t));
  std::set_difference(media.begin(), media.end(), still.begin(), still.end(),
                      std::back_inserter(out.orphaned_media));
  return out;
}

}  // namespace lintel::store
