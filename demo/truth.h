// What is exactly known about a clip, as files beside it. Schemas: demo/README.md.
#pragma once

#include <string>
#include <vector>

#include "demo/clips.h"

namespace lintel::demo {

// Raised whenever the drawing changes, so that clips are rendered again.
inline constexpr int kContentVersion = 2;

struct FrameTruth {
  double time = 0;
  Skeleton skeleton;
};

// The skeletons of all frames. Fails (Invalid) when the motion cannot be done by this lifter.
Result<std::vector<FrameTruth>> clip_truth(const ClipSpec& clip);

std::string truth_json(const ClipSpec& clip, const std::vector<FrameTruth>& frames);
std::string athlete_json(const ClipSpec& clip);

}  // namespace lintel::demo
