// The athlete's handout: what to do on Monday, in large type with drawings.
#pragma once

#include <string>

#include "base/result.h"
#include "report/numbers.h"
#include "report/page_frame.h"
#include "view/visit.h"

namespace lintel::report {

struct HandoutOptions {
  Paper paper = Paper::A4;
  UnitSystem units = UnitSystem::Metric;
};

// Week overview with boxes to tick, goals, a card for every drill (drawing, dose, steps, cue words,
// when to move on, cautions), stop rules, re-tests, all cautions, and a square code that holds the
// plan's own text. visit.plan is needed, all else optional. As many pages as it takes. With a
// warning sign no drill with a load is named and no load is given, whatever the plan holds. The
// same input gives the same bytes. Errors: Invalid (no plan; issued_on is no ISO date), Internal.
Result<Pages> render_handout(const view::Visit& visit, const HandoutOptions& options);

}  // namespace lintel::report
