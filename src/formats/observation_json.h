// The points of a clip as the networks saw them, kept so that it can be measured again without its
// pictures: "lintel-points-1" (docs/schema/points.schema.json).
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "kinematics/kept_observation.h"

namespace lintel::formats {

// One line a frame; every number as short as it can be without losing a bit.
std::string write_observation_json(const kinematics::KeptObservation& observation);

// Strict; gives back exactly what was written. Frames are read one by one, so that memory stays at
// about twice the text. Limits: 512 MiB, 200,000 frames. Never throws. Errors: Limit; Invalid with
// the field ("frames[12].body[3]") or, for text that is no JSON, its byte.
Result<kinematics::KeptObservation> read_observation_json(std::string_view text,
                                                          std::string_view file_name);

}  // namespace lintel::formats
