#include "app/test_library.h"

#include <algorithm>

#include "app/test_text.h"
#include "app/text_file.h"
#include "base/text.h"
#include "formats/located_json.h"
#include "formats/protocol_json.h"
#include "report/sketch.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using body::TestProtocol;

constexpr std::uintmax_t kLargestProtocol = 256 << 10;
constexpr std::size_t kMostFiles = 500;

Result<std::vector<fs::path>> json_files(const fs::path& folder) {
  std::error_code code;
  if (fs::is_regular_file(folder, code)) return std::vector<fs::path>{folder};
  if (!fs::is_directory(folder, code)) {
    Error error{ErrorCode::NotFound,
                "there is no such folder",
                {},
                "give the folder that holds your protocols (*.json)",
                {}};
    error.with_file(folder.filename().string());
    return fail(std::move(error));
  }
  std::vector<fs::path> files;
  for (fs::directory_iterator it(folder, code), end; !code && it != end; it.increment(code)) {
    if (it->path().extension() == ".json") files.push_back(it->path());
    if (files.size() > kMostFiles) {
      return fail(ErrorCode::Limit, text("the folder holds more than %zu protocols", kMostFiles),
                  "split it");
    }
  }
  if (code) return fail(ErrorCode::Io, "the folder cannot be read", "check its permissions");
  std::sort(files.begin(), files.end());
  return files;
}

// Adds the protocols of the files; every fault of every file in one error.
Result<void> add_protocols(const std::vector<fs::path>& files, std::vector<TestProtocol>& all) {
  std::vector<Error> faults;
  for (const fs::path& file : files) {
    const std::string name = file.filename().string();
    auto bytes = read_text_file(file, kLargestProtocol, "give a protocol file");
    if (!bytes) {
      faults.push_back(std::move(bytes).error());
      continue;
    }
    auto reading = formats::read_protocol_json(*bytes, name);
    for (Error& fault : reading.faults) faults.push_back(std::move(fault));
    if (!reading.protocol) continue;
    reading.protocol->built_in = false;
    if (const TestProtocol* before = body::find_protocol(all, reading.protocol->id)) {
      Error error{ErrorCode::Conflict,
                  "the id \"" + reading.protocol->id + "\" " +
                      (before->built_in ? "is one of the built-in protocols" : "occurs twice"),
                  {},
                  "give it another id: results are kept by it",
                  {}};
      error.place.field = "id";
      error.with_file(name);
      faults.push_back(std::move(error));
      continue;
    }
    all.push_back(*std::move(reading.protocol));
  }
  if (!faults.empty()) return fail(joined_faults(faults));
  return {};
}

}  // namespace

Result<std::vector<TestProtocol>> load_protocols(const std::optional<fs::path>& own_folder) {
  std::vector<TestProtocol> all = formats::built_in_protocols();
  if (!own_folder) return all;
  const auto files = LINTEL_TRY(json_files(*own_folder));
  LINTEL_TRY_VOID(add_protocols(files, all));
  return all;
}

LibraryText list_protocols(const std::vector<TestProtocol>& protocols) {
  return {protocol_list_text(protocols), formats::write_protocol_list_json(protocols)};
}

Result<LibraryText> show_protocol(const std::vector<TestProtocol>& protocols, const std::string& id,
                                  const std::optional<fs::path>& drawing) {
  const TestProtocol& protocol = *LINTEL_TRY(protocol_named(protocols, id));
  LibraryText out{protocol_card_text(protocol), formats::write_protocol_card_json(protocol)};
  if (drawing) {
    const std::string svg = LINTEL_TRY(protocol_drawing(protocols, id));
    LINTEL_TRY_VOID(write_text_file(*drawing, svg, ExistingFile::Replace));
    out.text += "Drawing: " + drawing->string() + "\n";
  }
  return out;
}

Result<std::string> protocol_drawing(const std::vector<TestProtocol>& protocols,
                                     const std::string& id) {
  const TestProtocol& protocol = *LINTEL_TRY(protocol_named(protocols, id));
  return report::draw_sketch_svg(protocol.name, protocol.sketch);
}

Result<LibraryText> check_protocols(const fs::path& folder) {
  const auto files = LINTEL_TRY(json_files(folder));
  std::vector<TestProtocol> all = formats::built_in_protocols();
  const std::size_t built_in = all.size();
  LINTEL_TRY_VOID(add_protocols(files, all));
  const std::vector<TestProtocol> own(all.begin() + static_cast<std::ptrdiff_t>(built_in),
                                      all.end());
  LibraryText out;
  out.text = text("%zu %s good.\n", own.size(), own.size() == 1 ? "protocol is" : "protocols are");
  for (const TestProtocol& p : own) out.text += "  " + p.id + "  " + p.name + "\n";
  out.json = formats::write_protocol_list_json(own);
  return out;
}

Result<const TestProtocol*> protocol_named(const std::vector<TestProtocol>& protocols,
                                           const std::string& id) {
  const TestProtocol* found = body::find_protocol(protocols, id);
  if (found != nullptr) return found;
  std::vector<std::string> ids;
  for (const TestProtocol& p : protocols) ids.push_back(p.id);
  const std::string_view nearest = formats::nearest_word(id, ids);
  return fail(ErrorCode::NotFound, "there is no protocol \"" + id + "\"",
              nearest.empty() ? "list them with: lintel tests list"
                              : "did you mean \"" + std::string(nearest) + "\"?");
}

}  // namespace lintel::app
