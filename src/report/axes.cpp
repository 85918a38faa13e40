#include "report/axes.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "report/numbers.h"

namespace lintel::report {
namespace {

int decimals_of(double step) {
  if (step >= 0.999) return 0;
  return std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 6);
}

template <typename Draw>
void for_each_tick(double low, double high, double step, Draw draw) {
  const auto first = static_cast<long>(std::ceil(low / step - 1e-6));
  const auto last = static_cast<long>(std::floor(high / step + 1e-6));
  for (long i = first; i <= last && i - first < 200; ++i) draw(static_cast<double>(i) * step);
}

}  // namespace

void Range::add(double value) {
  if (!std::isfinite(value)) return;
  low = empty ? value : std::min(low, value);
  high = empty ? value : std::max(high, value);
  empty = false;
}

double tick_step(double span, int wanted, TickKind kind) {
  const double ideal = std::max(span, 1e-9) / std::max(wanted, 1);
  if (kind == TickKind::Degrees && ideal > 2) {
    for (const double step : {5.0, 10.0, 15.0, 30.0, 45.0, 90.0}) {
      if (step >= ideal) return step;
    }
    return 180;
  }
  const double power = std::pow(10.0, std::floor(std::log10(ideal)));
  for (const double digit : {1.0, 2.0, 5.0}) {
    if (digit * power >= ideal * 0.999) return digit * power;
  }
  return 10 * power;
}

Range round_range(Range range, double smallest, int wanted, TickKind kind) {
  if (range.empty) range = {0, smallest, false};
  const double missing = smallest - (range.high - range.low);
  if (missing > 0) {
    range.low -= missing / 2;
    range.high += missing / 2;
  }
  const double step = tick_step(range.high - range.low, wanted, kind);
  range.low = std::floor(range.low / step + 1e-9) * step;
  range.high = std::ceil(range.high / step - 1e-9) * step;
  return range;
}

void draw_axes(Canvas& canvas, const Axes& axes, const AxisLabels& labels) {
  const Box& plot = axes.plot;
  const double size = labels.font_size;
  const TextStyle number{size, Weight::Regular, kGranite, Align::Center, 0, 0, 0};
  const double y_step = tick_step(axes.y_high - axes.y_low, labels.y_ticks, labels.y_kind);
  double widest = 0;
  for_each_tick(axes.y_low, axes.y_high, y_step, [&](double value) {
    const double y = axes(axes.x_low, value).y;
    canvas.move_to({plot.x, y});
    canvas.line_to({plot.right(), y});
    canvas.stroke({kMortar, kHairline * 0.8, LineStyle::Solid});
    TextStyle style = number;
    style.align = Align::Right;
    const Box box = canvas.text({plot.x - size * 0.5, y - size * 0.62},
                                fixed_text(value, decimals_of(y_step)), style);
    widest = std::max(widest, box.width);
  });
  if (!labels.y.empty()) {
    canvas.text_upwards({plot.x - widest - size * 1.5, plot.y + plot.height / 2}, labels.y, number);
  }
  canvas.move_to({plot.x, plot.bottom()});
  canvas.line_to({plot.right(), plot.bottom()});
  canvas.stroke({kGranite, kHairline, LineStyle::Solid});
  const double x_step = tick_step(axes.x_high - axes.x_low, labels.x_ticks, labels.x_kind);
  for_each_tick(axes.x_low, axes.x_high, x_step, [&](double value) {
    const double x = axes(value, axes.y_low).x;
    canvas.move_to({x, plot.bottom()});
    canvas.line_to({x, plot.bottom() + size * 0.35});
    canvas.stroke({kGranite, kHairline, LineStyle::Solid});
    if (!labels.x.empty()) {
      canvas.text({x, plot.bottom() + size * 0.5}, fixed_text(value, decimals_of(x_step)), number);
    }
  });
  if (!labels.x.empty()) {
    canvas.text({plot.x + plot.width / 2, plot.bottom() + size * 1.8}, labels.x, number);
  }
}

}  // namespace lintel::report
