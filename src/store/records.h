// Records: documents (JSON) with author, times and version. A change never overwrites: every
// version stays, and the columns that lists and statistics need are kept beside the newest one.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"

namespace lintel::store {

enum class RecordKind : std::uint8_t {
  Organization,
  Practitioner,  // a person with an account (any role but that of an athlete)
  Athlete,
  Visit,
  Trial,        // one clip of a visit: media, measurement, corrections
  TestRecord,   // the mobility tests of a visit
  Overrulings,  // what the practitioner decided about the findings of a visit
  Plan,
  SessionLog,  // one day of drills, as the athlete or the practitioner wrote it down
  Attachment,  // any other file of a visit or an athlete
  // Of the organization, each under a name of its own (library_names.h):
  Protocol,       // a test protocol of the workplace's own
  Drill,          // a drill of its own
  StandardError,  // its own standard error of a protocol, built in or own
};
std::string_view record_kind_name(RecordKind kind);  // "athlete", ...
std::optional<RecordKind> record_kind_from(std::string_view name);

enum class RecordState : std::uint8_t { Active, Archived, Withdrawn };
std::string_view record_state_name(RecordState state);
std::optional<RecordState> record_state_from(std::string_view name);

struct Record {
  std::string id;  // UUID, lower case
  RecordKind kind = RecordKind::Athlete;
  std::string organization;  // id; of an organization its own
  std::string athlete;       // id of the athlete it belongs to (an athlete's own id); may be empty
  std::string parent;        // a visit for a trial, ...; may be empty
  std::int64_t version = 1;  // 1, 2, ... without gaps
  RecordState state = RecordState::Active;
  std::string created_at, created_by;  // ISO 8601 UTC with milliseconds; id of the person
  std::string changed_at, changed_by;
  std::string reason;    // of the last change; may be empty
  std::string document;  // JSON, as the caller wrote it
  std::string sha256;    // of the document
};

// ---- Columns beside the documents, for lists and statistics; written by whoever knows the
// document

struct AthleteRow {
  std::string name;
  std::string birth_date;         // ISO 8601 or empty
  std::string sex;                // "female", "male"
  std::vector<std::string> tags;  // lower case
};
struct TestRow {  // one side of one protocol on one day (mean of the tries)
  std::string protocol, side, date, unit;
  double value = 0.0;           // in the unit
  double standard_error = 0.0;  // in the unit
};
struct DrillRow {  // one drill of one day
  std::string drill, date;
  std::int64_t sets = 0;
  double minutes = 0.0;
  std::optional<std::int64_t> pain;  // 0 to 10, the worst
};
struct MeasureRow {  // one number of a trial at the bottom: "trunk_inclination", ...
  std::string measure, date, unit;
  double value = 0.0;
  double standard_error = 0.0;
};
// What is due and when: "retest", "visit". Of each kind of record the newest one of the athlete
// says it (a new plan takes the place of the old one), and a visit on that day or later settles it.
struct DueRow {
  std::string what, date;
};
struct IndexRows {
  std::optional<AthleteRow> athlete;
  std::vector<TestRow> tests;
  std::vector<DrillRow> drills;
  std::vector<MeasureRow> measures;
  std::vector<DueRow> due;
  std::string date;  // ISO 8601 day on which the record stands in the timeline; may be empty
};

struct NewRecord {
  RecordKind kind = RecordKind::Athlete;
  std::string organization, athlete, parent;
  std::string id;  // empty = a new random one
  std::string document;
  IndexRows index;
  // Of a protocol, drill or standard error, and of those alone: the id of the protocol or drill.
  std::string name = {};
};

struct Author {
  std::string person;  // id of a practitioner or an athlete
  std::string at;      // ISO 8601 UTC
};

// Errors: Conflict when the id or the name is taken; NotFound when parent or athlete is not there.
Result<Record> insert_record(Transaction& t, const NewRecord& record, const Author& author);
// Replaces the newest version by the next one. Errors: NotFound; Conflict when `expected_version`
// is not the newest one (somebody else was faster), with both numbers.
Result<Record> replace_record(Transaction& t, std::string_view id, std::int64_t expected_version,
                              std::string document, const IndexRows& index, std::string reason,
                              const Author& author);
Result<Record> set_record_state(Transaction& t, std::string_view id, std::int64_t expected_version,
                                RecordState state, std::string reason, const Author& author);

// Errors: NotFound, also for a record of another organization.
Result<Record> find_record(Transaction& t, std::string_view organization, std::string_view id);
// Every version, the oldest first.
Result<std::vector<Record>> record_versions(Transaction& t, std::string_view organization,
                                            std::string_view id);

// Pages of a list: `after` is the cursor of the page before (opaque), empty = the first page.
struct Page {
  std::string after;
  int limit = 50;  // 1 to 500
};
struct RecordPage {
  std::vector<Record> records;
  std::string next;  // cursor; empty = that was all
};
struct RecordQuery {
  std::string organization;
  std::optional<RecordKind> kind;
  std::string athlete, parent;                             // empty = any
  std::string created_by;                                  // empty = any
  std::optional<RecordState> state = RecordState::Active;  // empty = any
};
// The newest first (by the day of the record, then by creation).
Result<RecordPage> list_records(Transaction& t, const RecordQuery& query, const Page& page);

// Takes every trace of one athlete out: records, versions, columns, jobs, uploads. Answers what was
// removed by kind, and the digests of media that nothing else refers to any more (their files are
// for the caller to remove). Rows of the audit trail stay: they name ids only.
struct Erased {
  // Kind and how many: those of records, and "job", "upload", "account".
  std::vector<std::pair<std::string, std::int64_t>> records;
  std::vector<std::string> orphaned_media;
  std::vector<std::string> uploads;  // ids; their unfinished files go too
};
Result<Erased> erase_athlete(Transaction& t, std::string_view organization,
                             std::string_view athlete);

// ---- Media that records refer to (media_folder.h holds the bytes)
Result<void> refer_to_media(Transaction& t, std::string_view record, std::string_view sha256,
                            std::int64_t bytes, std::string_view media_type);
// All digests that records or complete uploads name, sorted: what is no garbage.
Result<std::vector<std::string>> referenced_media(Transaction& t);
// Is this digest referred to by a record of the organization? With its type and that athlete.
struct MediaUse {
  std::string record, athlete, media_type;
  std::int64_t bytes = 0;
};
Result<std::vector<MediaUse>> media_uses(Transaction& t, std::string_view organization,
                                         std::string_view sha256);

// Every document is the one that was written, versions have no gaps, every record has its newest.
// Errors: Invalid with the first fault.
Result<void> check_records(Transaction& t);
// One digest over all records and versions of everything (ids, versions, hashes, in order): equal
// before a backup and after its restore.
Result<std::string> digest_of_everything(Transaction& t);

}  // namespace lintel::store
