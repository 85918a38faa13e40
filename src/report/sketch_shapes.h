// Shapes of a drawing in the picture frame [m], from the back to the front. Body, props and the
// parts of marks that scale with the picture; lettering comes later (report/sketch.cpp).
#pragma once

#include <vector>

#include "base/sketch.h"
#include "report/canvas.h"
#include "report/sketch_pose.h"

namespace lintel::report {

struct SketchShape {
  std::vector<SketchPoint> points;
  Color fill = kPaper.with_alpha(0);  // alpha 0 = not filled
  Color line = kInk;
  double line_width = 0;  // [m]; 0 = no line
  LineStyle style = LineStyle::Solid;
  bool closed = true;
};

// What is drawn together: first a rim of paper round every shape of `rim`, so that the group stands
// off from what is behind it, then the shapes.
struct SketchGroup {
  std::vector<std::vector<SketchPoint>> rim;
  std::vector<SketchShape> shapes;
};

// Closed curve through the points.
std::vector<SketchPoint> smooth_outline(const std::vector<SketchPoint>& points);
std::vector<SketchPoint> circle_outline(SketchPoint center, double radius);

// Back to front: far limbs, trunk with head, near limbs; by `behind` and `before` otherwise.
std::vector<SketchGroup> body_groups(const SketchFigure& figure, SketchView view,
                                     const SketchPose& pose);

struct PropGroups {
  SketchGroup behind;  // behind the figures
  SketchGroup before;  // before them: what is held, tapes, bands
};
// What floors and walls stretch to [m].
struct SketchExtent {
  double left = 0, right = 0, bottom = 0, top = 0;
  bool empty = true;

  void add(SketchPoint p);
  void add(const std::vector<SketchPoint>& points);
};
// All but floors and walls; they come from ground_group, which needs the extent of all the rest.
PropGroups prop_groups(const SketchPanel& panel, const SketchPose* pose);
SketchGroup ground_group(const SketchPanel& panel, const SketchExtent& rest);

}  // namespace lintel::report
