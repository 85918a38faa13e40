// Markers of a motion-capture file become key points, as if a camera had seen them from the side.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "app/text_file.h"
#include "base/result.h"

namespace lintel::app {

struct KeypointsRequest {
  std::filesystem::path motion;                      // .c3d
  std::string markers;                               // id of a marker set; empty = the best match
  std::optional<std::filesystem::path> marker_sets;  // own sets, "lintel-marker-sets-1"
  std::optional<std::filesystem::path> output;       // .csv: all landmarks, .json: COCO order
  ExistingFile existing = ExistingFile::Keep;
};

struct KeypointsOutcome {
  std::string text;  // what was read
  std::string json;  // "lintel-keypoints-1"
};

// Errors: those of the files (byte, or line and field); NotFound for a marker set that is not
// there, with the nearest; Invalid when the markers do not suffice, or the output is neither .csv
// nor .json; Limit; Conflict when the output exists; Io.
Result<KeypointsOutcome> keypoints_of_motion(const KeypointsRequest& request);

}  // namespace lintel::app
