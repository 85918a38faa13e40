// Key points of a clip out and in: CSV with all landmarks, JSON with the 17 of the COCO order.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "kinematics/observation.h"

namespace lintel::formats {

// The COCO key points (Lin et al., ECCV 2014) in their order, as landmarks.
inline constexpr int kCocoCount = 17;
const std::array<kinematics::Landmark, kCocoCount>& coco_order();

struct KeypointReading {
  std::optional<kinematics::ClipObservation> clip;  // only when there is no fault
  std::vector<Error> faults;                        // all (at most 100), with line and column
};

// CSV (RFC 4180): "frame,time_s", then for each landmark "<name>_x_px,<name>_y_px,
// <name>_confidence". Empty x and y = not seen. When reading, landmarks may be left out and columns
// may come in any order; unknown columns are faults. Frames must rise, times must not fall.
std::string write_keypoints_csv(const kinematics::ClipObservation& clip);
KeypointReading read_keypoints_csv(std::string_view text, std::string_view file_name);

// JSON, schema "lintel-keypoints-1": width_px, height_px, frame_rate_hz, keypoint_names (the 17),
// frames [{frame, time_s, keypoints: [x, y, confidence, ...]}] with 51 numbers a frame; confidence
// 0 = not seen. Limits: 8 MiB, one million values.
std::string write_keypoints_json(const kinematics::ClipObservation& clip);
KeypointReading read_keypoints_json(std::string_view text, std::string_view file_name);

}  // namespace lintel::formats
