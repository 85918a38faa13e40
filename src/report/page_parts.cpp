#include "report/page_parts.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/cautions.h"
#include "report/marks.h"
#include "report/text_safety.h"

namespace lintel::report {

using kinematics::Channel;
using kinematics::Measurement;
using kinematics::Repetition;

TextStyle heading_style(double width) {
  return {10.5, Weight::Bold, kInk, Align::Left, width, 1, 0};
}

TextStyle body_style(double width, int max_lines) {
  return {8.2, Weight::Regular, kInk, Align::Left, width, max_lines, 0.6};
}

std::string long_date(std::string_view iso) {
  if (!is_iso_date(iso)) return std::string(iso);
  static constexpr std::array<const char*, 12> kMonths = {
      "January", "February", "March",     "April",   "May",      "June",
      "July",    "August",   "September", "October", "November", "December"};
  const int month = (iso[5] - '0') * 10 + (iso[6] - '0');
  const std::string day(iso.substr(iso[8] == '0' ? 9 : 8));
  return day + " " + kMonths[static_cast<std::size_t>(month - 1)] + " " +
         std::string(iso.substr(0, 4));
}

double flow_text(Canvas& canvas, const Box& box, std::string_view text, TextStyle style) {
  style.width = box.width;
  TextStyle one_line = style;
  one_line.max_lines = 1;
  const double line = canvas.measure("Ag", one_line).height + style.line_gap;
  const int room = static_cast<int>(std::floor((box.height + style.line_gap + 0.1) / line));
  if (room < 1 || text.empty()) return box.y;
  style.max_lines = style.max_lines > 0 ? std::min(style.max_lines, room) : room;
  return canvas.text({box.x, box.y}, text, style).bottom();
}

namespace {

constexpr double kGap = 3;

std::size_t slot(Channel channel) {
  return static_cast<std::size_t>(channel);
}

}  // namespace

BottomMean mean_at_bottom(const Measurement* measurement, Channel channel) {
  BottomMean mean;
  if (measurement == nullptr) return mean;
  double value = 0;
  double error = 0;
  for (const Repetition& repetition : measurement->repetitions) {
    const Estimate& bottom = repetition.channels[slot(channel)].bottom;
    if (repetition.outcome != kinematics::RepetitionOutcome::Completed) continue;
    if (!std::isfinite(bottom.value)) continue;
    value += bottom.value;
    error += bottom.standard_error;
    ++mean.count;
  }
  if (mean.count > 0) mean.estimate = {value / mean.count, error / mean.count};
  return mean;
}

namespace {

std::string over_repetitions(int count) {
  if (count == 0) return "";
  if (count == 1) return " One repetition.";
  return " Mean of " + std::to_string(count) + " repetitions.";
}

struct KeyNumber {
  std::string number;
  std::string words;
  Color color;
};

KeyNumber trunk_number(const BottomMean& mean) {
  if (mean.count == 0) return {"–", "The lean of the trunk was not seen on this film.", kHarbour};
  return {degrees_text(mean.estimate),
          "is how far your trunk leans forward from upright at the bottom." +
              over_repetitions(mean.count),
          kHarbour};
}

KeyNumber shank_number(const BottomMean& mean) {
  if (mean.count == 0) return {"–", "The tilt of the shin was not seen on this film.", kSlate};
  return {degrees_text(mean.estimate),
          "is how far your shins tilt forward at the bottom. More tilt lets the trunk stay taller.",
          kSlate};
}

KeyNumber depth_number(const BottomMean& mean, UnitSystem units) {
  if (mean.count == 0) return {"–", "The depth was not seen on this film.", kGranite};
  Estimate size = mean.estimate;
  const bool below = size.value >= 0;
  size.value = std::abs(size.value);
  return {length_text(size, units),
          below ? "is how far your hips go below your knees."
                : "is how far your hips stay above your knees.",
          kGranite};
}

}  // namespace

void draw_key_numbers(Canvas& canvas, const Box& box, const view::Assessment& assessment,
                      UnitSystem units) {
  const std::array<KeyNumber, 3> numbers = {
      trunk_number(mean_at_bottom(assessment.side, Channel::TrunkInclination)),
      shank_number(mean_at_bottom(assessment.side, Channel::ShankInclination)),
      depth_number(mean_at_bottom(assessment.side, Channel::Depth), units)};
  const double step = box.height / static_cast<double>(numbers.size());
  const double size = std::clamp(step * 0.40, 15.0, 27.0);
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const double y = box.y + step * static_cast<double>(i);
    canvas.rectangle({box.x, y + 3, 3.2, step - 9});
    canvas.fill(numbers[i].color);
    const Box text{box.x + 12, y, box.width - 12, step - 4};
    const Box number = canvas.text({text.x, text.y}, numbers[i].number,
                                   {size, Weight::Bold, kInk, Align::Left, text.width, 1, 0});
    TextStyle words = body_style(text.width, 0);
    words.size = 9;
    flow_text(canvas,
              {text.x, number.bottom() + 1, text.width, text.bottom() - number.bottom() - 1},
              numbers[i].words, words);
  }
}

