// Draws a Sketch: jointed figures, props, angle and distance marks, captions.
#pragma once

#include <string>

#include "base/result.h"
#include "base/sketch.h"
#include "report/canvas.h"

namespace lintel::report {

enum class SketchCaptions : std::uint8_t { Show, Hide };

struct SketchStyle {
  double text_size = 7.5;   // of captions and labels, in canvas units
  double most_scale = 110;  // canvas units a metre; larger figures look coarse
  SketchCaptions captions = SketchCaptions::Show;
};

// Draws all panels to one scale into `box`, side by side or in rows, whichever gives the larger
// figures; everything stays inside of the box, whatever the drawing (labels first, then captions,
// are left out when the box is too small for them). Returns what it covers: centred across the box,
// from its top. An empty sketch covers nothing.
Box draw_sketch(Canvas& canvas, const Box& box, const Sketch& sketch, const SketchStyle& style);

// The height that draw_sketch covers in a box of this size.
double sketch_height(Canvas& canvas, double width, double most_height, const Sketch& sketch,
                     const SketchStyle& style);

// SVG bytes, with title and description for those who cannot see it. Errors: Invalid (an empty
// sketch), Internal of the drawing library.
Result<std::string> draw_sketch_svg(const std::string& title, const Sketch& sketch);

}  // namespace lintel::report
