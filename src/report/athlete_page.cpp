#include "report/athlete_page.h"

#include <algorithm>
#include <cmath>

#include "base/cautions.h"
#include "report/marks.h"
#include "report/overlay.h"
#include "report/page_frame.h"
#include "report/page_parts.h"
#include "report/plots.h"

namespace lintel::report {

using kinematics::FigurePoint;

namespace {

constexpr double kMargin = kPageMargin;
constexpr double kBeam = kPageBeam;
constexpr double kBeamTop = 76;
constexpr double kRowGap = 9;

std::string setup_line(const view::Assessment& assessment, UnitSystem units) {
  const view::SetupFacts& setup = assessment.setup;
  std::string text = setup.bar_position.empty() || setup.bar_position == "none"
                         ? "Squat"
                         : setup.bar_position + " squat";
  text[0] = static_cast<char>(text[0] >= 'a' && text[0] <= 'z' ? text[0] - 'a' + 'A' : text[0]);
  const bool metric = units == UnitSystem::Metric;
  const auto length = [&](double metres) {
    return metric ? fixed_text(metres * 100, metres < 0.1 ? 1 : 0) + " cm"
                  : fixed_text(metres / kMetresPerInch, 1) + " in";
  };
  if (setup.bar_mass) text += " · bar " + mass_text(*setup.bar_mass, units);
  if (setup.stance_width) text += " · stance " + length(*setup.stance_width);
  if (setup.toe_out)
    text += " · toes out " + fixed_text(*setup.toe_out * kDegreesPerRadian, 0) + "°";
  if (setup.heel_elevation && *setup.heel_elevation > 0) {
    text += " · heels up " + length(*setup.heel_elevation);
  }
  if (setup.grip_width) text += " · grip " + length(*setup.grip_width);
  return text;
}

void draw_header(Canvas& canvas, const view::Assessment& assessment, UnitSystem units) {
  const double width = canvas.width() - 2 * kMargin;
  draw_house_sign(canvas, {kMargin, 30, 34, 36});
  const double text_x = kMargin + 46;
  TextStyle date{9, Weight::Regular, kGranite, Align::Right, 0, 0, 0};
  const Box date_box = canvas.text({kMargin + width, 33}, long_date(assessment.assessed_on), date);
  TextStyle name{20, Weight::Bold, kInk, Align::Left, 0, 0, 0};
  const std::string who = !assessment.athlete_name.empty() ? assessment.athlete_name
                          : !assessment.athlete_id.empty() ? assessment.athlete_id
                                                           : std::string("Your squat");
  const double room = date_box.x - text_x - 14;
  // A long name gets smaller before it is cut.
  while (name.size > 12 && canvas.measure(who, name).width > room) name.size -= 1;
  name.width = room;
  name.max_lines = name.size > 12 ? 1 : 2;
  const double height = canvas.measure(who, name).height;
  canvas.text({text_x, 53 - height}, who, name);
  canvas.text({text_x, 55}, setup_line(assessment, units),
              {8.6, Weight::Regular, kGranite, Align::Left, width - 46, 1, 0});
}

struct Extent {
  Range x;
  Range y;
};

Extent extent_of(const OverlayFrame& frame) {
  Extent extent;
  for (const Eigen::Vector2f& p : frame.figure) {
    extent.x.add(p.x());
    extent.y.add(p.y());
  }
  if (frame.disc) {
    const double r = frame.disc->semi_major_px;
    for (const double sign : {-1.0, 1.0}) {
      extent.x.add(frame.disc->center_px.x() + sign * r);
      extent.y.add(frame.disc->center_px.y() + sign * r);
    }
  }
  return extent;
}

// The part of the picture to show: the figure with some air, in the shape of `area` as far as
// the picture allows.
Box crop_for(const Extent& extent, double picture_width, double picture_height, const Box& area,
             bool bounded) {
  if (extent.x.empty || extent.y.empty) return {0, 0, picture_width, picture_height};
  const double air = 0.14 * std::max(extent.y.high - extent.y.low, 1.0);
  double width = extent.x.high - extent.x.low + 2 * air;
  double height = extent.y.high - extent.y.low + 2 * air;
  const double shape = area.width / area.height;
  if (width < height * shape) width = height * shape;
  if (height < width / shape) height = width / shape;
  double x = (extent.x.low + extent.x.high - width) / 2;
  double y = (extent.y.low + extent.y.high - height) / 2;
  if (!bounded) return {x, y, width, height};
  width = std::min(width, picture_width);
  height = std::min(height, picture_height);
  x = std::clamp(x, 0.0, picture_width - width);
  y = std::clamp(y, 0.0, picture_height - height);
  return {x, y, width, height};
}

// Returns the box that the picture really takes: left and top aligned in `area`.
Box draw_picture(Canvas& canvas, const Box& area, const view::Assessment& assessment,
                 const AthletePageOptions& options) {
  const bool has_picture = options.bottom_picture != nullptr && !options.bottom_picture->empty();
  OverlayFrame frame;
  frame.figure.fill(Eigen::Vector2f::Constant(std::nanf("")));
  if (assessment.side != nullptr) {
    frame = overlay_frame(*assessment.side, options.bottom_index, nullptr, CautionStrip::None);
  }
  frame.disc = options.disc;
  frame.time.clear();
  frame.knee_flexion.reset();  // the page's numbers are trunk and shin
  frame.shoulder_elevation.reset();
  const Extent extent = extent_of(frame);
  if (!has_picture && extent.x.empty) {
    canvas.rectangle(area);
    canvas.fill(kLimewash);
    flow_text(canvas, area.inset(14), "No picture: the body was not found on this film.",
              body_style(area.width - 28, 4));
    return area;
  }
  const double picture_width = has_picture ? options.bottom_picture->width() : 1;
  const double picture_height = has_picture ? options.bottom_picture->height() : 1;
  const Box crop = crop_for(extent, picture_width, picture_height, area, has_picture);
  const double scale = std::min(area.width / crop.width, area.height / crop.height);
  const Box shown{area.x, area.y, crop.width * scale, crop.height * scale};
  if (has_picture) {
    canvas.image(*options.bottom_picture, crop, shown);
  } else {
    canvas.rectangle(shown);
    canvas.fill(kLimewash);
  }
  const PictureToCanvas map{{crop.x, crop.y}, scale, {shown.x, shown.y}};
  // The page's plumb line hangs from the beam.
  const FigureMarks marks = place_figure(frame.figure, frame.facing, frame.roll, map);
  const Point foot = marks[FigurePoint::MidFoot];
  if (is_known(foot) && foot.x > shown.x && foot.x < shown.right() && foot.y > shown.y) {
    const double lean = marks.up.x / std::min(marks.up.y, -0.5);
    const double x = foot.x + lean * (shown.y - foot.y);
    canvas.move_to({x, kBeamTop + kBeam});
    canvas.line_to({x, shown.y});
    canvas.stroke({kBrick, 0.7, LineStyle::Solid});
  }
  draw_overlay(canvas, frame, map, shown, 0.52, std::clamp(shown.width / 22, 5.8, 7.6), nullptr);
  canvas.rectangle(shown);
  canvas.stroke({kInk, 0.8, LineStyle::Solid});
  return shown;
}

void draw_small_print(Canvas& canvas, const Box& box, const view::Assessment& assessment) {
  std::string text =
      "± is one standard error: about two times in three the true number lies that close.";
  text += " Lintel " + assessment.program_version + ".";
  if (!assessment.clip.file_name.empty()) text += " Film: " + assessment.clip.file_name + ".";
  canvas.text({box.x, box.y}, text, {6.4, Weight::Regular, kGranite, Align::Left, box.width, 1, 0});
}

void draw_charts(Canvas& canvas, const Box& box, const view::Assessment& assessment,
                 UnitSystem units) {
  const double path_width = box.width * 0.40;
  const Box path{box.x, box.y, path_width, box.height};
  const Box trunk{box.x + path_width + 12, box.y, box.width - path_width - 12, box.height};
  const auto titled = [&](const Box& area, const char* title) {
    const double below =
        canvas.text({area.x, area.y}, title, heading_style(area.width)).bottom() + 5;
    return Box{area.x, below, area.width, area.bottom() - below};
  };
  const Box path_area = titled(path, "Path of the bar");
  const Box trunk_area = titled(trunk, "Lean of the trunk");
  const bool has_side = assessment.side != nullptr;
  if (!has_side || !draw_bar_path_panel(canvas, path_area, *assessment.side, units, 6.6)) {
    flow_text(canvas, path_area, "The bar was not seen on this film.",
              body_style(path_area.width, 3));
  }
  if (!has_side || !draw_trunk_panel(canvas, trunk_area, *assessment.side, 6.6)) {
    flow_text(canvas, trunk_area, "The trunk was not seen on this film.",
              body_style(trunk_area.width, 3));
  }
}

void draw_page(Canvas& canvas, const view::Assessment& assessment,
               const AthletePageOptions& options) {
  canvas.rectangle({0, 0, canvas.width(), canvas.height()});
  canvas.fill(kPaper);
  const double width = canvas.width() - 2 * kMargin;
  const double bottom = canvas.height() - 26;
  const double sill = cautions_height(canvas, width + 28);
  const double sill_y = bottom - 11 - sill;
  draw_doorway(canvas, kBeamTop, sill_y);
  draw_header(canvas, assessment, options.units);
  draw_cautions(canvas, {kMargin - 14, sill_y, width + 28, sill});
  draw_small_print(canvas, {kMargin - 14, bottom - 8, width + 28, 8}, assessment);

  // Rows between beam and sill; the picture takes what the others leave.
  const double top = kBeamTop + kBeam + 8;
  const double room = sill_y - 8 - top;
  const double remarks = film_remarks_height(canvas, width, assessment, room * 0.12);
  const bool is_explained = assessment.explanation && (!assessment.explanation->parts.empty() ||
                                                       !assessment.explanation->next_steps.empty());
  const double charts = room * 0.285;
  const double model = room * (is_explained ? 0.275 : 0.13);
  double first = room - charts - model - remarks - (remarks > 0 ? 3 : 2) * kRowGap;
  if (assessment.side == nullptr) first = std::min(first, room * 0.4);
  double y = top;
  const Box picture = draw_picture(canvas, {kMargin, y, width * 0.46, first}, assessment, options);
  draw_key_numbers(canvas,
                   {picture.right() + 18, y + 2, kMargin + width - picture.right() - 18, first - 4},
                   assessment, options.units);
  y += first + kRowGap;
  const double split = width * 0.57;
  draw_explanation(canvas, {kMargin, y, split, model}, assessment);
  draw_next_steps(canvas, {kMargin + split + 20, y, width - split - 20, model}, assessment);
  y += model + kRowGap;
  draw_charts(canvas, {kMargin, y, split, charts}, assessment, options.units);
  draw_repetition_table(canvas, {kMargin + split + 20, y, width - split - 20, charts}, assessment,
                        options.units);
  y += charts + kRowGap;
  draw_film_remarks(canvas, {kMargin, y, width, remarks}, assessment);
}

}  // namespace

Result<AthletePage> render_athlete_page(const view::Assessment& assessment,
                                        const AthletePageOptions& options) {
  const PaperSize size = size_of(options.paper);
  const std::string who =
      assessment.athlete_name.empty() ? assessment.athlete_id : assessment.athlete_name;
  Canvas canvas = LINTEL_TRY(Canvas::pdf(
      size.width, size.height,
      {"Squat of " + (who.empty() ? std::string("an athlete") : who) + ", " +
           long_date(assessment.assessed_on),
       cautions_brief(), "Lintel " + assessment.program_version, assessment.assessed_on}));
  draw_page(canvas, assessment, options);
  AthletePage page;
  page.text_boxes = canvas.text_boxes();
  page.pdf = LINTEL_TRY(canvas.finish());
  return page;
}

}  // namespace lintel::report
