#include "app/test_photo_drawing.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "app/test_text.h"
#include "report/photo_drawing.h"

namespace lintel::app {
namespace {

using body::PhotoAxis;
using body::PhotoLine;
using body::PhotoMeasure;
using kinematics::PhotoPoints;
using report::Point;

Point to_point(const Eigen::Vector2d& p) {
  return {p.x(), p.y()};
}

// Direction in the picture, y down.
Eigen::Vector2d direction(const PhotoLine& line, const PhotoPoints& points) {
  switch (line.axis) {
    case PhotoAxis::Up:
      return {0, -1};
    case PhotoAxis::Down:
      return {0, 1};
    case PhotoAxis::Horizontal:
      return {1, 0};
    case PhotoAxis::Free:
      break;
  }
  return (points.at(line.to).position_px - points.at(line.from).position_px).normalized();
}

// Where the two lines meet on the body: a shared point, or the start of the one that has points.
Eigen::Vector2d apex_of(const body::PhotoRecipe& recipe, const PhotoPoints& points) {
  const PhotoLine& a = recipe.first;
  const PhotoLine& b = recipe.second;
  if (a.axis != PhotoAxis::Free) return points.at(b.from).position_px;
  if (b.axis != PhotoAxis::Free) return points.at(a.from).position_px;
  if (a.to == b.from || a.to == b.to) return points.at(a.to).position_px;
  return points.at(b.from).position_px;
}

void add_lines(const body::PhotoRecipe& recipe, const PhotoPoints& points, double length,
               report::PhotoDrawing& drawing) {
  const auto add = [&](const PhotoLine& line, const Eigen::Vector2d& apex) {
    if (line.axis == PhotoAxis::Free) {
      if (line.from.empty()) return;
      drawing.lines.push_back({to_point(points.at(line.from).position_px),
                               to_point(points.at(line.to).position_px), false});
      return;
    }
    drawing.lines.push_back(
        {to_point(apex), to_point(apex + length * direction(line, points)), true});
  };
  if (recipe.measure == PhotoMeasure::Distance) {
    add(recipe.first, {0, 0});
    return;
  }
  const Eigen::Vector2d apex = apex_of(recipe, points);
  // The first line, carried on beyond the joint where it ends there, shows from where one counts.
  const bool ends_at_apex = recipe.first.axis == PhotoAxis::Free && !recipe.first.to.empty() &&
                            (points.at(recipe.first.to).position_px - apex).norm() < 1.0;
  add(recipe.first, apex);
  add(recipe.second, apex);
  Eigen::Vector2d from = direction(recipe.first, points);
  Eigen::Vector2d to = direction(recipe.second, points);
  if (ends_at_apex) {
    drawing.lines.push_back({to_point(apex), to_point(apex + 0.6 * length * from), true});
  }
  if (recipe.measure == PhotoMeasure::Slope && from.dot(to) < 0) to = -to;
  if (recipe.measure == PhotoMeasure::Between && recipe.factor < 0) {
    // 180 degrees less what is between: counted from the other end of the first line.
    from = -from;
    drawing.lines.push_back({to_point(apex), to_point(apex + 0.6 * length * from), true});
  }
  drawing.arc =
      report::PhotoArc{to_point(apex), std::atan2(from.y(), from.x()), std::atan2(to.y(), to.x())};
}

}  // namespace

Result<Image> draw_photo(const formats::PhotoDocument& document, const Image& picture) {
  const body::PhotoRecipe& recipe = *document.protocol->photo;
  report::PhotoDrawing drawing;
  Eigen::Vector2d low = document.points.begin()->second.position_px, high = low;
  for (const auto& [name, point] : document.points) {
    report::PhotoMark mark{to_point(point.position_px), point.error_px, point.by_hand, {}, name};
    if (const auto was = document.originals.find(name); was != document.originals.end()) {
      mark.original = to_point(was->second.position_px);
    }
    drawing.points.push_back(std::move(mark));
    low = low.cwiseMin(point.position_px);
    high = high.cwiseMax(point.position_px);
  }
  if (document.known_length) {
    drawing.lines.push_back(
        {to_point(document.known_length->from_px), to_point(document.known_length->to_px), true});
  }
  const double length = std::max(0.8 * (high - low).norm(), 0.08 * picture.height());
  add_lines(recipe, document.points, length, drawing);
  const Point at =
      drawing.arc ? drawing.arc->apex : to_point(document.points.at(recipe.first.to).position_px);
  drawing.label_at = {at.x + 0.03 * picture.width(), at.y - 0.06 * picture.height()};
  drawing.label = estimate_text(document.reading.result, document.protocol->unit);
  drawing.caption = document.protocol->name;
  if (document.side != body::TestSide::Both) {
    drawing.caption += ", " + std::string(body::test_side_name(document.side));
  }
  return report::mark_test_photo(picture, drawing);
}

}  // namespace lintel::app
