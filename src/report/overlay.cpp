#include "report/overlay.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/cautions.h"
#include "report/numbers.h"

namespace lintel::report {

using kinematics::Channel;
using kinematics::FigurePoint;

namespace {

constexpr std::size_t kLabels = 4;
constexpr double kHalfTurn = std::numbers::pi;

// One angle: an arc at a joint from one direction to another, and its words.
struct AngleMark {
  Point at;
  double from = 0;  // [rad] on the canvas, x towards y
  double sweep = 0;
  double radius = 0;
  Color color;
  LineStyle style = LineStyle::Solid;
  std::string text;
  double away = 0;  // [rad] the direction in which the words are first tried
};

double direction(Point from, Point to) {
  return std::atan2(to.y - from.y, to.x - from.x);
}

double shortest_turn(double from, double to) {
  return std::remainder(to - from, 2 * kHalfTurn);
}

double distance(Point a, Point b) {
  return std::hypot(a.x - b.x, a.y - b.y);
}

std::optional<AngleMark> angle_mark(const std::optional<Estimate>& angle, const char* name,
                                    Point at, double from, Point to, double radius, Color color,
                                    double away) {
  if (!angle || !std::isfinite(angle->value) || !is_known(at) || !is_known(to)) return {};
  if (!std::isfinite(from)) return {};
  return AngleMark{at,
                   from,
                   shortest_turn(from, direction(at, to)),
                   radius,
                   color,
                   LineStyle::Solid,
                   std::string(name) + " " + degrees_text(*angle),
                   away};
}

std::array<std::optional<AngleMark>, kLabels> angle_marks(const OverlayFrame& frame,
                                                          const FigureMarks& figure) {
  const Point hip = figure[FigurePoint::Hip];
  const Point knee = figure[FigurePoint::Knee];
  const Point ankle = figure[FigurePoint::Ankle];
  const Point shoulder = figure[FigurePoint::Shoulder];
  const double up = std::atan2(figure.up.y, figure.up.x);
  const double front = figure.facing > 0 ? 0 : kHalfTurn;
  const double back = kHalfTurn - front;
  std::array<std::optional<AngleMark>, kLabels> marks;
  marks[0] = angle_mark(frame.trunk_inclination, "Trunk", hip, up, shoulder,
                        0.42 * distance(hip, shoulder), kHarbour, back);
  marks[1] = angle_mark(frame.shank_inclination, "Shank", ankle, up, knee,
                        0.55 * distance(ankle, knee), kSlate, back);
  // Knee flexion is the turn of the thigh away from the line of the shank.
  marks[2] = angle_mark(frame.knee_flexion, "Knee", knee, direction(ankle, knee), hip,
                        0.30 * distance(knee, hip), kGranite, front);
  const Point hand =
      is_known(figure[FigurePoint::Bar]) ? figure[FigurePoint::Bar] : figure[FigurePoint::Wrist];
  marks[3] = angle_mark(frame.shoulder_elevation, "Shoulder", shoulder, direction(shoulder, hip),
                        hand, 0.22 * distance(hip, shoulder), kHeather, front);
  // The arm is raised through the front, so its arc goes there even beyond half a turn.
  if (marks[3] && figure.facing > 0 && marks[3]->sweep > 0) marks[3]->sweep -= 2 * kHalfTurn;
  if (marks[3] && figure.facing < 0 && marks[3]->sweep < 0) marks[3]->sweep += 2 * kHalfTurn;
  return marks;
}

void draw_arc(Canvas& canvas, const AngleMark& mark, double unit) {
  const auto path = [&] { canvas.arc(mark.at, mark.radius, mark.from, mark.from + mark.sweep); };
  path();
  canvas.stroke({kPaper.with_alpha(0.75), 4.4 * unit, LineStyle::Solid});
  path();
  canvas.stroke({mark.color, 2.2 * unit, LineStyle::Solid});
  // The line that the angle is measured from.
  const Point end{mark.at.x + mark.radius * 1.12 * std::cos(mark.from),
                  mark.at.y + mark.radius * 1.12 * std::sin(mark.from)};
  canvas.move_to(mark.at);
  canvas.line_to(end);
  canvas.stroke({kPaper.with_alpha(0.7), 3.0 * unit, LineStyle::Solid});
  canvas.move_to(mark.at);
  canvas.line_to(end);
  canvas.stroke({mark.color, 1.3 * unit, LineStyle::Dashed});
}

// How bad a place for words is: outside of the picture or on other words is worst, then on bones.
double cost_of_place(const Box& box, const Box& area, const std::vector<Box>& taken,
                     const FigureMarks& figure) {
  double cost = 0;
  if (box.x < area.x || box.y < area.y || box.right() > area.right() ||
      box.bottom() > area.bottom()) {
    cost += 1000;
  }
  for (const Box& other : taken) {
    if (box.overlaps(other)) cost += 400;
  }
  constexpr std::array<std::pair<FigurePoint, FigurePoint>, 6> kBones = {{
      {FigurePoint::Heel, FigurePoint::Toe},
      {FigurePoint::Ankle, FigurePoint::Knee},
      {FigurePoint::Knee, FigurePoint::Hip},
      {FigurePoint::Hip, FigurePoint::Shoulder},
      {FigurePoint::Shoulder, FigurePoint::Elbow},
      {FigurePoint::Elbow, FigurePoint::Wrist},
  }};
  for (const auto& [a, b] : kBones) {
    const Point p = figure[a];
    const Point q = figure[b];
    if (!is_known(p) || !is_known(q)) continue;
    for (int i = 0; i <= 12; ++i) {
      const double t = i / 12.0;
      const double x = p.x + (q.x - p.x) * t;
      const double y = p.y + (q.y - p.y) * t;
      if (x > box.x && x < box.right() && y > box.y && y < box.bottom()) cost += 20;
    }
  }
  return cost;
}

constexpr int kDirections = 12;
constexpr int kDistances = 5;

Box place_box(const AngleMark& mark, const Box& size, int place) {
  const int ring = place / kDirections;
  const int step = place % kDirections;
  // 0, +1, -1, +2, -2, ...: nearest to the wished direction first.
  const double turn = (step % 2 == 1 ? 1 : -1) * ((step + 1) / 2) * (2 * kHalfTurn / kDirections);
  const double angle = mark.away + turn;
  const double reach_x = size.width / 2 + size.height * (0.9 + 1.3 * ring);
  const double reach_y = size.height / 2 + size.height * (0.9 + 1.3 * ring);
  return {mark.at.x + reach_x * std::cos(angle) - size.width / 2,
          mark.at.y + reach_y * std::sin(angle) - size.height / 2, size.width, size.height};
}

Box moved_inside(Box box, const Box& area) {
  box.x = std::clamp(box.x, area.x, std::max(area.x, area.right() - box.width));
  box.y = std::clamp(box.y, area.y, std::max(area.y, area.bottom() - box.height));
  return box;
}

int choose_place(const AngleMark& mark, const Box& size, const Box& area,
                 const std::vector<Box>& taken, const FigureMarks& figure, int previous) {
  int best = 0;
  double best_cost = 1e9;
  for (int place = 0; place < kDirections * kDistances; ++place) {
    const Box wished = place_box(mark, size, place);
    const Box box = moved_inside(wished, area);
    const double moved = std::abs(box.x - wished.x) + std::abs(box.y - wished.y);
    double cost = cost_of_place(box, area, taken, figure) + 12.0 * moved / size.height +
                  2.0 * (place % kDirections) + 15.0 * (place / kDirections);
    if (place == previous) cost -= 45;  // stay unless another place is clearly better
    if (cost < best_cost) {
      best_cost = cost;
      best = place;
    }
  }
  return best;
}

void draw_label(Canvas& canvas, const AngleMark& mark, const Box& box, const TextStyle& style,
                double unit) {
  const Point middle{box.x + box.width / 2, box.y + box.height / 2};
  const double leader = distance(mark.at, middle);
  if (leader > box.height * 2.4) {
    canvas.move_to(mark.at);
    canvas.line_to(middle);
    canvas.stroke({mark.color, 1.0 * unit, LineStyle::Dotted});
  }
  canvas.rectangle(box, 3 * unit);
  canvas.fill(kPaper.with_alpha(0.9));
  canvas.rectangle({box.x, box.y, 4 * unit, box.height});
  canvas.fill(mark.color);
  canvas.text({box.x + 8 * unit, box.y + 2 * unit}, mark.text, style);
}

Point plumb_foot(const FigureMarks& figure) {
  return figure[FigurePoint::MidFoot];
}

void draw_caption(Canvas& canvas, const OverlayFrame& frame, const Box& area, double unit,
                  double font_size) {
  if (frame.caption.empty() && frame.time.empty()) return;
  const double pad = 5 * unit;
  TextStyle style{font_size, Weight::Bold, kInk, Align::Left, 0, 1, 0};
  const double time_width =
      frame.time.empty() ? 0 : canvas.measure(frame.time, style).width + pad * 2;
  style.width = std::max(area.width - time_width - pad * 4, font_size * 4);
  const double height = canvas.measure(frame.caption, style).height + 2 * pad;
  canvas.rectangle({area.x, area.y, area.width, height});
  canvas.fill(kLimewash.with_alpha(0.88));
  canvas.rectangle({area.x, area.y + height, area.width, 2.2 * unit});
  canvas.fill(kTimber);
  canvas.text({area.x + pad * 1.6, area.y + pad}, frame.caption, style);
  if (!frame.time.empty()) {
    canvas.text({area.right() - pad * 1.6, area.y + pad}, frame.time,
                {font_size, Weight::Regular, kInk, Align::Right, 0, 0, 0});
  }
}

void draw_caution_strip(Canvas& canvas, const Box& area, double unit, double font_size) {
  const double pad = 4 * unit;
  const TextStyle style{
      font_size * 0.72, Weight::Regular, kInk, Align::Left, area.width - pad * 4, 0, 0};
  const double height = canvas.measure(cautions_brief(), style).height + 2 * pad;
  canvas.rectangle({area.x, area.bottom() - height, area.width, height});
  canvas.fill(kLimewash.with_alpha(0.9));
  canvas.text({area.x + pad * 2, area.bottom() - height + pad}, cautions_brief(), style);
}

std::optional<Estimate> at_frame(const kinematics::Measurement& measurement, Channel channel,
                                 std::size_t index) {
  const kinematics::Series& series = measurement[channel];
  if (index >= series.fitted.size() || !std::isfinite(series.fitted[index])) return {};
  const double error =
      index < series.standard_error.size() ? series.standard_error[index] : std::nan("");
  return Estimate{series.fitted[index], error};
}

std::string caption_for(const kinematics::Measurement& measurement, std::size_t index) {
  const std::size_t count = measurement.repetitions.size();
  for (std::size_t r = 0; r < count; ++r) {
    const kinematics::Repetition& repetition = measurement.repetitions[r];
    if (index < repetition.start_frame || index > repetition.end_frame) continue;
    const char* phase = index == repetition.start_frame    ? "start"
                        : index == repetition.bottom_frame ? "bottom"
                        : index == repetition.end_frame    ? "end"
                        : index < repetition.bottom_frame  ? "down"
                                                           : "up";
    return "Repetition " + std::to_string(r + 1) + " of " + std::to_string(count) + ", " + phase;
  }
  return count == 0 ? "No repetition" : "Between repetitions";
}

}  // namespace

OverlayFrame overlay_frame(const kinematics::Measurement& measurement, std::size_t index,
                           const kinematics::FrameObservation* observation, CautionStrip cautions) {
  OverlayFrame frame;
  frame.figure.fill(Eigen::Vector2f::Constant(std::nanf("")));
  if (index < measurement.figures.size()) frame.figure = measurement.figures[index];
  frame.facing = measurement.camera.facing;
  frame.roll = measurement.camera.roll.value;
  if (observation != nullptr) frame.disc = observation->disc;
  frame.trunk_inclination = at_frame(measurement, Channel::TrunkInclination, index);
  frame.shank_inclination = at_frame(measurement, Channel::ShankInclination, index);
  frame.knee_flexion = at_frame(measurement, Channel::KneeFlexion, index);
  frame.shoulder_elevation = at_frame(measurement, Channel::ShoulderElevation, index);
  frame.caption = caption_for(measurement, index);
  if (index < measurement.time.size()) frame.time = fixed_text(measurement.time[index], 2) + " s";
  frame.cautions = cautions;
  return frame;
}

void draw_overlay(Canvas& canvas, const OverlayFrame& frame, const PictureToCanvas& map,
                  const Box& area, double unit, double font_size, std::array<int, 4>* places) {
  canvas.save();
  canvas.rectangle(area);
  canvas.clip();
  const FigureMarks figure = place_figure(frame.figure, frame.facing, frame.roll, map);
  const Point foot = plumb_foot(figure);
  const auto marks = angle_marks(frame, figure);
  for (const auto& mark : marks) {
    if (mark) draw_arc(canvas, *mark, unit);
  }
  draw_disc(canvas, figure, place_disc(frame.disc, map), unit);
  draw_body(canvas, figure, unit);
  if (is_known(foot)) {
    // Long enough to leave the area at its top whatever the roll.
    const double length = std::max(foot.y - area.y, 0.0) / std::max(-figure.up.y, 0.5);
    draw_plumb_line(canvas, foot, figure.up, length, unit);
  }
  const TextStyle style{font_size, Weight::Bold, kInk, Align::Left, 0, 0, 0};
  Box room = area.inset(3 * unit);
  const bool captioned = !frame.caption.empty() || !frame.time.empty();
  if (captioned) {
    room.y += font_size * 2.2;
    room.height -= font_size * 2.2;
  }
  if (frame.cautions == CautionStrip::Brief) room.height -= font_size * 3.2;
  std::vector<Box> taken;
  for (std::size_t i = 0; i < marks.size(); ++i) {
    if (!marks[i]) continue;
    Box size = canvas.measure(marks[i]->text, style);
    size.width += 13 * unit;
    size.height += 4 * unit;
    const int previous = places != nullptr ? (*places)[i] : -1;
    const int place = choose_place(*marks[i], size, room, taken, figure, previous);
    if (places != nullptr) (*places)[i] = place;
    const Box box = moved_inside(place_box(*marks[i], size, place), room);
    draw_label(canvas, *marks[i], box, style, unit);
    taken.push_back(box);
  }
  draw_caption(canvas, frame, area, unit, font_size);
  if (frame.cautions == CautionStrip::Brief) draw_caution_strip(canvas, area, unit, font_size);
  canvas.restore();
}

Result<OverlayPainter> OverlayPainter::create(int width_px, int height_px) {
  return OverlayPainter(LINTEL_TRY(Canvas::for_images(width_px, height_px)));
}

Result<void> OverlayPainter::draw(Image& image, const OverlayFrame& frame) {
  if (image.width() != canvas_.width() || image.height() != canvas_.height()) {
    return fail(ErrorCode::Invalid, "the frame has another size than the clip");
  }
  const double unit = std::clamp(std::min(image.width(), image.height()) / 540.0, 0.5, 6.0);
  canvas_.load(image);
  draw_overlay(canvas_, frame, {{0, 0}, 1, {0, 0}}, {0, 0, canvas_.width(), canvas_.height()}, unit,
               15 * unit, &label_places_);
  canvas_.store(image);
  return {};
}

}  // namespace lintel::report