namespace {

struct Column {
  const char* title;
  const char* unit;
  double share;  // of the width
};

std::array<std::string, 6> table_row(const Repetition& repetition, std::size_t number,
                                     UnitSystem units) {
  const auto degrees = [&](Channel channel) {
    return degrees_value(repetition.channels[slot(channel)].bottom);
  };
  const double factor = units == UnitSystem::Metric ? 100.0 : 1.0 / kMetresPerInch;
  const char* mark = repetition.outcome == kinematics::RepetitionOutcome::Completed ? ""
                     : repetition.outcome == kinematics::RepetitionOutcome::Failed  ? " ×"
                                                                                    : " …";
  return {std::to_string(number) + mark,
          degrees(Channel::TrunkInclination),
          degrees(Channel::ShankInclination),
          degrees(Channel::KneeFlexion),
          fixed_text(repetition.channels[slot(Channel::Depth)].bottom.value * factor, 1),
          fixed_text(repetition.descent_duration, 1) + " / " +
              fixed_text(repetition.ascent_duration, 1)};
}

std::string table_note(const Measurement& measurement, std::size_t left_out) {
  bool failed = false;
  bool cut = false;
  for (const Repetition& repetition : measurement.repetitions) {
    failed = failed || repetition.outcome == kinematics::RepetitionOutcome::Failed;
    cut = cut || repetition.outcome == kinematics::RepetitionOutcome::CutOff;
  }
  std::string note;
  if (left_out > 0) note += "and " + std::to_string(left_out) + " more in the file. ";
  if (failed) note += "× not completed. ";
  if (cut) note += "… cut off by the film's end. ";
  return note;
}

}  // namespace

void draw_repetition_table(Canvas& canvas, const Box& box, const view::Assessment& assessment,
                           UnitSystem units) {
  const Box heading =
      canvas.text({box.x, box.y}, "Each repetition, at the bottom", heading_style(box.width));
  double y = heading.bottom() + kGap;
  if (assessment.side == nullptr || assessment.side->repetitions.empty()) {
    flow_text(canvas, {box.x, y, box.width, box.bottom() - y},
              "No repetition was found on this film.", body_style(box.width, 2));
    return;
  }
  const auto& repetitions = assessment.side->repetitions;
  const std::array<Column, 6> columns = {
      {{"", "", 0.09},
       {"trunk", "", 0.15},
       {"shin", "", 0.13},
       {"knee", "", 0.15},
       {units == UnitSystem::Metric ? "depth cm" : "depth in", "", 0.22},
       {"down / up s", "", 0.26}}};
  TextStyle cell{7.6, Weight::Regular, kGranite, Align::Right, 0, 1, 0};
  const double line = canvas.measure("Ag", cell).height;
  const auto draw_row = [&](const std::array<std::string, 6>& texts, double row_y) {
    double x = box.x;
    for (std::size_t c = 0; c < columns.size(); ++c) {
      x += columns[c].share * box.width;
      canvas.text({x, row_y}, texts[c], cell);
    }
  };
  draw_row({columns[0].title, columns[1].title, columns[2].title, columns[3].title,
            columns[4].title, columns[5].title},
           y);
  y += line + 1.5;
  canvas.move_to({box.x, y});
  canvas.line_to({box.right(), y});
  canvas.stroke({kTimber, 1.2, LineStyle::Solid});
  y += 1.5;
  cell.color = kInk;
  const double pitch = std::clamp((box.bottom() - y - line) / 12, line, line + 2.5);
  std::size_t fitting =
      static_cast<std::size_t>(std::max(std::floor((box.bottom() - y - line) / pitch), 1.0));
  fitting = std::min({fitting, repetitions.size(), std::size_t{12}});
  for (std::size_t r = 0; r < fitting; ++r) {
    if (r % 2 == 1) {
      canvas.rectangle({box.x, y, box.width, pitch});
      canvas.fill(kLimewash);
    }
    draw_row(table_row(repetitions[r], r + 1, units), y + (pitch - line) / 2);
    y += pitch;
  }
  flow_text(canvas, {box.x, y + 1, box.width, box.bottom() - y + 2},
            table_note(*assessment.side, repetitions.size() - fitting),
            {6.8, Weight::Regular, kGranite, Align::Left, box.width, 1, 0});
}

