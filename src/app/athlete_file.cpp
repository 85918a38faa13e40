#include "app/athlete_file.h"

#include <fstream>
#include <sstream>

#include "formats/athlete_json.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestFile = 1 << 20;  // [bytes], as the reader's own limit

tl::unexpected<Error> fail_for(const std::string& name, ErrorCode code, std::string message,
                               std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(name);
  return fail(std::move(error));
}

Error several_faults(const std::vector<Error>& faults) {
  Error first = faults.front();
  for (std::size_t i = 1; i < faults.size(); ++i) {
    first.message += "\n" + describe(faults[i]);
  }
  return first;
}

}  // namespace

Result<body::Athlete> read_athlete_file(const std::filesystem::path& file) {
  std::error_code code;
  const std::string name = file.filename().string();
  const std::uintmax_t size = std::filesystem::file_size(file, code);
  if (code || !std::filesystem::is_regular_file(file, code)) {
    return fail_for(name, ErrorCode::NotFound, "there is no such file",
                    "give the athlete file that was written for this athlete");
  }
  if (size > kLargestFile) {
    return fail_for(name, ErrorCode::Limit, "the file is larger than 1 MiB",
                    "an athlete file holds a few kilobytes; is this another file?");
  }
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in) {
    return fail_for(name, ErrorCode::Io, "the file cannot be read", "check its permissions");
  }
  formats::AthleteReading reading = formats::read_athlete_json(text.str(), name);
  if (!reading.athlete) return fail(several_faults(reading.faults));
  return *std::move(reading.athlete);
}

}  // namespace lintel::app
