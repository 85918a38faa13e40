// assessment.json back into what pages, findings and exports need of it.
#pragma once

#include <optional>
#include <string_view>

#include "base/result.h"
#include "view/assessment.h"

namespace lintel::formats {

// Who, when, which clip and setup, and of a side view: camera, repetitions with start, bottom and
// change of every channel, consistency, remarks. Curves are in curves.csv and stay empty here, so
// `time` and `frame_index` hold only the frames that repetitions name; of a front view all its
// numbers. The explanation is not read.
struct StoredAssessment {
  view::Assessment facts;  // side, front: null
  std::optional<kinematics::Measurement> side;
  std::optional<kinematics::FrontMeasurement> front_view;

  // The facts with `side` set; valid as long as this object stays where it is.
  view::Assessment view() const;
};

// Unknown keys are passed over (a newer program may have written it); SI and radians; numbers that
// the file has as null are NaN. Errors: Invalid with line, column and field when the text is not an
// assessment ("lintel-assessment-1") or a value is of the wrong kind; Limit above 16 MiB.
Result<StoredAssessment> read_assessment_json(std::string_view text, std::string_view file_name);

}  // namespace lintel::formats
