// Points on the photo of a mobility test, in and out.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/test_record.h"
#include "kinematics/photo_measure.h"

namespace lintel::formats {

struct PhotoPointsReading {
  std::optional<std::map<std::string, Eigen::Vector2d>> points;  // px; only when there is no fault
  std::vector<Error> faults;  // all (at most 100), with field, line and column
};

// {"knee": [412, 633.5], ...} in pixels of the upright picture, which is width x height px. Only
// `known` names are taken. Limits: 64 KiB. Never throws.
PhotoPointsReading read_photo_points_json(std::string_view text, std::string_view file_name,
                                          const std::vector<std::string>& known, int width_px,
                                          int height_px);

// Everything about one photo. Points as used, and where the network had put those that were moved.
struct PhotoDocument {
  const body::TestProtocol* protocol = nullptr;
  body::TestSide side = body::TestSide::Both;
  int width_px = 0;
  int height_px = 0;
  kinematics::PhotoPoints points;
  kinematics::PhotoPoints originals;
  std::optional<kinematics::KnownLength> known_length;
  kinematics::PhotoReading reading;
  body::TestEntry entry;  // for the record of the visit
};

// "lintel-test-photo-1", with the cautions. `record_entry` is an element of a record's results.
std::string write_test_photo_json(const PhotoDocument& document);

}  // namespace lintel::formats
