#include "app/posture_text.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <vector>

#include "app/explain_view.h"
#include "app/text_blocks.h"
#include "base/text.h"
#include "reasoning/what_if_errors.h"

namespace lintel::app {
namespace {

using reasoning::Factor;
using reasoning::WhatIf;

double degrees(double radians) {
  return radians * kDegreesPerRadian;
}
// To be printed without and with one decimal; no "-0".
double rounded(double value) {
  return std::round(value) + 0.0;
}
double tenths(double value) {
  return std::round(10.0 * value) / 10.0 + 0.0;
}

std::string row_text(const WhatIf& row) {
  std::string out = text("  %+5.1f deg lean", tenths(degrees(row.trunk_change)));
  out += row.trunk_change_error > 0.0 ? text(" +/- %3.1f", degrees(row.trunk_change_error))
                                      : std::string(8, ' ');
  out += text("  %+4.0f deg shoulder", rounded(degrees(row.shoulder_change)));
  out += row.depth_gained ? text("  %+3.0f cm deeper", rounded(100.0 * *row.depth_gained))
                          : std::string("   depth not known");
  std::string words = describe_changes(row.changes);
  if (!reasoning::is_distinguishable(row.trunk_change, row.trunk_change_error)) {
    words += " (not distinguishable)";
  }
  return wrapped(words, out + "  ", std::string(10, ' '));
}

std::string costs_text(const std::vector<const WhatIf*>& rows) {
  std::vector<reasoning::Cost> seen;
  std::string out;
  for (const WhatIf* row : rows) {
    for (const reasoning::Cost cost : row->costs) {
      if (std::find(seen.begin(), seen.end(), cost) != seen.end()) continue;
      seen.push_back(cost);
    }
  }
  for (const reasoning::Cost cost : seen) {
    std::string levers;
    for (const WhatIf* row : rows) {
      if (row->changes.size() != 1) continue;
      if (std::find(row->costs.begin(), row->costs.end(), cost) == row->costs.end()) continue;
      levers += (levers.empty() ? "" : ", ") +
                std::string(reasoning::lever_label(row->changes.front().lever));
    }
    out += wrapped(
        std::string(reasoning::cost_sentence(cost)) + (levers.empty() ? "" : " (" + levers + ")"),
        "  - ", "    ");
  }
  return out;
}

std::string table_text(const reasoning::WhatIfTable& table) {
  std::string out = "One change at a time, most upright posture (negative = more upright)\n";
  std::vector<const WhatIf*> rows;
  for (const WhatIf& row : table.single) {
    out += row_text(row);
    rows.push_back(&row);
  }
  if (table.best_pair) out += "Best two together\n" + row_text(*table.best_pair);
  if (table.best_triple) out += "Best three together\n" + row_text(*table.best_triple);
  if (!table.best_setup.changes.empty()) {
    out += "Best setup within what may be changed\n" + row_text(table.best_setup);
  }
  return out + "What it costs\n" + costs_text(rows);
}

void add_parts(const reasoning::ExplainResult& r, std::string& out) {
  const view::Explanation shown = to_view(r);
  if (shown.parts.empty()) return;
  out += text(
      "Parts of the %.0f deg between it and the reference (%.0f deg: same skeleton, reference "
      "mobility,\nbest setup)\n",
      degrees(r.shares.whole), degrees(r.shares.reference));
  for (const view::ExplanationPart& part : shown.parts) {
    out +=
        text("  %-24s %+6.1f deg   95 %%: %+5.1f to %+5.1f   largest with probability %3.0f %%\n",
             part.label.c_str(), tenths(degrees(part.share)), tenths(degrees(part.low)),
             tenths(degrees(part.high)), 100.0 * part.probability_largest);
  }
}

}  // namespace

std::string explanation_text(const reasoning::ExplainResult& r, const std::string& name) {
  std::string out = name + ": what explains the lean\n";
  const reasoning::Spread& upright = r.uncertainty.most_upright;
  if (r.observed) {
    out += text("Trunk seen at the bottom     %4.0f deg +/- %.0f\n", degrees(r.observed->value),
                degrees(r.observed->standard_error));
  }
  out += text("Most upright today           %4.0f deg   95 %%: %.0f to %.0f\n",
              degrees(r.shares.most_upright), degrees(upright.low), degrees(upright.high));
  add_parts(r, out);
  if (!r.cannot_tell.empty()) out += wrapped(r.cannot_tell, "", "");
  for (const std::string& sentence : r.sentences) out += wrapped(sentence, "- ", "  ");
  const view::Explanation shown = to_view(r);
  if (!shown.next_steps.empty()) out += "What to try\n";
  for (const view::NextStep& step : shown.next_steps) {
    std::string line = step.title;
    if (step.less_lean) {
      line += text(" (%.0f deg less lean +/- %.0f)", degrees(step.less_lean->value),
                   degrees(step.less_lean->standard_error));
    }
    out += wrapped(line + (step.detail.empty() ? "" : ". " + step.detail), "  - ", "    ");
  }
  return out + cautions_block();
}

std::string what_if_text(const reasoning::WhatIfTable& table, const std::string& name) {
  std::string out = name + ": what each change would buy\n";
  out += text(
      "Most upright today: trunk %.0f deg +/- %.0f; the arms need %.0f deg against the upper back",
      degrees(table.trunk_inclination), degrees(table.trunk_inclination_error),
      degrees(table.shoulder_elevation));
  out += table.deepest ? text("; deepest: hip %.0f cm %s the knee\n",
                              std::abs(rounded(100.0 * *table.deepest)),
                              *table.deepest >= 0.0 ? "below" : "above")
                       : std::string(".\n");
  return out + table_text(table) + cautions_block();
}

std::string grip_text(const reasoning::GripAdvice& g, const body::Setup& today,
                      const std::string& name) {
  const auto cm = [](double metres) { return 100.0 * metres; };
  std::string out = name + ": where to hold the bar (between the index knuckles)\n";
  out += text("Recommended                  %4.0f cm   today %.0f cm\n", cm(g.recommended),
              cm(today.grip_width));
  out += wrapped(std::string(reasoning::grip_reason_sentence(g.reason)), "  ", "  ");
  out += text("Bar in the hip crease        %4.0f cm +/- %.0f   (standing, straight arms)\n",
              cm(g.hip_crease.value), cm(g.hip_crease.standard_error));
  out += wrapped(text("Not narrower than           %4.0f cm: ", cm(g.bounds.low)) +
                     std::string(reasoning::grip_bound_sentence(g.narrow_because)),
                 "", "  ");
  out += wrapped(text("Not wider than              %4.0f cm: ", cm(g.bounds.high)) +
                     std::string(reasoning::grip_bound_sentence(g.wide_because)),
                 "", "  ");
  out += text("Pass-through overhead to behind: %s at the recommended width, %s today\n",
              g.pass_through ? "yes" : "no", g.pass_through_today ? "yes" : "no");
  out += text("Shoulder in reserve          %4.0f deg at the recommended width, %.0f deg today\n",
              rounded(degrees(g.reserve_at_recommended)), rounded(degrees(g.reserve_at_today)));
  out += text(
      "At today's bottom the lean asks for %.0f deg; %.0f deg are there at the recommended width\n",
      degrees(g.bottom_elevation), degrees(g.bottom_elevation + g.bottom_reserve));
  if (g.leaves_hip_crease) {
    out += wrapped(
        "In the snatch the bar leaves the hip crease at this width: expect it to meet the "
        "thigh or the belly instead, and check the pull before changing.",
        "  ", "  ");
  }
  out += wrapped(
      "Check with the pipe: lift one thigh level, lay the pipe in the fold of the hip with "
      "straight arms; the hands should come to within 2 cm of the hip-crease width. Then "
      "take it from overhead to behind and back, slowly.",
      "  ", "  ");
  return out + cautions_block();
}

}  // namespace lintel::app
