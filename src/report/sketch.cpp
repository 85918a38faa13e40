#include "report/sketch.h"

#include <algorithm>
#include <cmath>

#include "report/sketch_marks.h"
#include "report/sketch_shapes.h"

namespace lintel::report {
namespace {

constexpr double kPanelGap = 10;  // between panels
constexpr double kRowGap = 6;
constexpr double kCaptionGap = 3;
constexpr double kLeastCell = 56;  // a caption narrower than that cannot be read
constexpr double kLeastScale = 1;  // canvas units a metre
constexpr double kRim = 0.009;     // [m] of paper round a limb before another

// A panel ready to be drawn at any scale.
struct Panel {
  const SketchPanel* source = nullptr;
  std::vector<SketchPose> poses;
  std::vector<SketchGroup> groups;  // back to front
  std::vector<PlacedMark> marks;
  SketchExtent extent;

  const SketchPose* pose() const { return poses.empty() ? nullptr : &poses.front(); }
};

Panel prepare(const SketchPanel& source) {
  Panel panel;
  panel.source = &source;
  for (const SketchFigure& figure : source.figures) {
    panel.poses.push_back(compute_pose(figure, source.view));
  }
  PropGroups props = prop_groups(source, panel.pose());
  panel.groups.push_back(std::move(props.behind));
  // A helper stands behind the first figure.
  for (std::size_t i = source.figures.size(); i-- > 0;) {
    for (SketchGroup& group : body_groups(source.figures[i], source.view, panel.poses[i])) {
      panel.groups.push_back(std::move(group));
    }
  }
  panel.groups.push_back(std::move(props.before));
  panel.marks = place_marks(source, panel.pose());
  for (const PlacedMark& mark : panel.marks) add_extent(mark, panel.extent);
  for (const SketchGroup& group : panel.groups) {
    for (const SketchShape& shape : group.shapes) panel.extent.add(shape.points);
  }
  SketchGroup ground = ground_group(source, panel.extent);
  for (const SketchShape& shape : ground.shapes) panel.extent.add(shape.points);
  panel.groups.insert(panel.groups.begin(), std::move(ground));
  return panel;
}

enum class Detail : std::uint8_t { All, ShortCaptions, Bare };

// How the panels lie in the box at one scale.
struct Layout {
  std::vector<std::size_t> row_of;
  std::vector<Box> extent;         // of each panel with its labels, origin of the picture at (0, 0)
  std::vector<double> cell_width;  // of each panel
  std::vector<double> row_top, row_bottom;  // extent of the rows' pictures, y down
  std::vector<double> row_caption;          // height of the captions
  double width = 0;                         // of the widest row
  double height = 0;
};

class SketchLayouter {
 public:
  SketchLayouter(Canvas& canvas, const Sketch& sketch, const SketchStyle& style)
      : canvas_(canvas), style_(style) {
    for (const SketchPanel& panel : sketch.panels) panels_.push_back(prepare(panel));
  }

  // Finds the largest scale for the box.
  void fit(double width, double height) {
    for (const Detail detail : {Detail::All, Detail::ShortCaptions, Detail::Bare}) {
      detail_ = detail;
      double best = 0;
      std::size_t best_columns = 1;
      for (std::size_t columns = 1; columns <= panels_.size(); ++columns) {
        const double scale = largest_scale(columns, width, height);
        // A tie goes to fewer rows.
        if (scale > 0 && scale >= best * 0.999) {
          best = scale;
          best_columns = columns;
        }
      }
      if (best <= 0) continue;
      scale_ = best;
      layout_ = lay_out(best_columns, best, width);
      return;
    }
    // Nothing fits at the least scale: a dot in the box is still inside of it.
    scale_ = 1e-3;
    layout_ = lay_out(panels_.size(), scale_, width);
  }

  double height() const { return layout_.height; }

