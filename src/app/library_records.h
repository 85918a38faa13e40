// A workplace's own protocols, drills and standard errors as records, beside the built-in ones.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "app/library.h"
#include "app/record_access.h"

namespace lintel::app {

enum class LibraryKind : std::uint8_t { Protocol, Drill };

enum class Listing : std::uint8_t { InUse, WithArchived };
// "lintel-protocol-list-1" or "lintel-drill-list-1".
Result<std::string> list_library(Practice& practice, const Caller& caller, LibraryKind kind,
                                 Listing listing);
// The card of one, with "record" (null for a built-in one) and, of a protocol, what its standard
// error is made of; version: of the own one. Errors: NotFound with the nearest id.
Result<Answer> show_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                  const std::string& id);
// As SVG.
Result<std::string> library_drawing(Practice& practice, const Caller& caller, LibraryKind kind,
                                    const std::string& id);

// `document` is a lintel-protocol-1 or lintel-drill-1; "schema" may be left out. The answer is the
// record; id: of the protocol or drill. Errors: Invalid with every fault; Conflict for an id that
// is taken; Limit.
Result<Answer> create_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                    std::string_view document, Faults& faults);

struct LibraryChange {
  std::int64_t expected_version = 0;  // 0 = whatever it is
  std::string_view document;
  std::string reason;
};
// Results are kept by id, unit, sides and steps, so these stay, and every stored result must still
// fit. Errors: as above; Conflict for a built-in one.
Result<Answer> change_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                    const std::string& id, const LibraryChange& change,
                                    Faults& faults);
enum class Offered : std::uint8_t { No, Yes };
// An archived one is offered no more; what was done with it stays readable.
Result<Answer> archive_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                     const std::string& id, Offered offered,
                                     std::int64_t expected_version, std::string reason);

struct CheckedEntry {
  Faults faults;            // empty = it would be taken
  std::string drawing_svg;  // empty = the drawing does not read
};
// Stores nothing. `changes`: id of the own one whose next version it would be; empty = a new one.
Result<CheckedEntry> check_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                         std::string_view document, const std::string& changes);

// "lintel-standard-error-1"; "schema", "protocol" and "unit" may be left out. Expected version 0 =
// there is none in force; negative = whatever there is.
Result<Answer> put_standard_error(Practice& practice, const Caller& caller,
                                  const std::string& protocol, const LibraryChange& change,
                                  Faults& faults);
// Back to the published one; the record stays with its versions. The answer is the card. Errors:
// NotFound when there is none.
Result<Answer> drop_standard_error(Practice& practice, const Caller& caller,
                                   const std::string& protocol, std::int64_t expected_version,
                                   const std::string& reason);

// "lintel-reliability-1" of a table of repeated measurements (formats/ratings_csv.h) against what
// the protocol itself says, with "standard_error" as it may be put. tries: of each number.
Result<std::string> reliability_of_protocol(Practice& practice, const Caller& caller,
                                            const std::string& protocol, std::string_view table,
                                            int tries_per_value);

}  // namespace lintel::app
