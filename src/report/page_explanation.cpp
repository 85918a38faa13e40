// The two parts of the athlete's page that come from the posture model.
#include <algorithm>
#include <cmath>
#include <vector>

#include "report/marks.h"
#include "report/page_parts.h"

namespace lintel::report {
namespace {

constexpr std::size_t kMostParts = 6;

struct ShownPart {
  std::string label;
  double share = 0;  // [rad]
  std::string numbers;
  std::string chance;
};

std::string interval_text(const view::ExplanationPart& part) {
  const double to_degrees = kDegreesPerRadian;
  std::string text = fixed_text(part.share * to_degrees, 1) + "°";
  if (std::isfinite(part.low) && std::isfinite(part.high)) {
    text += " (" + fixed_text(part.low * to_degrees, 0) + " to " +
            fixed_text(part.high * to_degrees, 0) + ")";
  }
  return text;
}

// The largest parts, and one row for what is left so that the rows still sum to the whole.
std::vector<ShownPart> shown_parts(const std::vector<view::ExplanationPart>& all) {
  std::vector<view::ExplanationPart> sorted = all;
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto& a, const auto& b) {
    return std::abs(a.share) > std::abs(b.share);
  });
  std::vector<ShownPart> shown;
  const std::size_t single =
      sorted.size() <= kMostParts ? sorted.size() : std::size_t{kMostParts - 1};
  for (std::size_t i = 0; i < single; ++i) {
    const view::ExplanationPart& part = sorted[i];
    shown.push_back({part.label.empty() ? part.factor : part.label, part.share, interval_text(part),
                     fixed_text(part.probability_largest * 100, 0) + " %"});
  }
  if (single < sorted.size()) {
    ShownPart rest{std::to_string(sorted.size() - single) + " smaller ones together", 0, "", ""};
    for (std::size_t i = single; i < sorted.size(); ++i) rest.share += sorted[i].share;
    rest.numbers = fixed_text(rest.share * kDegreesPerRadian, 1) + "°";
    shown.push_back(rest);
  }
  return shown;
}

// The beam on its two posts, split in proportion to the parts that add to the lean.
double draw_beam(Canvas& canvas, const Box& box, const std::vector<ShownPart>& parts) {
  constexpr double kBeam = 17;
  constexpr double kPost = 9;
  double sum = 0;
  for (const ShownPart& part : parts) sum += std::max(part.share, 0.0);
  for (const double x : {box.x + 3, box.right() - 9}) {
    canvas.rectangle({x, box.y + kBeam, 6, kPost});
    canvas.fill(kGranite);
  }
  double x = box.x;
  for (std::size_t i = 0; i < parts.size() && sum > 0; ++i) {
    const double width = std::max(parts[i].share, 0.0) / sum * box.width;
    if (width <= 0) continue;
    const Box piece{x, box.y, width, kBeam};
    fill_pattern(canvas, piece, static_cast<int>(i));
    const std::string number = fixed_text(parts[i].share * kDegreesPerRadian, 0) + "°";
    const TextStyle style{8, Weight::Bold, kInk, Align::Center, 0, 0, 0};
    const Box size = canvas.measure(number, style);
    if (size.width + 8 < width) {
      const Point middle{x + width / 2, box.y + kBeam / 2};
      canvas.rectangle({middle.x - size.width / 2 - 2.5, middle.y - size.height / 2, size.width + 5,
                        size.height},
                       2);
      canvas.fill(kPaper.with_alpha(0.92));
      canvas.text({middle.x, middle.y - size.height / 2}, number, style);
    }
    x += width;
  }
  return box.y + kBeam + kPost;
}

std::string lean_sentence(const view::Explanation& explanation) {
  std::string text;
  if (explanation.observed_inclination) {
    text += "Your lean at the bottom: " + degrees_text(*explanation.observed_inclination) + ". ";
  }
  if (explanation.most_upright) {
    text +=
        "The most upright your body allows today: " + degrees_text(*explanation.most_upright) + ".";
  }
  return text;
}

std::string joined(const std::vector<std::string>& items) {
  std::string text;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) text += "; ";
    text += items[i];
  }
  return text;
}

