// Inside app: the own protocols and drills that an export of an athlete takes along, and how they
// come into another workplace.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/library_records.h"
#include "view/export_bundle.h"

namespace lintel::app {

// Name in the archive and text.
using NamedDocument = std::pair<std::string, std::string>;

// Own ones that these documents name, and what those are built on, each with its document.
struct LibraryToGo {
  std::vector<view::ExportLibraryEntry> entries;
  std::vector<NamedDocument> documents;
};
Result<LibraryToGo> library_named_in(store::Transaction& t, std::string_view organization,
                                     const std::vector<NamedDocument>& documents);

// Adds those that are missing here; what is here stays as it is. `results`: newest documents of the
// records that come with them, tests and days of drills, by their name in the archive. Answers the
// ids of what was added. Errors: Invalid for one that does not read; Conflict when one of the same
// id here measures something else, so that the results would be read wrongly; Limit.
struct IncomingLibrary {
  std::vector<view::ExportLibraryEntry> entries;
  std::map<std::string, std::string> documents;  // of the entries, by name in the archive
  std::vector<NamedDocument> tests, days;
};
Result<std::vector<std::string>> take_library(store::Transaction& t, const Practice& practice,
                                              const Caller& caller, const IncomingLibrary& in);

}  // namespace lintel::app
