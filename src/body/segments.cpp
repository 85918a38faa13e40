#include "body/segments.h"

namespace lintel::body {

std::string_view segment_name(Segment segment) {
  static constexpr std::array<std::string_view, kSegmentCount> kNames = {
      "shank", "thigh",        "trunk",         "upper_arm", "forearm",        "grip",
      "foot",  "ankle_height", "heel_to_ankle", "inter_hip", "inter_shoulder", "head_neck"};
  return kNames[static_cast<std::size_t>(segment)];
}

}  // namespace lintel::body
