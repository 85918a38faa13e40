// Segment lengths of one athlete and where each came from.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

#include "base/result.h"
#include "base/units.h"

namespace lintel::body {

enum class Sex : std::uint8_t { Female, Male };

// Joint-centre to joint-centre lengths and breadths [m], one body side where there are two.
enum class Segment : std::uint8_t {
  Shank,          // ankle centre to knee centre
  Thigh,          // knee centre to hip centre
  Trunk,          // mid-hip to mid-shoulder (glenohumeral)
  UpperArm,       // glenohumeral to elbow centre
  Forearm,        // elbow centre to wrist centre
  Grip,           // wrist centre to the bar's centre in a closed fist
  Foot,           // heel to toe tip, bare
  AnkleHeight,    // sole to ankle centre, bare
  HeelToAnkle,    // heel to the foot of the perpendicular from the ankle centre, along the sole
  InterHip,       // between the hip joint centres
  InterShoulder,  // between the glenohumeral centres
  HeadNeck,       // mid-shoulder to vertex
};
inline constexpr int kSegmentCount = 12;

std::string_view segment_name(Segment segment);  // "shank", "inter_hip", ...

enum class LengthSource : std::uint8_t { Measured, Estimated };

// Every length [m] with its standard error and source.
struct SegmentLengths {
  std::array<Estimate, kSegmentCount> length;
  std::array<LengthSource, kSegmentCount> source{};

  const Estimate& operator[](Segment segment) const {
    return length[static_cast<std::size_t>(segment)];
  }
  Estimate& operator[](Segment segment) { return length[static_cast<std::size_t>(segment)]; }
};

}  // namespace lintel::body
