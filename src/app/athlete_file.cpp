#include "app/athlete_file.h"

#include "app/text_file.h"
#include "formats/athlete_json.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestFile = 1 << 20;  // [bytes], as the reader's own limit

}  // namespace

Result<body::Athlete> read_athlete_file(const std::filesystem::path& file) {
  const std::string text = LINTEL_TRY(read_text_file(
      file, kLargestFile, "give the athlete file that was written for this athlete"));
  formats::AthleteReading reading = formats::read_athlete_json(text, file.filename().string());
  if (!reading.athlete) return fail(joined_faults(reading.faults));
  return *std::move(reading.athlete);
}

}  // namespace lintel::app
