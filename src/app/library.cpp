#include "app/library.h"

#include <algorithm>

#include "app/recent_answers.h"
#include "formats/drill_json.h"
#include "formats/library_json.h"
#include "formats/protocol_json.h"
#include "store/library_names.h"

namespace lintel::app {
namespace {

using store::Record;
using store::RecordKind;
using store::RecordState;

constexpr std::size_t kRemembered = 16;  // workplaces of one server; a few hundred kilobytes each

RecentAnswers<Library>& remembered() {
  static RecentAnswers<Library> libraries(kRemembered);
  return libraries;
}

// Puts an own one in the place of one with its id, or at the end.
template <typename T>
void put(T own, std::vector<T>& all) {
  const auto same = [&](const T& one) { return one.id == own.id; };
  const auto found = std::find_if(all.begin(), all.end(), same);
  if (found != all.end()) {
    *found = std::move(own);
  } else {
    all.push_back(std::move(own));
  }
}

void add_protocol(const Record& record, Library& library) {
  auto reading = formats::read_protocol_json(record.document, "");
  if (!reading.protocol) return;
  reading.protocol->built_in = false;
  reading.protocol->archived = record.state != RecordState::Active;
  put(*std::move(reading.protocol), library.protocols);
}

void add_drill(const Record& record, Library& library) {
  auto reading = formats::read_drill_json(record.document, "");
  if (!reading.drill) return;
  reading.drill->built_in = false;
  reading.drill->archived = record.state != RecordState::Active;
  put(*std::move(reading.drill), library.drills);
}

// One of a protocol that is not there any more says nothing.
void put_standard_error(const std::string& of, const Record& record, Library& library) {
  if (record.state != RecordState::Active) return;
  const auto found = std::find_if(library.protocols.begin(), library.protocols.end(),
                                  [&](const body::TestProtocol& p) { return p.id == of; });
  if (found == library.protocols.end()) return;
  auto reading = formats::read_standard_error_json(record.document, "", *found);
  if (!reading.error) return;
  library.published_errors[found->id] = found->standard_error;
  found->standard_error = *std::move(reading.error);
  found->own_error = true;
}

Library read_library(const std::vector<store::NamedRecord>& own) {
  Library library{formats::built_in_protocols(), formats::built_in_drills(), {}};
  for (const auto& [name, record] : own) {
    if (record.kind == RecordKind::Protocol) add_protocol(record, library);
    if (record.kind == RecordKind::Drill) add_drill(record, library);
  }
  for (const auto& [name, record] : own) {
    if (record.kind == RecordKind::StandardError) put_standard_error(name, record, library);
  }
  return library;
}

}  // namespace

body::ProtocolError Library::published_error(const body::TestProtocol& protocol) const {
  const auto found = published_errors.find(protocol.id);
  return found == published_errors.end() ? protocol.standard_error : found->second;
}

SharedLibrary built_in_library() {
  static const SharedLibrary library = std::make_shared<const Library>(
      Library{formats::built_in_protocols(), formats::built_in_drills(), {}});
  return library;
}

Result<SharedLibrary> library_of(store::Transaction& t, std::string_view organization) {
  const std::string state = LINTEL_TRY(store::library_state(t, organization));
  if (state.empty()) return built_in_library();
  if (SharedLibrary known = remembered().find(state)) return known;
  const auto own = LINTEL_TRY(store::library_records(t, organization));
  return remembered().keep(state, read_library(own));
}

}  // namespace lintel::app
