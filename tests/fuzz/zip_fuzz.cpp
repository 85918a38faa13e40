// Any bytes as a zip archive: an error, or entries with names that stay in their folder and no more
// bytes than they say.
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <string>

#include "formats/zip_reader.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace formats = lintel::formats;
  static const std::string path =
      (std::filesystem::temp_directory_path() / ("lintel-zip-fuzz-" + std::to_string(::getpid())))
          .string();
  std::FILE* file = std::fopen(path.c_str(), "wb");
  require(file != nullptr && std::fwrite(data, 1, size, file) == size);
  std::fclose(file);
  formats::ZipLimits limits;
  limits.entry_bytes = 1 << 20;
  limits.total_bytes = 4 << 20;
  {
    const auto zip = formats::ZipReader::open(path, limits);
    if (zip) {
      for (const formats::ZipEntry& entry : zip->entries()) {
        require(formats::zip_name_fault(entry.name).empty());
        std::int64_t bytes = 0;
        const auto read = zip->read(entry, [&](std::string_view piece) {
          bytes += static_cast<std::int64_t>(piece.size());
          return lintel::Result<void>{};
        });
        require(bytes <= entry.bytes);
        require(!read || bytes == entry.bytes);
      }
    }
  }
  ::unlink(path.c_str());
  return 0;
}
