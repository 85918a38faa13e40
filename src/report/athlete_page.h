// One page for the athlete: what was seen, what explains it, what to try next.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "kinematics/observation.h"
#include "report/canvas.h"
#include "report/numbers.h"
#include "report/page_frame.h"
#include "view/assessment.h"

namespace lintel::report {

struct AthletePageOptions {
  Paper paper = Paper::A4;
  UnitSystem units = UnitSystem::Metric;
  // The clean picture of the bottom of a repetition, with the index of its frame into
  // Measurement::time; null or empty = a drawing of the figure alone.
  const Image* bottom_picture = nullptr;
  std::size_t bottom_index = 0;
  std::optional<kinematics::DiscObservation> disc;
};

struct AthletePage {
  std::string pdf;              // the file's bytes, always one page
  std::vector<Box> text_boxes;  // [pt], everything written, for checks
};

// Fits for any name, number of repetitions and remarks: what does not fit is cut with an ellipsis
// or counted ("and 3 more in the file"). The same input gives the same bytes.
// Errors: Invalid when assessed_on is not an ISO date; Internal from the drawing library.
Result<AthletePage> render_athlete_page(const view::Assessment& assessment,
                                        const AthletePageOptions& options);

}  // namespace lintel::report
