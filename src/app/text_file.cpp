#include "app/text_file.h"

#include <fstream>
#include <sstream>
#include <utility>

#include "base/text.h"

namespace lintel::app {
namespace {

tl::unexpected<Error> fail_for(const std::filesystem::path& file, ErrorCode code,
                               std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(file.filename().string());
  return fail(std::move(error));
}

}  // namespace

Result<std::string> read_text_file(const std::filesystem::path& file, std::uintmax_t largest_bytes,
                                   const std::string& mend) {
  std::error_code code;
  if (!std::filesystem::is_regular_file(file, code)) {
    return fail_for(file, ErrorCode::NotFound, "there is no such file", mend);
  }
  const std::uintmax_t size = std::filesystem::file_size(file, code);
  if (code || size > largest_bytes) {
    return fail_for(
        file, ErrorCode::Limit,
        text("the file is larger than %.0f MiB", static_cast<double>(largest_bytes) / (1 << 20)),
        mend);
  }
  std::ifstream in(file, std::ios::binary);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  if (!in) return fail_for(file, ErrorCode::Io, "the file cannot be read", "check its permissions");
  return bytes.str();
}

Result<void> write_text_file(const std::filesystem::path& file, std::string_view bytes,
                             ExistingFile existing) {
  const std::string mend = "check the folder and its permissions";
  std::error_code code;
  if (existing == ExistingFile::Keep && std::filesystem::exists(file, code)) {
    return fail_for(file, ErrorCode::Conflict, "the file exists already",
                    "name another file, or replace it with --overwrite");
  }
  std::filesystem::path pending = file;
  pending += ".part";
  {
    std::ofstream out(pending, std::ios::binary | std::ios::trunc);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    if (!out.flush()) {
      out.close();
      std::filesystem::remove(pending, code);
      return fail_for(file, ErrorCode::Io, "the file cannot be written", mend);
    }
  }
  std::filesystem::rename(pending, file, code);
  if (code) {
    std::error_code ignored;
    std::filesystem::remove(pending, ignored);
    return fail_for(file, ErrorCode::Io, "the file cannot be written", mend);
  }
  return {};
}

Error joined_faults(const std::vector<Error>& faults) {
  Error first = faults.front();
  if (faults.size() == 1) return first;
  // What mends the first one stays beside it, before the next one begins.
  if (!first.mend.empty()) first.message += "\n  mend: " + std::exchange(first.mend, {});
  for (std::size_t i = 1; i < faults.size(); ++i) first.message += "\n" + describe(faults[i]);
  return first;
}

}  // namespace lintel::app