  Box draw(const Box& box) {
    double y = box.y;
    std::size_t i = 0;
    for (std::size_t row = 0; row < layout_.row_top.size(); ++row) {
      double used = 0;
      std::size_t in_row = 0;
      for (std::size_t j = i; j < panels_.size() && layout_.row_of[j] == row; ++j, ++in_row) {
        used += layout_.cell_width[j];
      }
      used += kPanelGap * (static_cast<double>(in_row) - 1);
      double x = box.x + 0.5 * (box.width - used);
      const double baseline = y - layout_.row_top[row];
      for (; i < panels_.size() && layout_.row_of[i] == row; ++i) {
        const Box& extent = layout_.extent[i];
        const double cell = layout_.cell_width[i];
        const double left = x + 0.5 * (cell - extent.width) - extent.x;
        draw_panel(panels_[i], {{left, baseline}, scale_});
        const double below = baseline + layout_.row_bottom[row] + kCaptionGap;
        draw_caption(panels_[i], {x, below}, cell);
        x += cell + kPanelGap;
      }
      y += layout_.row_bottom[row] - layout_.row_top[row] + layout_.row_caption[row] + kRowGap;
    }
    const double width = std::min(layout_.width, box.width);
    return {box.x + 0.5 * (box.width - width), box.y, width, layout_.height};
  }

 private:
  bool has_caption(const Panel& panel) const {
    return detail_ != Detail::Bare && style_.captions == SketchCaptions::Show &&
           !panel.source->caption.empty();
  }
  TextStyle caption_style(double width) const {
    return {style_.text_size,
            Weight::Regular,
            kInk,
            Align::Center,
            width,
            detail_ == Detail::ShortCaptions ? 1 : 4,
            0};
  }

  std::vector<SketchLabel> labels(const Panel& panel, const SketchFrame& frame) {
    if (detail_ == Detail::Bare) return {};
    return place_labels(canvas_, panel.marks, *panel.source, panel.pose(), frame, style_.text_size);
  }

  // Canvas units, y down, origin of the picture frame at (0, 0).
  Box extent_of(const Panel& panel, double scale) {
    const SketchExtent& e = panel.extent;
    constexpr double kAir = 2;  // line widths and rims reach past the outline
    double left = e.left * scale - kAir;
    double right = e.right * scale + kAir;
    double top = -e.top * scale - kAir;
    double bottom = -e.bottom * scale + kAir;
    for (const SketchLabel& label : labels(panel, {{0, 0}, scale})) {
      left = std::min(left, label.box.x);
      right = std::max(right, label.box.right());
      top = std::min(top, label.box.y);
      bottom = std::max(bottom, label.box.bottom());
    }
    return {left, top, right - left, bottom - top};
  }

  Layout lay_out(std::size_t columns, double scale, double width) {
    Layout layout;
    const std::size_t n = panels_.size();
    const std::size_t rows = (n + columns - 1) / columns;
    for (std::size_t i = 0; i < n; ++i) layout.extent.push_back(extent_of(panels_[i], scale));
    for (std::size_t row = 0; row < rows; ++row) {
      const std::size_t begin = row * columns;
      const std::size_t end = std::min(begin + columns, n);
      const auto count = static_cast<double>(end - begin);
      double used = kPanelGap * (count - 1);
      double top = 0;
      double bottom = 0;
      for (std::size_t i = begin; i < end; ++i) {
        const Box& e = layout.extent[i];
        const double least = has_caption(panels_[i]) ? kLeastCell : 0;
        layout.row_of.push_back(row);
        layout.cell_width.push_back(std::max(e.width, least));
        used += layout.cell_width.back();
        top = i == begin ? e.y : std::min(top, e.y);
        bottom = i == begin ? e.bottom() : std::max(bottom, e.bottom());
      }
      // Captions get some of the room that is left.
      const double spare = std::clamp((width - used) / count, 0.0, 40.0);
      double caption = 0;
      for (std::size_t i = begin; i < end; ++i) {
        layout.cell_width[i] += spare;
        if (!has_caption(panels_[i])) continue;
        const Box text =
            canvas_.measure(panels_[i].source->caption, caption_style(layout.cell_width[i]));
        caption = std::max(caption, text.height + kCaptionGap);
      }
      used += spare * count;
      layout.width = std::max(layout.width, used);
      layout.row_top.push_back(top);
      layout.row_bottom.push_back(bottom);
      layout.row_caption.push_back(caption);
      layout.height += bottom - top + caption + (row > 0 ? kRowGap : 0);
    }
    return layout;
  }