namespace {

constexpr double kRemarkSize = 7.6;
constexpr std::size_t kMostRemarks = 3;

TextStyle remark_style(double width) {
  return {kRemarkSize, Weight::Regular, kInk, Align::Left, width, 2, 0};
}

double remark_height(Canvas& canvas, double width, const std::string& text) {
  return canvas.measure(text, remark_style(width - 10)).height + 1.5;
}

// As many remarks as fit, and how many more there are.
std::vector<std::string> remarks(Canvas& canvas, double width, const view::Assessment& assessment,
                                 double room) {
  std::vector<std::string> texts;
  if (assessment.side == nullptr) return texts;
  const auto& warnings = assessment.side->warnings;
  const double line = remark_height(canvas, width, "Ag");
  for (const kinematics::Warning& warning : warnings) {
    std::string text = warning.message + (warning.advice.empty() ? "" : " " + warning.advice);
    const bool is_last = texts.size() + 1 == warnings.size();
    const double height = remark_height(canvas, width, text);
    if (texts.size() == kMostRemarks || height + (is_last ? 0 : line) > room + 0.1) break;
    room -= height;
    texts.push_back(std::move(text));
  }
  if (texts.size() < warnings.size()) {
    texts.push_back("And " + std::to_string(warnings.size() - texts.size()) + " more in the file.");
  }
  return texts;
}

double remarks_heading_height(Canvas& canvas, double width) {
  return canvas.measure("Ag", heading_style(width)).height + kGap;
}

}  // namespace

double film_remarks_height(Canvas& canvas, double width, const view::Assessment& assessment,
                           double most) {
  double height = remarks_heading_height(canvas, width);
  const auto texts = remarks(canvas, width, assessment, most - height);
  if (texts.empty()) return 0;
  for (const std::string& text : texts) height += remark_height(canvas, width, text);
  return height;
}

void draw_film_remarks(Canvas& canvas, const Box& box, const view::Assessment& assessment) {
  const auto texts = remarks(canvas, box.width, assessment,
                             box.height - remarks_heading_height(canvas, box.width));
  if (texts.empty() || box.height <= 0) return;
  double y =
      canvas.text({box.x, box.y}, "About this film", heading_style(box.width)).bottom() + kGap;
  for (const std::string& text : texts) {
    const double below = flow_text(canvas, {box.x + 10, y, box.width - 10, box.bottom() - y}, text,
                                   remark_style(box.width - 10));
    if (below <= y) return;
    draw_post(canvas, {box.x + 4, y + kRemarkSize * 0.62}, {0, -1}, 2.2, 0.7);
    y = below + 1.5;
  }
}

namespace {
TextStyle caution_style(double width, double size) {
  return {size, Weight::Regular, kInk, Align::Left, width, 0, 0.2};
}
constexpr double kCautionPad = 7;
constexpr double kCautionColumnGap = 16;

struct CautionColumns {
  double width = 0;
  std::array<double, 2> height{};
};

std::string caution_line(const Caution& caution) {
  return std::string(caution.text);
}

CautionColumns measure_cautions(Canvas& canvas, double width, double size) {
  CautionColumns columns;
  columns.width = (width - 2 * kCautionPad - kCautionColumnGap) / 2;
  const auto list = cautions();
  const std::size_t half = (list.size() + 1) / 2;
  for (std::size_t i = 0; i < list.size(); ++i) {
    columns.height[i < half ? 0 : 1] +=
        canvas.measure(caution_line(list[i]), caution_style(columns.width - 8, size)).height + 1.5;
  }
  return columns;
}
}  // namespace

double cautions_height(Canvas& canvas, double width, double size) {
  const CautionColumns columns = measure_cautions(canvas, width, size);
  return std::max(columns.height[0], columns.height[1]) + 2 * kCautionPad - 1.5;
}

void draw_cautions(Canvas& canvas, const Box& box, double size) {
  canvas.rectangle(box);
  canvas.fill(kLimewash);
  canvas.rectangle({box.x, box.y, box.width, 1.6});
  canvas.fill(kInk);
  const CautionColumns columns = measure_cautions(canvas, box.width, size);
  const auto list = cautions();
  const std::size_t half = (list.size() + 1) / 2;
  double x = box.x + kCautionPad;
  double y = box.y + kCautionPad;
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (i == half) {
      x += columns.width + kCautionColumnGap;
      y = box.y + kCautionPad;
    }
    canvas.rectangle({x, y + 0.37 * size, 0.46 * size, 0.46 * size});
    canvas.fill(kInk);
    const Box text =
        canvas.text({x + 8, y}, caution_line(list[i]), caution_style(columns.width - 8, size));
    y = text.bottom() + 1.5;
  }
}

}  // namespace lintel::report
