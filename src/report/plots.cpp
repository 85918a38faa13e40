#include "report/plots.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/cautions.h"
#include "report/marks.h"

namespace lintel::report {

using kinematics::Channel;
using kinematics::Measurement;
using kinematics::Repetition;
using kinematics::Series;

namespace {

struct AngleRow {
  Channel channel;
  const char* label;
  Color color;
  LineStyle style;
};
constexpr std::array<AngleRow, 5> kAngleRows = {{
    {Channel::TrunkInclination, "Trunk, forward", kHarbour, LineStyle::Solid},
    {Channel::ShankInclination, "Shank, forward", kSlate, LineStyle::Dashed},
    {Channel::KneeFlexion, "Knee flexion", kGranite, LineStyle::DashDot},
    {Channel::HipFlexion, "Hip flexion", kTimber, LineStyle::Solid},
    {Channel::ShoulderElevation, "Shoulder elevation", kHeather, LineStyle::Dotted},
}};

Range time_range(const Measurement& m) {
  Range range;
  for (const double t : m.time) range.add(t);
  if (!range.empty && range.high - range.low < 0.1) range.high = range.low + 0.1;
  return range;
}

double value_at(const std::vector<double>& values, std::size_t i) {
  return i < values.size() ? values[i] : std::nan("");
}

// Repetitions as bays between posts, each with its number at the top.
void draw_bays(Canvas& canvas, const Axes& axes, const Measurement& m, double font_size) {
  double last_number = -1e9;
  for (std::size_t r = 0; r < m.repetitions.size(); ++r) {
    const Repetition& repetition = m.repetitions[r];
    const double from = value_at(m.time, repetition.start_frame);
    const double to = value_at(m.time, repetition.end_frame);
    if (!std::isfinite(from) || !std::isfinite(to)) continue;
    const double x0 = axes(from, 0).x;
    const double x1 = axes(to, 0).x;
    canvas.rectangle({x0, axes.plot.y, x1 - x0, axes.plot.height});
    canvas.fill(kLimewash);
    for (const double x : {x0, x1}) {
      canvas.move_to({x, axes.plot.y});
      canvas.line_to({x, axes.plot.bottom()});
      canvas.stroke({kMortar, kHairline * 1.5, LineStyle::Solid});
    }
    // Numbers that would touch the one before are left out.
    if (font_size > 0 && (x0 + x1) / 2 > last_number + font_size * 1.9) {
      last_number = (x0 + x1) / 2;
      canvas.text({last_number, axes.plot.y - font_size * 1.35}, std::to_string(r + 1),
                  {font_size, Weight::Bold, kGranite, Align::Center, 0, 0, 0});
    }
  }
}

void draw_band(Canvas& canvas, const Axes& axes, const Measurement& m, const Series& series,
               Color color) {
  std::vector<Point> upper;
  std::vector<Point> lower;
  const auto flush = [&] {
    if (upper.size() > 1) {
      upper.insert(upper.end(), lower.rbegin(), lower.rend());
      canvas.polygon(upper);
      canvas.fill(color.with_alpha(0.22));
    }
    upper.clear();
    lower.clear();
  };
  for (std::size_t i = 0; i < m.time.size(); ++i) {
    const double value = value_at(series.fitted, i) * kDegreesPerRadian;
    const double error = value_at(series.standard_error, i) * kDegreesPerRadian;
    if (!std::isfinite(value) || !std::isfinite(error)) {
      flush();
      continue;
    }
    upper.push_back(axes(m.time[i], value + error));
    lower.push_back(axes(m.time[i], value - error));
  }
  flush();
}

void draw_curve(Canvas& canvas, const Axes& axes, const Measurement& m,
                const std::vector<double>& values, const Stroke& stroke) {
  std::vector<Point> points;
  points.reserve(m.time.size());
  for (std::size_t i = 0; i < m.time.size(); ++i) {
    points.push_back(axes(m.time[i], value_at(values, i) * kDegreesPerRadian));
  }
  canvas.polyline(points);
  canvas.stroke(stroke);
}

// A small bob whose tip stands on the curve at the bottom of each repetition.
void draw_bottoms(Canvas& canvas, const Axes& axes, const Measurement& m, const Series& series,
                  double unit) {
  for (const Repetition& repetition : m.repetitions) {
    const double t = value_at(m.time, repetition.bottom_frame);
    const double value = value_at(series.fitted, repetition.bottom_frame) * kDegreesPerRadian;
    if (!std::isfinite(t) || !std::isfinite(value)) continue;
    draw_plumb_line(canvas, axes(t, value), {0, -1}, 12 * unit, unit);
  }
}

Range degrees_range(const Series& series) {
  Range range;
  for (std::size_t i = 0; i < series.fitted.size(); ++i) {
    const double error = value_at(series.standard_error, i);
    const double margin = std::isfinite(error) ? error : 0;
    range.add((series.fitted[i] - margin) * kDegreesPerRadian);
    range.add((series.fitted[i] + margin) * kDegreesPerRadian);
  }
  return range;
}

Axes draw_angle_panel(Canvas& canvas, const Box& plot, const Measurement& m, const AngleRow& row,
                      bool is_first, bool is_last) {
  const Series& series = m[row.channel];
  const Range time = time_range(m);
  const Range y = round_range(degrees_range(series), 10, 4, TickKind::Degrees);
  const Axes axes{plot, time.low, time.high, y.low, y.high};
  draw_bays(canvas, axes, m, is_first ? 8 : 0);
  AxisLabels labels{is_last ? "time [s]" : "", "degrees",        7.5, 8, 4,
                    TickKind::Plain,           TickKind::Degrees};
  draw_axes(canvas, axes, labels);
  canvas.save();
  canvas.rectangle(plot);
  canvas.clip();
  draw_curve(canvas, axes, m, series.raw, {row.color.with_alpha(0.35), 0.7, LineStyle::Solid});
  draw_band(canvas, axes, m, series, row.color);
  canvas.restore();
  draw_curve(canvas, axes, m, series.fitted, {row.color, 1.6, row.style});
  draw_bottoms(canvas, axes, m, series, 0.45);
  const double legend_y = plot.y + 7;
  const double legend_x = plot.right() + 10;
  canvas.move_to({legend_x, legend_y});
  canvas.line_to({legend_x + 26, legend_y});
  canvas.stroke({row.color, 1.6, row.style});
  canvas.text({legend_x, legend_y + 5}, row.label,
              {8.5, Weight::Bold, kInk, Align::Left, 96, 2, 0});
  return axes;
}

std::string angles_description(const Measurement& m) {
  std::string text = "Trunk, shank, knee, hip and shoulder angles over time, " +
                     std::to_string(m.repetitions.size()) + " repetitions.";
  for (std::size_t r = 0; r < m.repetitions.size(); ++r) {
    const auto& channels = m.repetitions[r].channels;
    text += " Repetition " + std::to_string(r + 1) + " at the bottom: trunk " +
            degrees_text(channels[static_cast<std::size_t>(Channel::TrunkInclination)].bottom) +
            ", shank " +
            degrees_text(channels[static_cast<std::size_t>(Channel::ShankInclination)].bottom) +
            ", knee " +
            degrees_text(channels[static_cast<std::size_t>(Channel::KneeFlexion)].bottom) + ".";
  }
  return text + " " + cautions_text();
}

void draw_plot_header(Canvas& canvas, const std::string& heading, const PlotInfo& info) {
  draw_house_sign(canvas, {20, 14, 24, 24});
  canvas.text({54, 12}, heading, {13, Weight::Bold, kInk, Align::Left, canvas.width() - 74, 1, 0});
  canvas.text({54, 29}, info.title,
              {8.5, Weight::Regular, kGranite, Align::Left, canvas.width() - 74, 1, 0});
}

void draw_plot_footer(Canvas& canvas) {
  TextStyle style{6.5, Weight::Regular, kGranite, Align::Left, canvas.width() - 40, 0, 0};
  const double height = canvas.measure(cautions_brief(), style).height;
  canvas.text({20, canvas.height() - height - 10}, cautions_brief(), style);
}

// Heel and toe tip ahead of mid-foot [m], the median over the frames; NaN where not seen.
struct FootExtent {
  double heel = std::nan("");
  double toe = std::nan("");
};

double median(std::vector<double>& values) {
  if (values.empty()) return std::nan("");
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

FootExtent foot_extent(const Measurement& m) {
  const double scale = m.camera.pixels_per_metre.value;
  if (!(scale > 0)) return {};
  std::vector<double> heels;
  std::vector<double> toes;
  for (const kinematics::Figure& figure : m.figures) {
    const auto x = [&](kinematics::FigurePoint p) {
      return static_cast<double>(figure[static_cast<std::size_t>(p)].x());
    };
    const double middle = x(kinematics::FigurePoint::MidFoot);
    const double heel = (x(kinematics::FigurePoint::Heel) - middle) * m.camera.facing / scale;
    const double toe = (x(kinematics::FigurePoint::Toe) - middle) * m.camera.facing / scale;
    if (std::isfinite(heel)) heels.push_back(heel);
    if (std::isfinite(toe)) toes.push_back(toe);
  }
  return {median(heels), median(toes)};
}

struct PathRanges {
  Range x;
  Range y;
};

PathRanges bar_ranges(const Measurement& m, double factor) {
  PathRanges ranges;
  const std::vector<double>& xs = m[Channel::BarX].fitted;
  const std::vector<double>& ys = m[Channel::BarY].fitted;
  for (std::size_t i = 0; i < std::min(xs.size(), ys.size()); ++i) {
    if (!std::isfinite(xs[i]) || !std::isfinite(ys[i])) continue;
    ranges.x.add(xs[i] * factor);
    ranges.y.add(ys[i] * factor);
  }
  return ranges;
}

void draw_path(Canvas& canvas, const Axes& axes, const Measurement& m, double factor, double unit) {
  const std::vector<double>& xs = m[Channel::BarX].fitted;
  const std::vector<double>& ys = m[Channel::BarY].fitted;
  const auto stretch = [&](std::size_t from, std::size_t to, const Stroke& stroke) {
    std::vector<Point> points;
    for (std::size_t i = from; i <= to && i < std::min(xs.size(), ys.size()); ++i) {
      points.push_back(axes(xs[i] * factor, ys[i] * factor));
    }
    canvas.polyline(points);
    canvas.stroke(stroke);
  };
  if (m.repetitions.empty() && !xs.empty()) {
    stretch(0, xs.size() - 1, {kTimber, 1.4 * unit, LineStyle::Solid});
  }
  for (const Repetition& repetition : m.repetitions) {
    stretch(repetition.start_frame, repetition.bottom_frame,
            {kHarbour, 1.1 * unit, LineStyle::Dashed});
    stretch(repetition.bottom_frame, repetition.end_frame, {kTimber, 1.4 * unit, LineStyle::Solid});
  }
  for (const Repetition& repetition : m.repetitions) {
    const Point bottom = axes(value_at(xs, repetition.bottom_frame) * factor,
                              value_at(ys, repetition.bottom_frame) * factor);
    if (is_known(bottom)) draw_post(canvas, bottom, {0, -1}, 2.2 * unit, 0.7 * unit);
  }
}

// Widens the smaller of the two ranges about its middle until both axes have one scale.
Axes equal_scale(const Box& area, Range x, Range y) {
  const double scale =
      std::min(area.width / (x.high - x.low), area.height / (y.high - y.low));  // canvas per unit
  const double x_span = area.width / scale;
  const double y_span = area.height / scale;
  const double x_middle = (x.low + x.high) / 2;
  return {area, x_middle - x_span / 2, x_middle + x_span / 2, y.low, y.low + y_span};
}

void draw_foot(Canvas& canvas, const Axes& axes, const FootExtent& foot, double factor) {
  if (!std::isfinite(foot.heel) || !std::isfinite(foot.toe)) return;
  const double sole = 0.012 * factor;
  const std::array<Point, 6> outline = {
      axes(foot.heel * factor, 0),
      axes(foot.toe * factor, 0),
      axes(foot.toe * factor, sole * 1.6),
      axes((foot.heel + 0.62 * (foot.toe - foot.heel)) * factor, sole * 4.2),
      axes((foot.heel + 0.33 * (foot.toe - foot.heel)) * factor, sole * 7.5),
      axes(foot.heel * factor, sole * 6.5)};
  canvas.polygon(outline);
  canvas.fill(kMortar);
  canvas.polygon(outline);
  canvas.stroke({kGranite, 0.9, LineStyle::Solid});
}

std::string bar_description(const Measurement& m) {
  const PathRanges ranges = bar_ranges(m, 100);
  return "Path of the bar seen from the side, " + std::to_string(m.repetitions.size()) +
         " repetitions. Ahead of mid-foot from " + fixed_text(ranges.x.low, 1) + " to " +
         fixed_text(ranges.x.high, 1) + " cm; above the floor from " + fixed_text(ranges.y.low, 0) +
         " to " + fixed_text(ranges.y.high, 0) + " cm. " + cautions_text();
}

void draw_path_legend(Canvas& canvas, Point at, double font_size) {
  const double u = font_size / 8;
  const TextStyle style{font_size, Weight::Regular, kInk, Align::Left, 0, 0, 0};
  const double text_y = at.y - font_size * 0.6;
  canvas.move_to({at.x, at.y});
  canvas.line_to({at.x + 16 * u, at.y});
  canvas.stroke({kHarbour, 1.1 * u, LineStyle::Dashed});
  const Box down = canvas.text({at.x + 19 * u, text_y}, "down", style);
  const double x = down.right() + 8 * u;
  canvas.move_to({x, at.y});
  canvas.line_to({x + 16 * u, at.y});
  canvas.stroke({kTimber, 1.4 * u, LineStyle::Solid});
  const Box up = canvas.text({x + 19 * u, text_y}, "up", style);
  draw_post(canvas, {up.right() + 10 * u, at.y}, {0, -1}, 2.2 * u, 0.7 * u);
  canvas.text({up.right() + 15 * u, text_y}, "bottom", style);
}

}  // namespace

Result<Plot> plot_angles(const Measurement& measurement, const PlotInfo& info) {
  if (measurement.time.empty()) return fail(ErrorCode::Invalid, "no frame was measured");
  constexpr double kWidth = 720;
  constexpr double kPanel = 104;
  constexpr double kTop = 72;
  const double height = kTop + kAngleRows.size() * (kPanel + 16) + 52;
  Canvas canvas = LINTEL_TRY(
      Canvas::svg(kWidth, height,
                  {"Angles over time. " + info.title, angles_description(measurement), "", ""}));
  canvas.rectangle({0, 0, kWidth, height});
  canvas.fill(kPaper);
  draw_plot_header(canvas, "Angles over time", info);
  canvas.text({kWidth - 120, 50}, "band: one standard\nerror; faint: raw",
              {7, Weight::Regular, kGranite, Align::Left, 110, 0, 0});
  Plot plot;
  for (std::size_t i = 0; i < kAngleRows.size(); ++i) {
    const Box area{62, kTop + static_cast<double>(i) * (kPanel + 16), kWidth - 62 - 120, kPanel};
    plot.panels.push_back(draw_angle_panel(canvas, area, measurement, kAngleRows[i], i == 0,
                                           i + 1 == kAngleRows.size()));
  }
  draw_plot_footer(canvas);
  plot.svg = LINTEL_TRY(canvas.finish());
  return plot;
}

Result<Plot> plot_bar_path(const Measurement& measurement, const PlotInfo& info) {
  const bool metric = info.units == UnitSystem::Metric;
  const double factor = metric ? 1.0 : 1.0 / kMetresPerInch;
  PathRanges ranges = bar_ranges(measurement, factor);
  if (ranges.y.empty) {
    return fail(ErrorCode::Invalid, "the bar was not seen, so there is no path to draw",
                "film with the discs in the picture");
  }
  constexpr double kWidth = 440;
  constexpr double kHeight = 640;
  Canvas canvas = LINTEL_TRY(Canvas::svg(
      kWidth, kHeight, {"Path of the bar. " + info.title, bar_description(measurement), "", ""}));
  canvas.rectangle({0, 0, kWidth, kHeight});
  canvas.fill(kPaper);
  draw_plot_header(canvas, "Path of the bar, to scale", info);
  const FootExtent foot = foot_extent(measurement);
  Range x = ranges.x;
  x.add(-0.2 * factor);
  x.add(0.2 * factor);
  x.add((foot.heel - 0.05) * factor);
  x.add((foot.toe + 0.05) * factor);
  Range y = ranges.y;
  y.add(0);
  y.high += 0.08 * factor;
  const Axes axes = equal_scale({64, 72, kWidth - 92, kHeight - 72 - 84}, x, y);
  draw_axes(canvas, axes,
            {metric ? "ahead of mid-foot [m]" : "ahead of mid-foot [in]",
             metric ? "above the floor [m]" : "above the floor [in]", 7.5, 6, 9, TickKind::Plain,
             TickKind::Plain});
  draw_foot(canvas, axes, foot, factor);
  draw_plumb_line(canvas, axes(0, 0), {0, -1}, axes.plot.height, 0.8);
  draw_path(canvas, axes, measurement, factor, 1);
  draw_path_legend(canvas, {64, 58}, 8);
  draw_plot_footer(canvas);
  Plot plot;
  plot.panels.push_back(axes);
  plot.svg = LINTEL_TRY(canvas.finish());
  return plot;
}

bool draw_bar_path_panel(Canvas& canvas, const Box& area, const Measurement& measurement,
                         UnitSystem units, double font_size) {
  const bool metric = units == UnitSystem::Metric;
  const double factor = metric ? 100.0 : 1.0 / kMetresPerInch;
  PathRanges ranges = bar_ranges(measurement, factor);
  if (ranges.y.empty) return false;
  ranges.x.add(-0.06 * factor);
  ranges.x.add(0.06 * factor);
  const double span = std::max(ranges.y.high - ranges.y.low, 0.2 * factor);
  const Range y{ranges.y.low - 0.06 * span, ranges.y.low + 1.08 * span, false};
  const Box plot{area.x + font_size * 4.2, area.y + font_size * 1.6, area.width - font_size * 4.6,
                 area.height - font_size * 4.8};
  const Axes axes = equal_scale(plot, ranges.x, y);
  const FootExtent foot = foot_extent(measurement);
  if (std::isfinite(foot.heel) && std::isfinite(foot.toe)) {
    const double x0 = std::max(axes(foot.heel * factor, 0).x, plot.x);
    const double x1 = std::min(axes(foot.toe * factor, 0).x, plot.right());
    canvas.rectangle({x0, plot.y, x1 - x0, plot.height});
    canvas.fill(kLimewash);
  }
  draw_axes(
      canvas, axes,
      {metric ? "ahead of mid-foot [cm]" : "ahead of mid-foot [in]",
       metric ? "height [cm]" : "height [in]", font_size, 4, 4, TickKind::Plain, TickKind::Plain});
  canvas.save();
  canvas.rectangle(plot);
  canvas.clip();
  draw_plumb_line(canvas, axes(0, axes.y_low), {0, -1}, plot.height, 0.6);
  draw_path(canvas, axes, measurement, factor, 0.9);
  canvas.restore();
  draw_path_legend(canvas, {plot.x, area.y + font_size * 0.6}, font_size);
  return true;
}

bool draw_trunk_panel(Canvas& canvas, const Box& area, const Measurement& measurement,
                      double font_size) {
  const Series& series = measurement[Channel::TrunkInclination];
  const Range values = degrees_range(series);
  const Range time = time_range(measurement);
  if (values.empty || time.empty) return false;
  const Range y = round_range(values, 10, 4, TickKind::Degrees);
  const Box plot{area.x + font_size * 4.2, area.y + font_size * 1.6, area.width - font_size * 4.6,
                 area.height - font_size * 4.8};
  const Axes axes{plot, time.low, time.high, y.low, y.high};
  draw_bays(canvas, axes, measurement, font_size);
  draw_axes(canvas, axes,
            {"time [s]", "trunk forward [°]", font_size, 5, 4, TickKind::Plain, TickKind::Degrees});
  draw_band(canvas, axes, measurement, series, kHarbour);
  draw_curve(canvas, axes, measurement, series.fitted, {kHarbour, 1.3, LineStyle::Solid});
  draw_bottoms(canvas, axes, measurement, series, 0.4);
  return true;
}

}  // namespace lintel::report
