#include "report/marks.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lintel::report {

using kinematics::FigurePoint;

namespace {

Point operator+(Point a, Point b) {
  return {a.x + b.x, a.y + b.y};
}
Point operator-(Point a, Point b) {
  return {a.x - b.x, a.y - b.y};
}
Point operator*(Point a, double k) {
  return {a.x * k, a.y * k};
}

Point unit_vector(Point v) {
  const double length = std::hypot(v.x, v.y);
  return length > 1e-9 ? v * (1 / length) : Point{0, -1};
}

// A bar that tapers from `from` to `to`, with square ends.
void tapered_bar(Canvas& canvas, Point from, Point to, double half_from, double half_to) {
  const Point along = unit_vector(to - from);
  const Point across{-along.y, along.x};
  const std::array<Point, 4> corners = {from + across * half_from, to + across * half_to,
                                        to - across * half_to, from - across * half_from};
  canvas.polygon(corners);
}

struct Bar {
  FigurePoint from;
  FigurePoint to;
  double half_from;
  double half_to;
  Color color;
};

// Widths at unit 1. Legs and trunk are the posts, the arms the slimmer posts under the beam.
constexpr std::array<Bar, 6> kBars = {{
    {FigurePoint::Heel, FigurePoint::Toe, 3.2, 2.2, kGranite},
    {FigurePoint::Ankle, FigurePoint::Knee, 3.0, 4.2, kSlate},
    {FigurePoint::Knee, FigurePoint::Hip, 4.2, 5.2, kGranite},
    {FigurePoint::Hip, FigurePoint::Shoulder, 5.2, 4.4, kHarbour},
    {FigurePoint::Shoulder, FigurePoint::Elbow, 3.4, 2.8, kHeather},
    {FigurePoint::Elbow, FigurePoint::Wrist, 2.8, 2.2, kHeather},
}};

struct Joint {
  FigurePoint at;
  FigurePoint towards;
  double half_side;
};
constexpr std::array<Joint, 6> kJoints = {{
    {FigurePoint::Ankle, FigurePoint::Knee, 5.0},
    {FigurePoint::Knee, FigurePoint::Hip, 5.8},
    {FigurePoint::Hip, FigurePoint::Shoulder, 6.6},
    {FigurePoint::Shoulder, FigurePoint::Hip, 5.8},
    {FigurePoint::Elbow, FigurePoint::Shoulder, 4.4},
    {FigurePoint::Wrist, FigurePoint::Elbow, 3.8},
}};

}  // namespace

bool is_known(Point p) {
  // Far outside of any picture counts as unknown: drawing there only costs time.
  return std::isfinite(p.x) && std::isfinite(p.y) && std::abs(p.x) < 1e5 && std::abs(p.y) < 1e5;
}

FigureMarks place_figure(const kinematics::Figure& figure, double facing, double roll,
                         const PictureToCanvas& map) {
  FigureMarks marks;
  for (std::size_t i = 0; i < figure.size(); ++i) {
    marks.point[i] = map(figure[i].x(), figure[i].y());
  }
  marks.facing = facing >= 0 ? 1 : -1;
  if (std::isfinite(roll)) marks.up = {std::sin(roll), -std::cos(roll)};
  return marks;
}

std::optional<DiscMarks> place_disc(const std::optional<kinematics::DiscObservation>& disc,
                                    const PictureToCanvas& map) {
  if (!disc || !(disc->semi_major_px > 0) || !(disc->semi_minor_px > 0)) return std::nullopt;
  return DiscMarks{map(disc->center_px.x(), disc->center_px.y()), disc->semi_major_px * map.scale,
                   disc->semi_minor_px * map.scale, disc->major_axis_angle};
}

void draw_post(Canvas& canvas, Point center, Point along, double half_side, double line_width) {
  const Point u = unit_vector(along) * half_side;
  const Point v{-u.y, u.x};
  const std::array<Point, 4> corners = {center + u + v, center + u - v, center - u - v,
                                        center - u + v};
  canvas.polygon(corners);
  canvas.fill(kPaper);
  canvas.polygon(corners);
  canvas.stroke({kInk, line_width, LineStyle::Solid});
  // The end of a beam shows its heart: a short stroke across.
  canvas.move_to(center - v * 0.5);
  canvas.line_to(center + v * 0.5);
  canvas.stroke({kInk, line_width, LineStyle::Solid});
}

