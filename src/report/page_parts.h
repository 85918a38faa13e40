// The parts of the athlete's page; each draws inside of its box and nowhere else.
#pragma once

#include <cmath>
#include <string>

#include "report/canvas.h"
#include "report/numbers.h"
#include "view/assessment.h"

namespace lintel::report {

TextStyle heading_style(double width);
TextStyle body_style(double width, int max_lines);

// "25 November 2026" from an ISO date; the text itself if it is none.
std::string long_date(std::string_view iso);

// Draws as many lines as fit into `box` and returns the y below them.
double flow_text(Canvas& canvas, const Box& box, std::string_view text, TextStyle style);

// Mean at the bottom over the completed repetitions, with the typical error of one: they come from
// one camera and one body and go together. count 0: the value is NaN.
struct BottomMean {
  Estimate estimate{std::nan(""), std::nan("")};
  int count = 0;
};
BottomMean mean_at_bottom(const kinematics::Measurement* measurement, kinematics::Channel channel);

// The three numbers in plain words.
void draw_key_numbers(Canvas& canvas, const Box& box, const view::Assessment& assessment,
                      UnitSystem units);
// The measured lean as a beam split into patterned parts, or why it cannot be split.
void draw_explanation(Canvas& canvas, const Box& box, const view::Assessment& assessment);
void draw_next_steps(Canvas& canvas, const Box& box, const view::Assessment& assessment);
void draw_repetition_table(Canvas& canvas, const Box& box, const view::Assessment& assessment,
                           UnitSystem units);
// Height that the remarks about the film take, at most `most`.
double film_remarks_height(Canvas& canvas, double width, const view::Assessment& assessment,
                           double most);
void draw_film_remarks(Canvas& canvas, const Box& box, const view::Assessment& assessment);
// All cautions in two columns, in this size of type.
inline constexpr double kCautionSize = 7.0;
double cautions_height(Canvas& canvas, double width, double size = kCautionSize);
void draw_cautions(Canvas& canvas, const Box& box, double size = kCautionSize);

}  // namespace lintel::report
