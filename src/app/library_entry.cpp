#include "app/library_entry.h"

#include <algorithm>

#include "formats/drill_json.h"
#include "formats/json_defaults.h"
#include "formats/library_json.h"
#include "formats/protocol_json.h"
#include "formats/test_record_json.h"
#include "store/library_names.h"

namespace lintel::app {
namespace {

using body::TestProtocol;
using store::Record;
using store::RecordKind;

constexpr std::int64_t kMostOwn = 500;   // of a kind, archived ones too
constexpr std::size_t kMostMisfits = 5;  // stored results that are told one by one

Error fault(std::string field, std::string message, std::string mend, ErrorCode code) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return error;
}

Error must_stay(std::string field, const std::string& was) {
  return fault(std::move(field), "may not change: results are kept by it; it is \"" + was + "\"",
               "put it back, or make a new one under another id", ErrorCode::Invalid);
}

Error id_taken(const std::string& id, bool built_in) {
  return fault("id", "\"" + id + "\" is taken" + (built_in ? ": it is a built-in one" : ""),
               "give it another id: results are kept by it", ErrorCode::Conflict);
}

// What is wrong with the library once this drill is in it, told of the drill.
std::vector<Error> faults_among(std::vector<plan::Drill> drills, const plan::Drill& drill) {
  std::erase_if(drills, [&](const plan::Drill& d) { return d.id == drill.id; });
  drills.push_back(drill);
  std::vector<Error> faults;
  for (Error& one : plan::find_faults(std::span<const plan::Drill>(drills))) {
    const std::string own = drill.id + ".";
    if (!one.place.field.starts_with(own)) continue;  // a circle is told of each of its drills
    one.place.field = one.place.field.substr(own.size());
    faults.push_back(std::move(one));
  }
  return faults;
}

// ---- Stored results against the protocol as it would be

std::vector<TestProtocol> with_protocol(std::vector<TestProtocol> all, const TestProtocol& next) {
  const auto same = [&](const TestProtocol& p) { return p.id == next.id; };
  std::replace_if(all.begin(), all.end(), same, next);
  return all;
}

Result<void> add_misfits(store::Transaction& t, const Caller& caller, const Library& library,
                         const TestProtocol& next, std::vector<Error>& faults) {
  const auto stored =
      LINTEL_TRY(store::records_naming(t, caller.organization, RecordKind::TestRecord, next.id));
  const std::vector<TestProtocol> after = with_protocol(library.protocols, next);
  std::size_t misfits = 0;
  for (const Record& record : stored) {
    const auto before = formats::read_test_record_json(record.document, "", library.protocols);
    if (!before.record) continue;  // it did not fit before either
    const auto reading = formats::read_test_record_json(record.document, "", after);
    if (reading.record) continue;
    if (++misfits > kMostMisfits) continue;
    const Error& first = reading.faults.front();
    faults.push_back(fault("allowed_range",
                           "a stored result of " + before.record->date.iso() +
                               " would not fit any more: it " + first.message,
                           "let range, pass line and reach take in what was measured, or make a "
                           "new protocol under another id",
                           ErrorCode::Invalid));
  }
  if (misfits > kMostMisfits) {
    faults.push_back(fault(
        "allowed_range",
        std::to_string(misfits - kMostMisfits) + " more stored results would not fit any more", "",
        ErrorCode::Invalid));
  }
  return {};
}

Result<void> check_own_error(store::Transaction& t, const Caller& caller, const TestProtocol& next,
                             std::vector<Error>& faults) {
  const auto own =
      LINTEL_TRY(store::library_record(t, caller.organization, RecordKind::StandardError, next.id));
  if (!own || own->state != store::RecordState::Active) return {};
  if (formats::read_standard_error_json(own->document, "", next).error) return {};
  faults.push_back(fault("allowed_range", "is narrower than the workplace's own standard error",
                         "make it wider, or go back to the published standard error first",
                         ErrorCode::Invalid));
  return {};
}

Result<void> check_protocol_change(store::Transaction& t, const Caller& caller,
                                   const Library& library, const TestProtocol& next,
                                   std::vector<Error>& faults) {
  const TestProtocol* before = body::find_protocol(library.protocols, next.id);
  if (before == nullptr) return {};  // it could not be read, and so none of its results
  if (next.unit != before->unit) {
    faults.push_back(must_stay("unit", std::string(body::protocol_unit_name(before->unit))));
  }
  if (next.sides != before->sides) {
    faults.push_back(must_stay("sides", before->sides == body::Sides::Each ? "each" : "none"));
  }
  if (!faults.empty()) return {};
  LINTEL_TRY_VOID(add_misfits(t, caller, library, next, faults));
  return check_own_error(t, caller, next, faults);
}

void check_drill_change(const Library& library, const plan::Drill& next,
                        std::vector<Error>& faults) {
  const plan::Drill* before = plan::find_drill(library.drills, next.id);
  if (before != nullptr && next.ladder.size() < before->ladder.size()) {
    faults.push_back(fault("ladder",
                           "has fewer steps than before (" + std::to_string(before->ladder.size()) +
                               "): what was done is kept by them",
                           "keep the steps and change their words, or make a new drill under "
                           "another id",
                           ErrorCode::Invalid));
  }
}

}  // namespace

