// The light copy of a clip that the player jumps in (docs/visit-screens.md).
#pragma once

#include <filesystem>

#include "base/progress.h"
#include "base/result.h"
#include "media/clip_reader.h"
#include "media/clip_writer.h"

namespace lintel::app {

// What films made from a clip share: even size, the clip's rate (0 = not known), quick to write.
media::ClipWriterOptions film_options(const media::ClipInfo& info, double rate_hz);

// A writer of kScreenCopy (assess.h) into `folder`, for the pictures of this clip.
Result<media::ClipWriter> open_screen_copy(const media::ClipInfo& info, double rate_hz,
                                           const std::filesystem::path& folder);

// Writes it for a clip by itself. Errors: those of ClipReader and ClipWriter; Unsupported for a
// single picture, which needs none; Cancelled.
Result<void> write_screen_copy(const std::filesystem::path& clip,
                               const std::filesystem::path& folder, const WorkContext& work);

}  // namespace lintel::app
