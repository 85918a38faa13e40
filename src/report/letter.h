// A plain letter to a colleague: why, what was measured, what was found, what is planned, what is
// asked for.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "report/numbers.h"
#include "report/page_frame.h"
#include "view/visit.h"

namespace lintel::report {

struct LetterOptions {
  Paper paper = Paper::A4;
  UnitSystem units = UnitSystem::Metric;
  std::vector<std::string> sender;     // a line each: name, profession, address, telephone
  std::vector<std::string> recipient;  // the same
  std::string subject;                 // empty: "Overhead squat of <athlete>"
  std::string salutation;              // empty: "Dear colleague,"
  std::string reason;   // why the athlete came; empty: one sentence from what is known
  std::string request;  // what is asked of the recipient; empty: by the warning signs
  std::string closing;  // empty: "With kind regards"
};

// One page if it fits, more where needed; never cut. visit.athlete is needed, all else optional:
// what was not done is not mentioned. Overruled findings appear with both words. With a warning
// sign the referral stands first and no drill with a load is named. The same input gives the same
// bytes. Errors: Invalid (no athlete; issued_on is no ISO date), Internal.
Result<Pages> render_letter(const view::Visit& visit, const LetterOptions& options);

}  // namespace lintel::report
