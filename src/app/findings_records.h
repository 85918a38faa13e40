// Findings of a visit, out of its records.
#pragma once

#include <string>
#include <string_view>

#include "app/findings_use_case.h"
#include "app/record_access.h"
#include "app/visit_material.h"
#include "base/progress.h"

namespace lintel::app {

struct VisitFindingsRequest {
  std::string trial;  // empty = the newest measured side view
  int draws = 10000;
};
// "lintel-findings-1" with "explanation", "figures", "best_change", "trial" and "tests". Computed
// once for the same tests and clip; the practitioner's word goes in each time. Errors: those of
// access, of gather_visit and compute_findings.
Result<std::string> findings_of_visit(Practice& practice, const Caller& caller,
                                      std::string_view visit, const VisitFindingsRequest& request,
                                      const WorkContext& work);

// The findings of what was gathered (material.tested and what was seen), from memory where the same
// was computed before.
Result<AthleteFindings> remembered_findings(const VisitMaterial& material,
                                            const FindingsOptions& options,
                                            const WorkContext& work);

}  // namespace lintel::app
