// Names of what a workplace keeps of its own beside the built-in library, each once in an
// organization: the ids of its protocols and drills, and of the protocols whose standard error it
// has measured itself.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/records.h"

namespace lintel::store {

// Records of these kinds have a name (NewRecord::name); insert_record claims it.
bool has_library_name(RecordKind kind);

// Inside of insert_record. Errors: Conflict when the name is taken, by an archived one too.
Result<void> claim_library_name(Transaction& t, const Record& record, std::string_view name);

struct NamedRecord {
  std::string name;
  Record record;
};
// Every own one of the organization by kind and name, whatever its state, newest version.
Result<std::vector<NamedRecord>> library_records(Transaction& t, std::string_view organization);
// One of them; nothing when the name is free.
Result<std::optional<Record>> library_record(Transaction& t, std::string_view organization,
                                             RecordKind kind, std::string_view name);
// A text that is another one whenever their names, states or documents are (by their digests);
// empty when there are none. Reads no documents.
Result<std::string> library_state(Transaction& t, std::string_view organization);
Result<std::int64_t> count_library(Transaction& t, std::string_view organization, RecordKind kind);

// Newest versions of records of this kind, whatever their state, whose documents hold this name in
// quotation marks (and perhaps some that hold one much like it).
Result<std::vector<Record>> records_naming(Transaction& t, std::string_view organization,
                                           RecordKind kind, std::string_view name);

}  // namespace lintel::store
