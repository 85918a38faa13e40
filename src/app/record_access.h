// How use cases reach records: access checked, audit trail written, answers as JSON.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "app/access.h"
#include "app/practice.h"
#include "formats/record_json.h"
#include "store/records.h"

namespace lintel::app {

// A record or a document as a face sends it.
struct Answer {
  std::string json;
  std::int64_t version = 0;  // of the record; 0 = nothing stored yet, or no record
  std::string id;            // of the record; may be empty
};

// Every fault of a document that was sent, for faces that show them one by one. The error that a
// use case returns holds them all as text.
using Faults = std::vector<Error>;
tl::unexpected<Error> document_fault(std::vector<Error> found, Faults& faults);

// The record, where the caller may do this with it. Errors: Denied; NotFound for what is not there,
// another kind, or out of the caller's reach.
Result<store::Record> find_for(store::Transaction& t, const Caller& caller, Permission permission,
                               std::string_view id, store::RecordKind kind);
// The same in a transaction of its own, and noted in the audit trail as seen.
Result<store::Record> see_record(Practice& practice, const Caller& caller, Permission permission,
                                 std::string_view id, store::RecordKind kind);

// The newest active record of this kind below a parent (or of an athlete, with an empty parent);
// nothing if there is none. Access is the caller's own business.
Result<std::optional<store::Record>> newest_record(store::Transaction& t, const Caller& caller,
                                                   store::RecordKind kind, std::string_view athlete,
                                                   std::string_view parent);
// All active ones, the newest first.
Result<std::vector<store::Record>> every_record(store::Transaction& t, const Caller& caller,
                                                store::RecordKind kind, std::string_view athlete,
                                                std::string_view parent);

store::Author author_of(const Practice& practice, const Caller& caller);

// Insert and replace with the row of the audit trail.
Result<store::Record> add_record(store::Transaction& t, const Practice& practice,
                                 const Caller& caller, const store::NewRecord& record);
struct NewVersion {
  std::int64_t expected = 0;  // 0 = whatever it is
  std::string document;
  store::IndexRows index;
  std::string reason;
};
Result<store::Record> change_record(store::Transaction& t, const Practice& practice,
                                    const Caller& caller, const store::Record& before,
                                    NewVersion next);

std::string record_json(const store::Record& record,
                        const std::vector<formats::RawMember>& further = {});
Answer answer_of(const store::Record& record, const std::vector<formats::RawMember>& further = {});
// What stands for a record before the first one is stored: version 0.
Answer unstored(store::RecordKind kind, std::string_view athlete, std::string_view parent,
                std::string_view document, const std::vector<formats::RawMember>& further);

// Every version, the oldest first, each with "changed_by_name". permission: of the record's kind.
Result<Answer> list_versions(Practice& practice, const Caller& caller, std::string_view record);

}  // namespace lintel::app
