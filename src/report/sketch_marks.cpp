#include "report/sketch_marks.h"

#include <algorithm>
#include <numbers>

namespace lintel::report {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr Color kMeasure = rgb(0x6B3F86);  // angles and distances: heather, darker for thin lines
constexpr Color kMove = kSlate;            // arrows
constexpr double kThin = 1.0;              // lines at 7.5 units of text; grow with it
constexpr double kNormalText = 7.5;
constexpr double kLabelPad = 1.6;
constexpr int kArcSteps = 32;

// Those of SketchPoint stay visible beside these of Point.
using report::operator+;
using report::operator-;
using report::operator*;
Point operator+(Point a, Point b) {
  return {a.x + b.x, a.y + b.y};
}
Point operator-(Point a, Point b) {
  return {a.x - b.x, a.y - b.y};
}
Point operator*(Point a, double factor) {
  return {a.x * factor, a.y * factor};
}
// Unit vector on the canvas from a to b; right when they are one.
Point unit(Point a, Point b) {
  const double length = std::hypot(b.x - a.x, b.y - a.y);
  if (length < 1e-9) return {1, 0};
  return {(b.x - a.x) / length, (b.y - a.y) / length};
}

std::vector<SketchPoint> arc_points(const PlacedMark& mark, double radius) {
  std::vector<SketchPoint> points;
  for (int k = 0; k <= kArcSteps; ++k) {
    const double share = static_cast<double>(k) / kArcSteps;
    const double angle = mark.mark.from_angle + share * (mark.mark.to_angle - mark.mark.from_angle);
    points.push_back(mark.at + direction_of(angle) * radius);
  }
  return points;
}

std::vector<Point> on_canvas(const std::vector<SketchPoint>& points, const SketchFrame& frame) {
  std::vector<Point> out;
  out.reserve(points.size());
  for (const SketchPoint& p : points) out.push_back(frame(p));
  return out;
}

void draw_head(Canvas& canvas, Point tip, Point along, double size, Color color) {
  const Point side{-along.y, along.x};
  const Point base = tip - along * size;
  const std::array<Point, 4> head = {tip, base + side * (0.52 * size), base + along * (0.18 * size),
                                     base - side * (0.52 * size)};
  canvas.polygon(head);
  canvas.fill(color);
}

// A line with a rim of paper, so that it reads on dark limbs.
void draw_line(Canvas& canvas, const std::vector<Point>& points, const Stroke& stroke) {
  canvas.polyline(points);
  canvas.stroke({kPaper.with_alpha(0.85), stroke.width + 1.8, LineStyle::Solid});
  canvas.polyline(points);
  canvas.stroke(stroke);
}

void draw_angle(Canvas& canvas, const PlacedMark& m, const SketchFrame& frame, double width) {
  auto sector = on_canvas(arc_points(m, m.mark.radius), frame);
  const std::vector<Point> arc = sector;
  sector.push_back(frame(m.at));
  canvas.polygon(sector);
  canvas.fill(kHeather.with_alpha(0.22));
  const double reach = m.mark.radius * 1.25;
  for (const double angle : {m.mark.from_angle, m.mark.to_angle}) {
    draw_line(canvas, {frame(m.at), frame(m.at + direction_of(angle) * reach)},
              {kMeasure, width, LineStyle::Solid});
  }
  draw_line(canvas, arc, {kMeasure, 1.4 * width, LineStyle::Solid});
}

void draw_distance(Canvas& canvas, const PlacedMark& m, const SketchFrame& frame, double width) {
  const Point a = frame(m.from);
  const Point b = frame(m.to);
  const Point along = unit(a, b);
  const Point tick = Point{-along.y, along.x} * (3.6 * width);
  draw_line(canvas, {a, b}, {kMeasure, 1.2 * width, LineStyle::Solid});
  for (const Point& end : {a, b}) {
    draw_line(canvas, {end - tick, end + tick}, {kMeasure, 1.2 * width, LineStyle::Solid});
  }
}

void draw_arrow(Canvas& canvas, const std::vector<Point>& path, double width) {
  if (path.size() < 2) return;
  const Point tip = path.back();
  const double size = 6.5 * width;
  // The direction over the head's own length, so that a curved arrow ends along its curve.
  std::size_t before = path.size() - 1;
  while (before > 0 && std::hypot(tip.x - path[before].x, tip.y - path[before].y) < size) --before;
  const Point along = unit(path[before], tip);
  std::vector<Point> shaft(path.begin(), path.begin() + static_cast<std::ptrdiff_t>(before) + 1);
  shaft.push_back(tip - along * (0.7 * size));
  canvas.polyline(shaft);
  canvas.stroke({kPaper.with_alpha(0.9), 2.2 * width + 2, LineStyle::Solid});
  draw_head(canvas, tip + along * 1.0, along, size + 2, kPaper.with_alpha(0.9));
  canvas.polyline(shaft);
  canvas.stroke({kMove, 2.2 * width, LineStyle::Solid});
  draw_head(canvas, tip, along, size, kMove);
}

Box moved(const Box& size, Point center) {
  return {center.x - size.width / 2, center.y - size.height / 2, size.width, size.height};
}

// Where the label would like to be, best first.
std::vector<Box> label_places(const PlacedMark& m, const SketchFrame& frame, const Box& size) {
  std::vector<Box> places;
  const auto around = [&](Point center, Point preferred, double gap) {
    // The box just touches a circle of radius `gap` round the centre, in 8 directions.
    const double first = std::atan2(preferred.y, preferred.x);
    for (const double turn : {0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75, 1.0}) {
      const double a = first + turn * kPi;
      const Point d{std::cos(a), std::sin(a)};
      const double reach = gap + 0.5 * (std::abs(d.x) * size.width + std::abs(d.y) * size.height);
      places.push_back(moved(size, center + d * reach));
    }
  };
  switch (m.mark.kind) {
    case SketchMarkKind::Angle:
    case SketchMarkKind::Turn: {
      const double middle = 0.5 * (m.mark.from_angle + m.mark.to_angle);
      const SketchPoint d = direction_of(middle);
      const Point out{d.x, -d.y};
      for (const double r : {1.0, 1.3, 1.7}) {
        const double reach = frame.scale * m.mark.radius * r + 2 +
                             0.5 * (std::abs(out.x) * size.width + std::abs(out.y) * size.height);
        places.push_back(moved(size, frame(m.at) + out * reach));
      }
      around(frame(m.at), out, frame.scale * m.mark.radius + 2);
      break;
    }
    case SketchMarkKind::Distance:
    case SketchMarkKind::Arrow:
    case SketchMarkKind::Line: {
      const Point a = frame(m.from);
      const Point b = frame(m.to);
      const Point along = unit(a, b);
      // Above a level line, right of an upright one.
      Point side{along.y, -along.x};
      if (side.y > 0.3 || (std::abs(side.y) <= 0.3 && side.x < 0)) side = side * -1;
      for (const double share : {0.5, 0.3, 0.7, 0.0, 1.0}) {
        const Point p = a + (b - a) * share;
        const double reach =
            4 + 0.5 * (std::abs(side.x) * size.width + std::abs(side.y) * size.height);
        places.push_back(moved(size, p + side * reach));
        places.push_back(moved(size, p - side * reach));
      }
      break;
    }
    case SketchMarkKind::Text:
      places.push_back(moved(size, frame(m.at)));
      around(frame(m.at), {0, -1}, 4);
      break;
    case SketchMarkKind::Pad:
      around(frame(m.at), {1, -0.4}, 6);
      break;
  }
  return places;
}

double overlap(const Box& a, const Box& b) {
  const double w = std::min(a.right(), b.right()) - std::max(a.x, b.x);
  const double h = std::min(a.bottom(), b.bottom()) - std::max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0;
}

// What a label had better not cover: the figure, most of all its head and hands.
double cover_cost(const Box& box, const SketchPose* pose, const SketchFrame& frame) {
  if (pose == nullptr) return 0;
  using J = SketchJoint;
  static constexpr std::array<std::array<J, 2>, 7> kBones = {{{J::Pelvis, J::Neck},
                                                              {J::Shoulder, J::Elbow},
                                                              {J::Elbow, J::Hand},
                                                              {J::Hip, J::Knee},
                                                              {J::Knee, J::Ankle},
                                                              {J::Heel, J::Toe},
                                                              {J::Neck, J::Crown}}};
  constexpr int kSamples = 5;
  double cost = 0;
  for (const auto& bone : kBones) {
    for (std::size_t side = 0; side < 2; ++side) {
      for (int k = 0; k <= kSamples; ++k) {
        const double share = static_cast<double>(k) / kSamples;
        const SketchPoint p =
            pose->at(bone[0], side) * (1 - share) + pose->at(bone[1], side) * share;
        const double reach = 0.055 * frame.scale;
        cost += 0.3 * overlap(box, moved({0, 0, 2 * reach, 2 * reach}, frame(p)));
      }
    }
  }
  for (const J joint : {J::Head, J::Hand}) {
    for (std::size_t side = 0; side < 2; ++side) {
      const double reach = 0.08 * frame.scale;
      cost += overlap(box, moved({0, 0, 2 * reach, 2 * reach}, frame(pose->at(joint, side))));
    }
  }
  return cost;
}

TextStyle label_style(double size) {
  return {size, Weight::Bold, kInk, Align::Left, 0, 0, 0};
}

}  // namespace

