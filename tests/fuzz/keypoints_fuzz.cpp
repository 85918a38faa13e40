// Any bytes as key points, CSV and JSON: a clip that can be written and read again, or faults.
#include <string_view>

#include "formats/keypoints.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace formats = lintel::formats;
  const std::string_view text = text_of(data, size);
  const auto csv = formats::read_keypoints_csv(text, "fuzz.csv");
  require(csv.clip.has_value() == csv.faults.empty());
  if (csv.clip) {
    const auto again =
        formats::read_keypoints_csv(formats::write_keypoints_csv(*csv.clip), "again.csv");
    require(again.clip.has_value() && again.clip->frames.size() == csv.clip->frames.size());
  }
  const auto json = formats::read_keypoints_json(text, "fuzz.json");
  require(json.clip.has_value() == json.faults.empty());
  if (json.clip) {
    const auto again =
        formats::read_keypoints_json(formats::write_keypoints_json(*json.clip), "again.json");
    require(again.clip.has_value() && again.clip->frames.size() == json.clip->frames.size());
  }
  return 0;
}