void draw_cannot_tell(Canvas& canvas, const Box& box, const view::Explanation* explanation) {
  const bool given = explanation != nullptr && !explanation->cannot_tell.empty();
  double y = flow_text(
      canvas, box,
      given ? explanation->cannot_tell : "Not enough tests to tell what makes the trunk lean.",
      body_style(box.width, 4));
  if (explanation == nullptr || explanation->missing_tests.empty()) return;
  y += 4;
  flow_text(canvas, {box.x, y, box.width, box.bottom() - y},
            "These tests would tell: " + joined(explanation->missing_tests) + ".",
            body_style(box.width, 4));
}

double draw_legend(Canvas& canvas, const Box& box, const std::vector<ShownPart>& parts) {
  const TextStyle label{7.8, Weight::Regular, kInk, Align::Left, box.width - 150, 1, 0};
  const TextStyle number{7.8, Weight::Regular, kInk, Align::Right, 0, 0, 0};
  const TextStyle head{6.8, Weight::Regular, kGranite, Align::Right, 0, 0, 0};
  const double line = canvas.measure("Ag", label).height + 1.6;
  double y = box.y;
  const double chance_x = box.right();
  const double number_x = box.right() - 58;
  canvas.text({number_x, y}, "degrees (95 % interval)", head);
  canvas.text({chance_x, y}, "largest?", head);
  y += line - 1;
  for (std::size_t i = 0; i < parts.size() && y + line <= box.bottom() + 0.1; ++i) {
    fill_pattern(canvas, {box.x, y + 1.2, 15, line - 3.4}, static_cast<int>(i));
    canvas.text({box.x + 20, y}, parts[i].label, label);
    canvas.text({number_x, y}, parts[i].numbers, number);
    canvas.text({chance_x, y}, parts[i].chance, number);
    y += line;
  }
  return y;
}

}  // namespace

void draw_explanation(Canvas& canvas, const Box& box, const view::Assessment& assessment) {
  double y =
      canvas.text({box.x, box.y}, "What explains the lean", heading_style(box.width)).bottom() + 3;
  const view::Explanation* explanation =
      assessment.explanation ? &*assessment.explanation : nullptr;
  if (explanation != nullptr) {
    y = flow_text(canvas, {box.x, y, box.width, box.bottom() - y}, lean_sentence(*explanation),
                  body_style(box.width, 2)) +
        4;
  }
  if (explanation == nullptr || explanation->parts.empty()) {
    draw_cannot_tell(canvas, {box.x, y, box.width, box.bottom() - y}, explanation);
    return;
  }
  const auto parts = shown_parts(explanation->parts);
  y = draw_beam(canvas, {box.x, y, box.width, 0}, parts) + 1;
  y = draw_legend(canvas, {box.x, y, box.width, box.bottom() - y}, parts) + 2;
  if (explanation->sentences.empty()) return;
  flow_text(canvas, {box.x, y, box.width, box.bottom() - y}, explanation->sentences.front(),
            body_style(box.width, 3));
}

void draw_next_steps(Canvas& canvas, const Box& box, const view::Assessment& assessment) {
  double y = canvas.text({box.x, box.y}, "What to try next", heading_style(box.width)).bottom() + 3;
  if (!assessment.explanation || assessment.explanation->next_steps.empty()) {
    flow_text(canvas, {box.x, y, box.width, box.bottom() - y},
              "Nothing yet: take the mobility tests first, then the model can say what a change "
              "would bring.",
              body_style(box.width, 4));
    return;
  }
  const auto& steps = assessment.explanation->next_steps;
  const std::size_t shown = std::min<std::size_t>(steps.size(), 3);
  for (std::size_t i = 0; i < shown; ++i) {
    const double share = (box.bottom() - y) / static_cast<double>(shown - i);
    const Box item{box.x + 17, y, box.width - 17, share - 3};
    TextStyle title = body_style(item.width, 3);
    title.weight = Weight::Bold;
    double below = flow_text(canvas, item, steps[i].title, title);
    if (below <= item.y) return;
    canvas.rectangle({box.x, y, 11.5, 11.5});
    canvas.fill(kInk);
    canvas.text({box.x + 5.75, y + 0.6}, std::to_string(i + 1),
                {8, Weight::Bold, kPaper, Align::Center, 0, 0, 0});
    std::string detail = steps[i].detail;
    if (steps[i].less_lean) {
      detail = "The model expects " + degrees_text(*steps[i].less_lean) + " less lean. " + detail;
    }
    below = flow_text(canvas, {item.x, below, item.width, item.bottom() - below}, detail,
                      body_style(item.width, 0));
    y = below + 6;
  }
}

}  // namespace lintel::report