store::RecordKind record_kind_of(LibraryKind kind) {
  return kind == LibraryKind::Protocol ? RecordKind::Protocol : RecordKind::Drill;
}

std::string_view word_of(LibraryKind kind) {
  return store::record_kind_name(record_kind_of(kind));
}

LibraryEntry read_library_entry(LibraryKind kind, std::string_view document) {
  LibraryEntry entry;
  entry.kind = kind;
  const std::string schema = "\"lintel-" + std::string(word_of(kind)) + "-1\"";
  entry.document = formats::with_defaults(document, "", {{"schema", schema}});
  if (kind == LibraryKind::Protocol) {
    auto reading = formats::read_protocol_json(entry.document, "");
    entry.protocol = std::move(reading.protocol);
    entry.faults = std::move(reading.faults);
    entry.name = std::move(reading.name);
    entry.drawing = std::move(reading.drawing);
  } else {
    auto reading = formats::read_drill_json(entry.document, "");
    entry.drill = std::move(reading.drill);
    entry.faults = std::move(reading.faults);
    entry.name = std::move(reading.name);
    entry.drawing = std::move(reading.drawing);
  }
  return entry;
}

Result<void> check_room(store::Transaction& t, const Caller& caller, LibraryKind kind) {
  const auto there = LINTEL_TRY(store::count_library(t, caller.organization, record_kind_of(kind)));
  if (there < kMostOwn) return {};
  return fail(
      ErrorCode::Limit,
      "this workplace has " + std::to_string(there) + " of its own already, archived ones counted",
      "change one that is not used any more");
}

Result<std::vector<Error>> faults_of_new(const Library& library, const LibraryEntry& entry) {
  std::vector<Error> faults;
  if (entry.protocol) {
    const TestProtocol* same = body::find_protocol(library.protocols, entry.id());
    if (same != nullptr) faults.push_back(id_taken(same->id, same->built_in));
    return faults;
  }
  const plan::Drill* same = plan::find_drill(library.drills, entry.id());
  if (same != nullptr) {
    faults.push_back(id_taken(same->id, same->built_in));
    return faults;
  }
  return faults_among(library.drills, *entry.drill);
}

Result<std::vector<Error>> faults_of_change(store::Transaction& t, const Caller& caller,
                                            const Library& library, const LibraryEntry& entry,
                                            const std::string& id) {
  std::vector<Error> faults;
  if (entry.id() != id) {
    faults.push_back(must_stay("id", id));
    return faults;
  }
  if (entry.protocol) {
    LINTEL_TRY_VOID(check_protocol_change(t, caller, library, *entry.protocol, faults));
    return faults;
  }
  check_drill_change(library, *entry.drill, faults);
  if (faults.empty()) faults = faults_among(library.drills, *entry.drill);
  return faults;
}

}  // namespace lintel::app
