// Parts of the handout: the week, the log to tick, the card of one drill. Inside this module.
#pragma once

#include <span>

#include "report/page_frame.h"
#include "report/plan_pages.h"

namespace lintel::report::handout {

inline constexpr double kHeading = 14;

inline TextStyle body(double size) {
  return {size, Weight::Regular, kInk, Align::Left, 0, 0, 0.6};
}
inline TextStyle bold(double size) {
  return {size, Weight::Bold, kInk, Align::Left, 0, 0, 0.4};
}

// Drills against the days of the week.
void draw_week(PageFlow& flow, const plan::Plan& plan, std::span<const ShownDrill> drills);
// A box to tick for every session of every week; easy weeks marked.
void draw_week_log(PageFlow& flow, const plan::Plan& plan, std::span<const ShownDrill> drills);
void draw_drill(PageFlow& flow, const plan::Plan& plan, const ShownDrill& shown, UnitSystem units);

}  // namespace lintel::report::handout
