// Inside app: one document of a protocol or drill, and what speaks against taking it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/library.h"
#include "app/library_records.h"

namespace lintel::app {

struct LibraryEntry {
  LibraryKind kind = LibraryKind::Protocol;
  std::string document;  // with its schema
  std::optional<body::TestProtocol> protocol;
  std::optional<plan::Drill> drill;
  std::vector<Error> faults;  // of the document alone
  std::string name;           // as far as it reads
  std::optional<Sketch> drawing;

  const std::string& id() const { return protocol ? protocol->id : drill->id; }  // no faults
};
LibraryEntry read_library_entry(LibraryKind kind, std::string_view document);

store::RecordKind record_kind_of(LibraryKind kind);
std::string_view word_of(LibraryKind kind);  // "protocol", "drill"

// Errors: Limit when the workplace has as many of its own as it may, archived ones counted.
Result<void> check_room(store::Transaction& t, const Caller& caller, LibraryKind kind);

// A new one: its id is free, what it names is there. Errors: those of the database.
Result<std::vector<Error>> faults_of_new(const Library& library, const LibraryEntry& entry);
// The next version of the own one of this id: what may not change has not, and every stored result
// still fits.
Result<std::vector<Error>> faults_of_change(store::Transaction& t, const Caller& caller,
                                            const Library& library, const LibraryEntry& entry,
                                            const std::string& id);

}  // namespace lintel::app
