// The practitioner's record of one visit: what was asked, measured, tested, found, decided.
#pragma once

#include "base/result.h"
#include "report/numbers.h"
#include "report/page_frame.h"
#include "view/visit.h"

namespace lintel::report {

struct RecordOptions {
  Paper paper = Paper::A4;
  UnitSystem units = UnitSystem::Metric;
};

// Intake with warning signs, measurement, tests (mean, standard error, pass line, left against
// right), findings with evidence for and against, conflicts, overrulings beside what was computed,
// plan with goals and their probability, load guidance, follow-up, cautions on every page. Two
// pages for a usual visit, more where needed. What was not done is said. visit.athlete is needed.
// With a warning sign no drill with a load is named and no load is given. The same input gives the
// same bytes. Errors: Invalid (no athlete; issued_on is no ISO date), Internal.
Result<Pages> render_record(const view::Visit& visit, const RecordOptions& options);

}  // namespace lintel::report
