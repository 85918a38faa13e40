#include "report/posture_drawing.h"

#include <algorithm>
#include <cmath>

#include "base/cautions.h"
#include "report/canvas.h"
#include "report/marks.h"
#include "report/numbers.h"

namespace lintel::report {
namespace {

using kinematics::FigurePoint;

constexpr double kPointsPerMetre = 150;
constexpr double kColumn = 190;  // [pt]
constexpr double kMargin = 26;
constexpr double kTitle = 40;
constexpr double kNotes = 74;
constexpr double kCautions = 58;
constexpr double kUnit = 0.85;  // of the marks

// Sagittal plane to the canvas, mid-foot at `foot`.
struct Placement {
  Point foot;
  double mid_foot = 0;

  Point operator()(const Eigen::Vector3d& p) const {
    return {foot.x + (p.x() - mid_foot) * kPointsPerMetre, foot.y - p.y() * kPointsPerMetre};
  }
};

FigureMarks marks_of(const posture::Posture& p, const Placement& place) {
  FigureMarks marks;
  marks.point.fill({std::nan(""), std::nan("")});
  const auto set = [&](FigurePoint at, const Eigen::Vector3d& where) { marks[at] = place(where); };
  set(FigurePoint::Toe, p.p_WToe);
  set(FigurePoint::Heel, p.p_WHeel);
  // The heel stands on its wedge: the sole turns about the toes.
  const double length = p.p_WToe.x() - p.p_WHeel.x();
  marks[FigurePoint::Heel].y -= length * std::sin(p.foot_pitch) * kPointsPerMetre * 0.73;
  set(FigurePoint::Ankle, p.p_WAnkle);
  set(FigurePoint::Knee, p.p_WKnee);
  set(FigurePoint::Hip, p.p_WHip);
  set(FigurePoint::Shoulder, p.p_WShoulder);
  set(FigurePoint::Elbow, p.p_WElbow);
  set(FigurePoint::Wrist, p.p_WWrist);
  set(FigurePoint::Bar, p.p_WBar);
  set(FigurePoint::MidFoot, p.p_WMidFoot);
  set(FigurePoint::Head, 0.5 * (p.p_WVertex + 0.5 * (p.p_WShoulder + p.p_WVertex)));
  return marks;
}

double top_of(const PostureFigure& figure) {
  const double disc = 0.5 * figure.disc_diameter;
  return std::max(figure.posture.p_WBar.y() + disc, figure.posture.p_WVertex.y());
}

void draw_figure(Canvas& canvas, const PostureFigure& figure, const Placement& place) {
  const FigureMarks marks = marks_of(figure.posture, place);
  if (figure.disc_diameter > 0) {
    const double radius = 0.5 * figure.disc_diameter * kPointsPerMetre;
    draw_disc(canvas, marks, DiscMarks{marks[FigurePoint::Bar], radius, radius, 0}, kUnit);
  }
  draw_body(canvas, marks, kUnit);
  const Point bar = marks[FigurePoint::Bar];
  draw_plumb_line(canvas, {bar.x, place.foot.y}, {0, -1}, place.foot.y - bar.y, kUnit);
  // Mid-foot as a notch in the floor.
  canvas.move_to({place.foot.x, place.foot.y + 1.5});
  canvas.line_to({place.foot.x, place.foot.y + 8});
  canvas.stroke({kGranite, kLine, LineStyle::Solid});
}

}  // namespace

Result<std::string> draw_postures_svg(const std::string& title,
                                      const std::vector<PostureFigure>& figures) {
  if (figures.empty() || figures.size() > 4) {
    return fail(ErrorCode::Invalid, "a drawing holds one to four figures");
  }
  double top = 0;
  for (const PostureFigure& figure : figures) top = std::max(top, top_of(figure));
  const double width = 2 * kMargin + kColumn * static_cast<double>(figures.size());
  const double floor = kTitle + kMargin + top * kPointsPerMetre;
  const double height = floor + kNotes + kCautions;
  Canvas canvas = LINTEL_TRY(Canvas::svg(
      width, height, {title, "Side view of the athlete's postures to one scale.", "", ""}));
  canvas.rectangle({0, 0, width, height});
  canvas.fill(kPaper);
  canvas.text({kMargin, 14}, title,
              {13, Weight::Bold, kInk, Align::Left, width - 2 * kMargin, 1, 0});
  canvas.move_to({kMargin, floor});
  canvas.line_to({width - kMargin, floor});
  canvas.stroke({kGranite, kLine, LineStyle::Solid});
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const PostureFigure& figure = figures[i];
    const double left = kMargin + kColumn * static_cast<double>(i);
    // The hips reach further back than the knees forward: mid-foot right of the middle.
    draw_figure(canvas, figure, {{left + 0.56 * kColumn, floor}, figure.posture.p_WMidFoot.x()});
    const double text = left + 8;
    const Box name = canvas.text({text, floor + 13}, figure.title,
                                 {10, Weight::Bold, kInk, Align::Left, kColumn - 16, 1, 0});
    const std::string angle = "trunk " +
                              fixed_text(figure.posture.trunk_inclination * kDegreesPerRadian, 0) +
                              "° from vertical";
    const Box below =
        canvas.text({text, name.bottom() + 2}, angle,
                    {8.5, Weight::Regular, kHarbour, Align::Left, kColumn - 16, 1, 0});
    if (figure.note.empty()) continue;
    canvas.text({text, below.bottom() + 1}, figure.note,
                {8.5, Weight::Regular, kInk, Align::Left, kColumn - 16, 3, 0});
  }
  canvas.text({kMargin, height - kCautions + 6},
              "Red: plumb line of the bar. Notch: middle of the foot. One metre is " +
                  fixed_text(kPointsPerMetre, 0) + " points.",
              {7.5, Weight::Regular, kGranite, Align::Left, width - 2 * kMargin, 2, 0});
  canvas.text({kMargin, height - kCautions + 30}, cautions_brief(),
              {7.5, Weight::Regular, kGranite, Align::Left, width - 2 * kMargin, 3, 0});
  return canvas.finish();
}

}  // namespace lintel::report
