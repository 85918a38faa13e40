// The protocols of mobility tests: those built in and the practitioner's own.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "body/test_protocol.h"

namespace lintel::app {

// Built-in protocols, then those of the folder (*.json, by name). Errors: NotFound for a folder
// that is not there, Invalid with every fault of every file (file, line, field), Conflict when an
// id occurs twice or is one of the built-in ones.
Result<std::vector<body::TestProtocol>> load_protocols(
    const std::optional<std::filesystem::path>& own_folder);

// Errors: NotFound with the nearest id.
Result<const body::TestProtocol*> protocol_named(const std::vector<body::TestProtocol>& protocols,
                                                 const std::string& id);

struct LibraryText {
  std::string text;  // for people
  std::string json;
};

// `lintel tests list`
LibraryText list_protocols(const std::vector<body::TestProtocol>& protocols);

// `lintel tests show`: one protocol as a card. Errors: NotFound with the nearest id; Io for the
// SVG.
Result<LibraryText> show_protocol(const std::vector<body::TestProtocol>& protocols,
                                  const std::string& id,
                                  const std::optional<std::filesystem::path>& drawing);

// Its drawing as SVG. Errors: NotFound with the nearest id; Internal of the drawing library.
Result<std::string> protocol_drawing(const std::vector<body::TestProtocol>& protocols,
                                     const std::string& id);

// `lintel tests check`: reads every *.json of a folder (or one file). Errors: as load_protocols.
Result<LibraryText> check_protocols(const std::filesystem::path& folder);

}  // namespace lintel::app
