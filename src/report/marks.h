// The marks of the house look: posts and beams for the body, a plumb line with its bob.
// All positions in canvas units; `unit` scales thicknesses (1 = for a picture 540 units wide).
#pragma once

#include <array>
#include <optional>
#include <span>

#include "kinematics/measurement.h"
#include "report/canvas.h"

namespace lintel::report {

// A figure moved to the canvas. Unknown points are NaN and what hangs on them is not drawn.
struct FigureMarks {
  std::array<Point, kinematics::kFigurePointCount> point;
  double facing = 1;   // +1: looks right
  Point up = {0, -1};  // direction of the true vertical, length 1

  const Point& operator[](kinematics::FigurePoint p) const {
    return point[static_cast<std::size_t>(p)];
  }
  Point& operator[](kinematics::FigurePoint p) { return point[static_cast<std::size_t>(p)]; }
};

// The disc as an ellipse on the canvas.
struct DiscMarks {
  Point center;
  double semi_major = 0;
  double semi_minor = 0;
  double angle = 0;  // [rad] of the major axis from x towards y
};

// From pixels to the canvas: canvas = (picture - origin) * scale + target.
struct PictureToCanvas {
  Point origin;
  double scale = 1;
  Point target;

  Point operator()(double x_px, double y_px) const {
    return {(x_px - origin.x) * scale + target.x, (y_px - origin.y) * scale + target.y};
  }
};

bool is_known(Point p);

// roll [rad]: the true vertical appears turned clockwise in the picture by this much.
FigureMarks place_figure(const kinematics::Figure& figure, double facing, double roll,
                         const PictureToCanvas& map);
std::optional<DiscMarks> place_disc(const std::optional<kinematics::DiscObservation>& disc,
                                    const PictureToCanvas& map);

void draw_body(Canvas& canvas, const FigureMarks& figure, double unit);
void draw_disc(Canvas& canvas, const FigureMarks& figure, const std::optional<DiscMarks>& disc,
               double unit);
// A thin line from `foot` along `up` over `length`, the bob's tip on `foot`.
void draw_plumb_line(Canvas& canvas, Point foot, Point up, double length, double unit);
// A square post's end, turned along `along`.
void draw_post(Canvas& canvas, Point center, Point along, double half_side, double line_width);
// The sign of the house: two posts, a beam, the plumb line between them.
void draw_house_sign(Canvas& canvas, const Box& box);

// Fills `box` with a pattern; index 0.. picks colour and pattern so that neighbours differ in both.
void fill_pattern(Canvas& canvas, const Box& box, int index);
inline constexpr int kPatternCount = 8;

}  // namespace lintel::report
