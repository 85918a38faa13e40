// The drill library for people and programs.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "plan/drill.h"

namespace lintel::app {

struct DrillText {
  std::string text;  // for people, with the cautions
  std::string json;  // the list, or the drill's own file
};

// `lintel plan drills`
DrillText list_drills();

// `lintel plan drill ID`: one drill as a card. Errors: NotFound with the nearest id; Io for the
// SVG, which replaces a file of that name.
Result<DrillText> show_drill(const std::string& id,
                             const std::optional<std::filesystem::path>& drawing);

// Errors: NotFound with the nearest id.
Result<const plan::Drill*> drill_named(const std::vector<plan::Drill>& library,
                                       const std::string& id);
// Its drawing as SVG. Errors: NotFound with the nearest id; Internal of the drawing library.
Result<std::string> drill_drawing(const std::vector<plan::Drill>& library, const std::string& id);

}  // namespace lintel::app