std::vector<PlacedMark> place_marks(const SketchPanel& panel, const SketchPose* pose) {
  std::vector<PlacedMark> marks;
  for (const SketchMark& mark : panel.marks) {
    marks.push_back(
        {mark, resolve(mark.at, pose), resolve(mark.from, pose), resolve(mark.to, pose)});
  }
  return marks;
}

void add_extent(const PlacedMark& m, SketchExtent& extent) {
  switch (m.mark.kind) {
    case SketchMarkKind::Angle:
      extent.add(arc_points(m, m.mark.radius));
      extent.add(m.at);
      for (const double angle : {m.mark.from_angle, m.mark.to_angle}) {
        extent.add(m.at + direction_of(angle) * (1.25 * m.mark.radius));
      }
      break;
    case SketchMarkKind::Turn:
      extent.add(arc_points(m, m.mark.radius));
      break;
    case SketchMarkKind::Distance:
    case SketchMarkKind::Arrow:
    case SketchMarkKind::Line:
      extent.add(m.from);
      extent.add(m.to);
      break;
    case SketchMarkKind::Text:
    case SketchMarkKind::Pad:
      extent.add(m.at);
      break;
  }
}

void draw_mark(Canvas& canvas, const PlacedMark& m, const SketchFrame& frame, double text_size) {
  const double width = kThin * std::max(text_size / kNormalText, 0.4);
  switch (m.mark.kind) {
    case SketchMarkKind::Angle:
      return draw_angle(canvas, m, frame, width);
    case SketchMarkKind::Distance:
      return draw_distance(canvas, m, frame, width);
    case SketchMarkKind::Arrow:
      return draw_arrow(canvas, {frame(m.from), frame(m.to)}, width);
    case SketchMarkKind::Turn:
      return draw_arrow(canvas, on_canvas(arc_points(m, m.mark.radius), frame), width);
    case SketchMarkKind::Line:
      return draw_line(
          canvas, {frame(m.from), frame(m.to)},
          {kMeasure, 1.2 * width, m.mark.dashed ? LineStyle::Dashed : LineStyle::Solid});
    case SketchMarkKind::Pad:
      for (const double r : {4.4, 2.0}) {
        canvas.move_to(frame(m.at) + Point{r * width, 0});
        canvas.arc(frame(m.at), r * width, 0, 2 * kPi);
        r > 3 ? canvas.stroke({kMove, 1.3 * width, LineStyle::Solid}) : canvas.fill(kMove);
      }
      return;
    case SketchMarkKind::Text:
      return;
  }
}