  bool fits(std::size_t columns, double scale, double width, double height) {
    const Layout layout = lay_out(columns, scale, width);
    return layout.width <= width + 1e-6 && layout.height <= height + 1e-6;
  }

  // 0 when not even the least scale fits.
  double largest_scale(std::size_t columns, double width, double height) {
    double low = kLeastScale;
    double high = style_.most_scale;
    if (fits(columns, high, width, height)) return high;
    if (!fits(columns, low, width, height)) return 0;
    for (int i = 0; i < 14; ++i) {
      const double middle = 0.5 * (low + high);
      (fits(columns, middle, width, height) ? low : high) = middle;
    }
    return low;
  }

  void draw_panel(const Panel& panel, const SketchFrame& frame) {
    const auto outline = [&](const std::vector<SketchPoint>& points, bool closed) {
      std::vector<Point> out;
      out.reserve(points.size());
      for (const SketchPoint& p : points) out.push_back(frame(p));
      closed ? canvas_.polygon(out) : canvas_.polyline(out);
    };
    for (const SketchGroup& group : panel.groups) {
      for (const auto& rim : group.rim) {
        outline(rim, true);
        canvas_.stroke({kPaper, 2 * kRim * frame.scale, LineStyle::Solid});
      }
      for (const SketchShape& shape : group.shapes) {
        if (shape.fill.alpha > 0 && shape.closed) {
          outline(shape.points, true);
          canvas_.fill(shape.fill);
        }
        if (shape.line_width > 0) {
          outline(shape.points, shape.closed);
          canvas_.stroke({shape.line, std::max(shape.line_width * frame.scale, 0.4), shape.style});
        }
      }
    }
    for (const PlacedMark& mark : panel.marks) draw_mark(canvas_, mark, frame, style_.text_size);
    for (const SketchLabel& label : labels(panel, frame)) {
      draw_label(canvas_, label, style_.text_size);
    }
  }

  void draw_caption(const Panel& panel, Point at, double width) {
    if (has_caption(panel)) canvas_.text(at, panel.source->caption, caption_style(width));
  }

  Canvas& canvas_;
  SketchStyle style_;
  std::vector<Panel> panels_;
  Detail detail_ = Detail::All;
  double scale_ = 1;
  Layout layout_;
};

}  // namespace

Box draw_sketch(Canvas& canvas, const Box& box, const Sketch& sketch, const SketchStyle& style) {
  if (sketch.empty() || box.width <= 0 || box.height <= 0) return {box.x, box.y, 0, 0};
  SketchLayouter layouter(canvas, sketch, style);
  layouter.fit(box.width, box.height);
  return layouter.draw(box);
}

double sketch_height(Canvas& canvas, double width, double most_height, const Sketch& sketch,
                     const SketchStyle& style) {
  if (sketch.empty() || width <= 0 || most_height <= 0) return 0;
  SketchLayouter layouter(canvas, sketch, style);
  layouter.fit(width, most_height);
  return layouter.height();
}

Result<std::string> draw_sketch_svg(const std::string& title, const Sketch& sketch) {
  if (sketch.empty()) return fail(ErrorCode::Invalid, "there is nothing to draw");
  constexpr double kMargin = 12;
  constexpr double kColumn = 220;
  constexpr double kMostHeight = 900;
  std::string description;
  for (const SketchPanel& panel : sketch.panels) {
    if (!panel.caption.empty()) description += (description.empty() ? "" : "; ") + panel.caption;
  }
  const SketchStyle style{10, 150, SketchCaptions::Show};
  const double width =
      kColumn * static_cast<double>(std::min<std::size_t>(sketch.panels.size(), 3));
  double height = 0;
  {
    Canvas scratch = LINTEL_TRY(Canvas::svg(10, 10, {}));
    height = sketch_height(scratch, width, kMostHeight, sketch, style);
  }
  Canvas canvas = LINTEL_TRY(
      Canvas::svg(width + 2 * kMargin, height + 2 * kMargin, {title, description, "", ""}));
  canvas.rectangle({0, 0, canvas.width(), canvas.height()});
  canvas.fill(kPaper);
  draw_sketch(canvas, {kMargin, kMargin, width, height + 1}, sketch, style);
  return canvas.finish();
}

}  // namespace lintel::report
