// Parts of the practitioner's record. Inside this module; the letter uses some of the words.
#pragma once

#include <string>

#include "report/numbers.h"
#include "report/page_frame.h"
#include "view/visit.h"

namespace lintel::report::record {

inline constexpr double kHeading = 10.5;

TextStyle plain();
TextStyle strong();
TextStyle quiet();

void draw_intake(PageFlow& flow, const view::Visit& visit, UnitSystem units);
void draw_measurement(PageFlow& flow, const view::Visit& visit, UnitSystem units);
void draw_tests(PageFlow& flow, const view::Visit& visit, UnitSystem units);
void draw_findings(PageFlow& flow, const view::Visit& visit);
void draw_next(PageFlow& flow, const view::Visit& visit);  // tests and setups worth doing
void draw_plan(PageFlow& flow, const view::Visit& visit, UnitSystem units);
void draw_loads(PageFlow& flow, const view::Visit& visit, UnitSystem units);
void draw_follow_up(PageFlow& flow, const view::Visit& visit, UnitSystem units);

// "8.4° (5° to 12°)".
std::string size_text(const reasoning::Size& size);
// "likely, 84 %".
std::string certainty_text(const reasoning::Finding& finding);
// "Rejected by I. Strandvik on 26 November 2026: reason".
std::string overruling_text(const reasoning::Overruling& overruling);
// "passes", "short of it", with "within the error" where the number does not settle it.
std::string pass_text(const body::PassCheck& pass);
// "left 7.1 ± 0.8 cm, line 8.0 cm: short of it, within the error".
std::string outcome_text(const body::TestOutcome& outcome, UnitSystem units);

}  // namespace lintel::report::record
