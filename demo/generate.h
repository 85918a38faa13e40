// Renders clips to files.
#pragma once

#include <filesystem>

#include "base/progress.h"
#include "demo/clips.h"

namespace lintel::demo {

enum class Generated : std::uint8_t { Rendered, AlreadyThere };

// Writes <name>.mp4, <name>.athlete.json and <name>.truth.json into `folder` (made if need be).
// The truth comes last and marks the set as complete: a set with the same truth is left alone.
// Progress counts frames. Errors: Cancelled, Io, Invalid (a clip whose motion is impossible).
Result<Generated> generate_clip(const ClipSpec& clip, const std::filesystem::path& folder,
                                int threads, const WorkContext& work);

// One frame as generate_clip draws it.
Result<Image> draw_frame(const ClipSpec& clip, const Skeleton& skeleton, std::size_t index,
                         const std::vector<Color>& room);

}  // namespace lintel::demo
