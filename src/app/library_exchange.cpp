#include "app/library_exchange.h"

#include <algorithm>
#include <set>
#include <span>

#include "app/library_entry.h"
#include "app/text_file.h"
#include "formats/export_json.h"
#include "formats/history_json.h"
#include "formats/test_record_json.h"
#include "store/library_names.h"

namespace lintel::app {
namespace {

using store::NamedRecord;
using store::Record;
using store::RecordKind;
using store::RecordState;
using view::ExportLibraryEntry;

bool goes_along(const NamedRecord& own) {
  return own.record.kind == RecordKind::Protocol || own.record.kind == RecordKind::Drill;
}

bool names(const std::string& document, const std::string& name) {
  return document.find("\"" + name + "\"") != std::string::npos;
}

LibraryKind kind_of(const ExportLibraryEntry& entry) {
  return entry.kind == "protocol" ? LibraryKind::Protocol : LibraryKind::Drill;
}

Error entry_error(ErrorCode code, const ExportLibraryEntry& entry, std::string message,
                  std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = formats::export_library_name(entry.kind, entry.name);
  return error;
}

// One of the same id that is here must at least measure the same.
Result<void> check_alike(const ExportLibraryEntry& entry, const LibraryEntry& theirs,
                         const Library& here) {
  if (!theirs.protocol) return {};
  const body::TestProtocol* ours = body::find_protocol(here.protocols, entry.name);
  if (ours->unit == theirs.protocol->unit && ours->sides == theirs.protocol->sides) return {};
  return fail(entry_error(ErrorCode::Conflict, entry,
                          "this workplace has another protocol \"" + entry.name +
                              "\", with another unit or other sides",
                          "nothing was taken in: the results would be read wrongly"));
}

bool is_here(const Library& here, const ExportLibraryEntry& entry) {
  return kind_of(entry) == LibraryKind::Protocol
             ? body::find_protocol(here.protocols, entry.name) != nullptr
             : plan::find_drill(here.drills, entry.name) != nullptr;
}

Result<LibraryEntry> read_theirs(const IncomingLibrary& in, const ExportLibraryEntry& entry) {
  const std::string name = formats::export_library_name(entry.kind, entry.name);
  LibraryEntry theirs = read_library_entry(kind_of(entry), in.documents.at(name));
  if (!theirs.faults.empty()) {
    Error error = joined_faults(theirs.faults);
    return fail(std::move(error.with_file(name)));
  }
  if (theirs.id() == entry.name) return theirs;
  return fail(entry_error(ErrorCode::Invalid, entry, "this document is of \"" + theirs.id() + "\"",
                          "nothing was taken in; ask for a new export"));
}

Result<void> add(store::Transaction& t, const Practice& practice, const Caller& caller,
                 const ExportLibraryEntry& entry, const LibraryEntry& theirs) {
  store::NewRecord record;
  record.kind = record_kind_of(theirs.kind);
  record.organization = caller.organization;
  record.name = entry.name;
  record.document = theirs.document;
  const Record added = LINTEL_TRY(add_record(t, practice, caller, record));
  if (entry.state != "archived") return {};
  LINTEL_TRY(store::set_record_state(t, added.id, added.version, RecordState::Archived,
                                     "archived where it came from", author_of(practice, caller)));
  return {};
}

// Does everything that comes in read here as it did where it came from?
Result<void> check_results(const IncomingLibrary& in, const Library& there, const Library& here) {
  const auto misfit = [](const std::string& name, const std::vector<Error>& faults) {
    Error error = joined_faults(faults);
    error.code = ErrorCode::Conflict;
    error.mend = "nothing was taken in: the protocols and drills here do not fit these results";
    return fail(std::move(error.with_file(name)));
  };
  for (const auto& [name, text] : in.tests) {
    if (!formats::read_test_record_json(text, name, there.protocols).record) continue;
    const auto reading = formats::read_test_record_json(text, name, here.protocols);
    if (!reading.record) return misfit(name, reading.faults);
  }
  for (const auto& [name, text] : in.days) {
    if (!formats::read_day_log_json(text, name, there.drills).log) continue;
    const auto reading = formats::read_day_log_json(text, name, here.drills);
    if (!reading.log) return misfit(name, reading.faults);
  }
  const std::vector<Error> faults = plan::find_faults(std::span<const plan::Drill>(here.drills));
  if (!faults.empty()) return fail(faults.front());
  return {};
}

}  // namespace

Result<LibraryToGo> library_named_in(store::Transaction& t, std::string_view organization,
                                     const std::vector<NamedDocument>& documents) {
  std::vector<NamedRecord> own = LINTEL_TRY(store::library_records(t, organization));
  std::erase_if(own, [](const NamedRecord& one) { return !goes_along(one); });
  std::vector<bool> goes(own.size(), false);
  const auto look_in = [&](const std::string& document) {
    bool more = false;
    for (std::size_t i = 0; i < own.size(); ++i) {
      if (goes[i] || !names(document, own[i].name)) continue;
      goes[i] = more = true;
    }
    return more;
  };
  for (const auto& [name, text] : documents) look_in(text);
  // A drill may ask for a step of another one.
  for (bool more = true; more;) {
    more = false;
    for (std::size_t i = 0; i < own.size(); ++i) {
      if (goes[i] && look_in(own[i].record.document)) more = true;
    }
  }
  LibraryToGo out;
  for (std::size_t i = 0; i < own.size(); ++i) {
    if (!goes[i]) continue;
    const Record& record = own[i].record;
    const std::string kind(store::record_kind_name(record.kind));
    out.entries.push_back({kind, own[i].name,
                           record.state == RecordState::Active ? "active" : "archived",
                           record.sha256});
    out.documents.emplace_back(formats::export_library_name(kind, own[i].name), record.document);
  }
  return out;
}

Result<std::vector<std::string>> take_library(store::Transaction& t, const Practice& practice,
                                              const Caller& caller, const IncomingLibrary& in) {
  std::vector<std::string> added;
  if (in.entries.empty()) return added;
  const SharedLibrary before = LINTEL_TRY(library_of(t, caller.organization));
  Library there = *built_in_library();
  for (const ExportLibraryEntry& entry : in.entries) {
    const LibraryEntry theirs = LINTEL_TRY(read_theirs(in, entry));
    if (theirs.protocol) there.protocols.push_back(*theirs.protocol);
    if (theirs.drill) there.drills.push_back(*theirs.drill);
    if (is_here(*before, entry)) {
      LINTEL_TRY_VOID(check_alike(entry, theirs, *before));
      continue;
    }
    LINTEL_TRY_VOID(check_room(t, caller, theirs.kind));
    LINTEL_TRY_VOID(add(t, practice, caller, entry, theirs));
    added.push_back(entry.name);
  }
  const SharedLibrary after = LINTEL_TRY(library_of(t, caller.organization));
  LINTEL_TRY_VOID(check_results(in, there, *after));
  return added;
}

}  // namespace lintel::app