void draw_body(Canvas& canvas, const FigureMarks& figure, double unit) {
  const std::array<Point, 3> foot = {figure[FigurePoint::Heel], figure[FigurePoint::Ankle],
                                     figure[FigurePoint::Toe]};
  if (std::all_of(foot.begin(), foot.end(), is_known)) {
    canvas.polygon(foot);
    canvas.fill(kPaper.with_alpha(0.35));
    canvas.polygon(foot);
    canvas.stroke({kGranite, 1.6 * unit, LineStyle::Solid});
  }
  for (const Bar& bar : kBars) {
    if (!is_known(figure[bar.from]) || !is_known(figure[bar.to])) continue;
    tapered_bar(canvas, figure[bar.from], figure[bar.to], (bar.half_from + 1.6) * unit,
                (bar.half_to + 1.6) * unit);
    canvas.fill(kPaper.with_alpha(0.75));
  }
  for (const Bar& bar : kBars) {
    if (!is_known(figure[bar.from]) || !is_known(figure[bar.to])) continue;
    tapered_bar(canvas, figure[bar.from], figure[bar.to], bar.half_from * unit, bar.half_to * unit);
    canvas.fill(bar.color);
  }
  const Point head = figure[FigurePoint::Head];
  const Point shoulder = figure[FigurePoint::Shoulder];
  if (is_known(head) && is_known(shoulder)) {
    // A hollow eight-sided cap stone, as wide as a head; no face.
    const double radius =
        std::clamp(0.5 * std::hypot(head.x - shoulder.x, head.y - shoulder.y), 8 * unit, 28 * unit);
    std::array<Point, 8> rim;
    for (std::size_t i = 0; i < rim.size(); ++i) {
      const double angle = std::numbers::pi / 4 * (static_cast<double>(i) + 0.5);
      rim[i] = head + Point{radius * std::cos(angle), radius * std::sin(angle)};
    }
    canvas.polygon(rim);
    canvas.stroke({kPaper.with_alpha(0.75), 4.4 * unit, LineStyle::Solid});
    canvas.polygon(rim);
    canvas.stroke({kGranite, 2.2 * unit, LineStyle::Solid});
  }
  for (const Joint& joint : kJoints) {
    if (!is_known(figure[joint.at])) continue;
    const Point towards =
        is_known(figure[joint.towards]) ? figure[joint.towards] - figure[joint.at] : figure.up;
    draw_post(canvas, figure[joint.at], towards, joint.half_side * unit, 1.4 * unit);
  }
}

void draw_disc(Canvas& canvas, const FigureMarks& figure, const std::optional<DiscMarks>& disc,
               double unit) {
  if (disc && is_known(disc->center)) {
    std::array<Point, 72> rim;
    for (std::size_t i = 0; i < rim.size(); ++i) {
      const double t = 2 * std::numbers::pi * static_cast<double>(i) / rim.size();
      const double a = disc->semi_major * std::cos(t);
      const double b = disc->semi_minor * std::sin(t);
      rim[i] = disc->center + Point{a * std::cos(disc->angle) - b * std::sin(disc->angle),
                                    a * std::sin(disc->angle) + b * std::cos(disc->angle)};
    }
    canvas.polygon(rim);
    canvas.stroke({kPaper.with_alpha(0.75), 4.2 * unit, LineStyle::Solid});
    canvas.polygon(rim);
    canvas.stroke({kTimber, 2.4 * unit, LineStyle::Solid});
  }
  const Point bar = figure[FigurePoint::Bar];
  if (!is_known(bar)) return;
  // The lintel itself: a short level beam on the hands.
  const Point level{-figure.up.y, figure.up.x};
  tapered_bar(canvas, bar - level * (15 * unit), bar + level * (15 * unit), 4.6 * unit, 4.6 * unit);
  canvas.fill(kPaper.with_alpha(0.85));
  tapered_bar(canvas, bar - level * (13.5 * unit), bar + level * (13.5 * unit), 3.2 * unit,
              3.2 * unit);
  canvas.fill(kTimber);
}

