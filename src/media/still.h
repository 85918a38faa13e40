// Photos and single pictures: PNG and JPEG, read and written.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "media/clip_reader.h"

namespace lintel::media {

// Files appear whole or not at all (temporary name, then rename). Errors: Invalid (empty picture,
// quality outside 1..100), NotFound (no such folder), Io.
Result<void> write_png(const std::filesystem::path& path, const Image& image);
Result<void> write_jpeg(const std::filesystem::path& path, const Image& image, int quality = 90);

// The same as bytes of a file.
Result<std::vector<std::uint8_t>> encode_png(const Image& image);
Result<std::vector<std::uint8_t>> encode_jpeg(const Image& image, int quality = 90);

// Upright (EXIF orientation applied), in full size, transparency dropped. Errors as ClipReader;
// a clip is Unsupported.
Result<Image> read_still(const std::filesystem::path& path, const ClipLimits& limits = {});

}  // namespace lintel::media
