// Marks of a drawing: angles, distances, arrows, lettering. Their lines keep their thickness in
// canvas units whatever the picture's scale.
#pragma once

#include <string>
#include <vector>

#include "report/canvas.h"
#include "report/sketch_pose.h"
#include "report/sketch_shapes.h"

namespace lintel::report {

// From the picture frame to the canvas.
struct SketchFrame {
  Point origin;      // of the picture frame, on the canvas
  double scale = 1;  // canvas units a metre

  Point operator()(SketchPoint p) const { return {origin.x + scale * p.x, origin.y - scale * p.y}; }
};

// A mark with its places found.
struct PlacedMark {
  SketchMark mark;
  SketchPoint at, from, to;
};
std::vector<PlacedMark> place_marks(const SketchPanel& panel, const SketchPose* pose);
// What the lines of the mark cover [m].
void add_extent(const PlacedMark& mark, SketchExtent& extent);

void draw_mark(Canvas& canvas, const PlacedMark& mark, const SketchFrame& frame, double text_size);

// Lettering with the box it takes; boxes of one panel do not overlap as far as space allows.
struct SketchLabel {
  std::string text;
  Box box;
};
std::vector<SketchLabel> place_labels(Canvas& canvas, const std::vector<PlacedMark>& marks,
                                      const SketchPanel& panel, const SketchPose* pose,
                                      const SketchFrame& frame, double text_size);
void draw_label(Canvas& canvas, const SketchLabel& label, double text_size);

}  // namespace lintel::report