void draw_plumb_line(Canvas& canvas, Point foot, Point up, double length, double unit) {
  const Point level{-up.y, up.x};
  const double bob = 17 * unit;
  const Point top = foot + up * length;
  const Point neck = foot + up * (bob * 0.85);
  canvas.move_to(top);
  canvas.line_to(neck);
  canvas.stroke({kPaper.with_alpha(0.55), 3.8 * unit, LineStyle::Solid});
  canvas.move_to(top);
  canvas.line_to(neck);
  canvas.stroke({kBrick, 1.9 * unit, LineStyle::Solid});
  const auto outline = [&](double grow) {
    const double half = bob * 0.28 + grow;
    const std::array<Point, 7> corners = {foot + up * -grow,
                                          foot + level * half + up * (bob * 0.5),
                                          foot + level * half + up * (bob * 0.72 + grow),
                                          foot + level * (bob * 0.1 + grow) + up * (bob + grow),
                                          foot - level * (bob * 0.1 + grow) + up * (bob + grow),
                                          foot - level * half + up * (bob * 0.72 + grow),
                                          foot - level * half + up * (bob * 0.5)};
    canvas.polygon(corners);
  };
  outline(1.2 * unit);
  canvas.fill(kPaper.with_alpha(0.85));
  outline(0);
  canvas.fill(kBrick);
}

void draw_house_sign(Canvas& canvas, const Box& box) {
  const double post = box.width * 0.15;
  const double beam = box.height * 0.2;
  canvas.rectangle({box.x + post * 0.5, box.y + beam, post, box.height - beam});
  canvas.rectangle({box.right() - post * 1.5, box.y + beam, post, box.height - beam});
  canvas.fill(kHarbour);
  canvas.rectangle({box.x, box.y, box.width, beam});
  canvas.fill(kTimber);
  draw_plumb_line(canvas, {box.x + box.width / 2, box.bottom()}, {0, -1}, box.height - beam,
                  box.height / 46);
}

namespace {

constexpr std::array<Color, kPatternCount> kPatternColors = {
    kHarbour, kTimber, kSlate, kHeather, kGranite, rgb(0x7E8C3A), rgb(0x4F86B0), rgb(0xA8886A)};

void hatch(Canvas& canvas, const Box& box, double slope, double spacing, const Stroke& stroke) {
  // slope +1 rises to the right, -1 falls, 0 level, 2 upright.
  if (slope == 0) {
    for (double y = box.y + spacing / 2; y < box.bottom(); y += spacing) {
      canvas.move_to({box.x, y});
      canvas.line_to({box.right(), y});
    }
  } else if (slope == 2) {
    for (double x = box.x + spacing / 2; x < box.right(); x += spacing) {
      canvas.move_to({x, box.y});
      canvas.line_to({x, box.bottom()});
    }
  } else {
    const double step = spacing * std::numbers::sqrt2;
    for (double x = box.x - box.height + step / 2; x < box.right(); x += step) {
      canvas.move_to({x, slope > 0 ? box.bottom() : box.y});
      canvas.line_to({x + box.height, slope > 0 ? box.y : box.bottom()});
    }
  }
  canvas.stroke(stroke);
}

}  // namespace

void fill_pattern(Canvas& canvas, const Box& box, int index) {
  if (box.width <= 0 || box.height <= 0) return;
  const std::size_t i = static_cast<std::size_t>(std::max(index, 0)) % kPatternCount;
  const Color color = kPatternColors[i];
  canvas.save();
  canvas.rectangle(box);
  canvas.clip();
  canvas.rectangle(box);
  canvas.fill(i == 0 ? color : color.with_alpha(0.30));
  const Stroke line{color, 1.5, LineStyle::Solid};
  switch (i) {
    case 0:
      break;
    case 1:
      hatch(canvas, box, 1, 4.5, line);
      break;
    case 2:
      hatch(canvas, box, -1, 4.5, line);
      break;
    case 3:
      hatch(canvas, box, 2, 4.0, line);
      break;
    case 4:
      hatch(canvas, box, 0, 4.0, line);
      break;
    case 5:
      hatch(canvas, box, 1, 6, {color, 1, LineStyle::Solid});
      hatch(canvas, box, -1, 6, {color, 1, LineStyle::Solid});
      break;
    case 6:
      hatch(canvas, box, 2, 4.0, {color, 1.6, LineStyle::Dotted});
      break;
    default:
      hatch(canvas, box, 0, 5, {color, 1, LineStyle::Solid});
      hatch(canvas, box, 2, 5, {color, 1, LineStyle::Solid});
  }
  canvas.restore();
  canvas.rectangle(box);
  canvas.stroke({kInk, 0.7, LineStyle::Solid});
}

}  // namespace lintel::report