std::vector<SketchLabel> place_labels(Canvas& canvas, const std::vector<PlacedMark>& marks,
                                      const SketchPanel& panel, const SketchPose* pose,
                                      const SketchFrame& frame, double text_size) {
  std::vector<SketchLabel> labels;
  const auto place = [&](const PlacedMark& mark, const std::string& text) {
    if (text.empty()) return;
    const Box measured = canvas.measure(text, label_style(text_size));
    const Box size{0, 0, measured.width + 2 * kLabelPad, measured.height + 0.5 * kLabelPad};
    Box best;
    double best_cost = 0;
    bool first = true;
    double order = 0;
    for (const Box& candidate : label_places(mark, frame, size)) {
      double cost = order + 0.35 * cover_cost(candidate, pose, frame);
      for (const SketchLabel& other : labels) cost += 1000 * overlap(candidate, other.box);
      order += 0.04 * size.width * size.height;
      if (first || cost < best_cost) {
        best = candidate;
        best_cost = cost;
      }
      first = false;
    }
    labels.push_back({text, best});
  };
  for (const PlacedMark& mark : marks) place(mark, mark.mark.label);
  for (const SketchProp& prop : panel.props) {
    if (prop.label.empty()) continue;
    PlacedMark mark;
    const SketchPoint at = resolve(prop.at, pose);
    mark.at = at + SketchPoint{prop.width / 2, prop.height / 2};
    if (prop.from && prop.to) {
      mark.mark.kind = SketchMarkKind::Distance;
      mark.from = resolve(*prop.from, pose);
      mark.to = resolve(*prop.to, pose);
    }
    place(mark, prop.label);
  }
  return labels;
}

void draw_label(Canvas& canvas, const SketchLabel& label, double text_size) {
  canvas.rectangle(label.box, 2);
  canvas.fill(kPaper.with_alpha(0.88));
  canvas.text({label.box.x + kLabelPad, label.box.y + 0.25 * kLabelPad}, label.text,
              label_style(text_size));
}

}  // namespace lintel::report
