// The clip once more, with the measurement drawn over it: key frames and overlay video.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "app/assess.h"
#include "base/image.h"
#include "base/progress.h"
#include "base/result.h"
#include "kinematics/measurement.h"
#include "kinematics/observation.h"

namespace lintel::app {

struct KeyFrame {
  std::size_t index = 0;  // into Measurement::time
  std::string file_name;  // "rep1-bottom.png"
};

// Start, bottom and end of every repetition (of the first twelve); without a repetition the middle
// frame that has a body.
std::vector<KeyFrame> choose_key_frames(const kinematics::Measurement& measurement);

struct SecondPass {
  // The clean picture of the bottom of the first completed repetition (or of the key frame).
  Image bottom_picture;
  std::size_t bottom_index = 0;
};

// Writes key-frames/*.png, overlay.mp4 and screen.mp4 into `folder` as the request asks. Streamed.
Result<SecondPass> draw_over_clip(const AssessRequest& request,
                                  const kinematics::Measurement& measurement,
                                  const kinematics::ClipObservation& clip,
                                  const std::filesystem::path& folder, const WorkContext& work);

}  // namespace lintel::app
