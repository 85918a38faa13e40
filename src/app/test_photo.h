// `lintel tests photo`: the result of a mobility test from a photograph.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/assess.h"
#include "app/observe.h"
#include "base/progress.h"
#include "base/result.h"
#include "body/test_protocol.h"
#include "body/test_record.h"
#include "kinematics/photo_measure.h"

namespace lintel::app {

struct TestPhotoRequest {
  std::filesystem::path picture;
  std::string protocol;
  body::TestSide side = body::TestSide::Both;
  std::optional<std::filesystem::path> protocols;  // folder of own protocols
  // Those to be used in place of the built-in ones and the folder's; must outlive the call.
  const std::vector<body::TestProtocol>* library = nullptr;
  std::optional<std::filesystem::path> points;  // {"knee": [x, y], ...}: moved by hand
  std::optional<kinematics::KnownLength> known_length;
  std::optional<std::filesystem::path> output;  // folder, made new: picture and JSON
  Overwrite overwrite = Overwrite::No;
  double stature = 1.70;  // [m] how large a centimetre is in the picture
  NetworkVariant variant = NetworkVariant::Full;
  std::optional<std::filesystem::path> models;
  std::optional<int> person;  // 1-based from the left
  int threads = 0;
};

struct TestPhotoOutcome {
  std::string text;  // with the cautions
  std::string json;  // lintel-test-photo-1
};

// The network places the points, those of the file replace them (the originals are kept), the angle
// or distance and its error follow. Where nobody is found every point must come from the file.
// Errors: those of the files, the picture and the networks; Unsupported for a protocol without a
// photo recipe; Invalid for side, points, known length, or a result that cannot be; Conflict when
// the output exists; Cancelled.
Result<TestPhotoOutcome> measure_test_photo(const TestPhotoRequest& request,
                                            const WorkContext& work);

}  // namespace lintel::app
