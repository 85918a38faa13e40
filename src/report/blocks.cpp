#include "report/blocks.h"

#include <algorithm>

namespace lintel::report {
namespace {

constexpr double kCellGap = 6;   // between columns
constexpr double kRowPad = 1.6;  // above and below a row's text
constexpr double kPanelPad = 9;
constexpr double kPanelEdge = 4;
constexpr double kPanelGap = 6;  // below a panel

TextStyle wrapped(TextStyle style, double width) {
  style.width = width;
  style.max_lines = 0;
  return style;
}

double item_height(Canvas& canvas, const StackItem& item, double width) {
  return canvas.measure(item.text, wrapped(item.style, width - item.indent)).height;
}

class TableDrawer {
 public:
  TableDrawer(PageFlow& flow, const Table& table) : flow_(flow), table_(table) {
    double sum = 0;
    for (const TableColumn& column : table.columns) sum += column.share;
    const double gaps = kCellGap * static_cast<double>(table.columns.size() - 1);
    double x = flow.left();
    for (const TableColumn& column : table.columns) {
      const double width = (flow.width() - gaps) * column.share / sum;
      x_.push_back(x);
      width_.push_back(width);
      x += width + kCellGap;
    }
  }

  void draw() {
    for (std::size_t i = 0; i < table_.rows.size(); ++i) {
      const double height = row_height(table_.rows[i].cells, table_.rows[i].weight);
      if (height + head_height() > flow_.page_room()) {
        draw_as_text(table_.rows[i]);  // a row higher than a page
        continue;
      }
      const double y = flow_.y();
      flow_.need(height + (i == 0 ? head_height() : 0));
      if (i == 0 || flow_.y() < y) draw_head();
      const Box box = flow_.take(height);
      if (i % 2 == 1) {
        flow_.canvas().rectangle({box.x - 3, box.y, box.width + 6, box.height});
        flow_.canvas().fill(kLimewash);
      }
      draw_cells(table_.rows[i].cells, box.y + kRowPad, style(table_.rows[i].weight, kInk));
    }
  }

 private:
  TextStyle style(Weight weight, Color color) const {
    return {table_.size, weight, color, Align::Left, 0, 0, 0};
  }
  TextStyle cell_style(TextStyle s, std::size_t column) const {
    s.align = table_.columns[column].align;
    return wrapped(s, width_[column]);
  }
  double row_height(const std::vector<std::string>& cells, Weight weight) {
    double height = 0;
    for (std::size_t c = 0; c < std::min(cells.size(), width_.size()); ++c) {
      height = std::max(
          height, flow_.canvas().measure(cells[c], cell_style(style(weight, kInk), c)).height);
    }
    return height + 2 * kRowPad;
  }
  void draw_cells(const std::vector<std::string>& cells, double y, const TextStyle& s) {
    for (std::size_t c = 0; c < std::min(cells.size(), width_.size()); ++c) {
      if (!cells[c].empty()) flow_.canvas().text({x_[c], y}, cells[c], cell_style(s, c));
    }
  }
  std::vector<std::string> titles() const {
    std::vector<std::string> words;
    for (const TableColumn& column : table_.columns) words.push_back(column.title);
    return words;
  }
  void draw_as_text(const TableRow& row) {
    for (std::size_t c = 0; c < std::min(row.cells.size(), width_.size()); ++c) {
      if (row.cells[c].empty()) continue;
      const std::string& title = table_.columns[c].title;
      flow_.paragraph((title.empty() ? "" : title + ": ") + row.cells[c], style(row.weight, kInk));
    }
  }
  double head_height() { return row_height(titles(), Weight::Regular) + 1.5; }
  void draw_head() {
    const double height = head_height();
    const Box box = flow_.take(height);
    draw_cells(titles(), box.y + kRowPad, style(Weight::Regular, kGranite));
    flow_.canvas().rectangle({box.x - 3, box.bottom() - 1.4, box.width + 6, 1.0});
    flow_.canvas().fill(kTimber);
  }

  PageFlow& flow_;
  const Table& table_;
  std::vector<double> x_, width_;
};

}  // namespace

double stack_height(Canvas& canvas, const Stack& stack, double width) {
  double height = 0;
  for (std::size_t i = 0; i < stack.size(); ++i) {
    height += item_height(canvas, stack[i], width) + (i > 0 ? stack[i].gap : 0);
  }
  return height;
}

double draw_stack(Canvas& canvas, Point at, double width, const Stack& stack) {
  double y = at.y;
  for (std::size_t i = 0; i < stack.size(); ++i) {
    const StackItem& item = stack[i];
    if (i > 0) y += item.gap;
    if (item.text.empty()) continue;
    const Box box =
        canvas.text({at.x + item.indent, y}, item.text, wrapped(item.style, width - item.indent));
    if (!item.mark.empty()) {
      TextStyle mark = item.style;
      mark.weight = Weight::Bold;
      mark.width = 0;
      canvas.text({at.x, y}, item.mark, mark);
    }
    y = box.bottom();
  }
  return y;
}

void flow_stack(PageFlow& flow, const Stack& stack) {
  for (std::size_t i = 0; i < stack.size(); ++i) {
    const StackItem& item = stack[i];
    if (i > 0) flow.skip(std::min(item.gap, flow.room()));
    const double height = item_height(flow.canvas(), item, flow.width());
    if (height < 0.5 * flow.page_room()) flow.need(height);
    if (!item.mark.empty()) {
      TextStyle mark = item.style;
      mark.weight = Weight::Bold;
      mark.width = 0;
      flow.need(flow.canvas().measure("Ag", mark).height);
      flow.canvas().text({flow.left(), flow.y()}, item.mark, mark);
    }
    flow.paragraph(item.text, item.style, item.indent);
  }
}

void flow_table(PageFlow& flow, const Table& table) {
  if (!table.columns.empty()) TableDrawer(flow, table).draw();
}

double panel_height(Canvas& canvas, const Stack& stack, double width) {
  return stack_height(canvas, stack, width - 2 * kPanelPad - kPanelEdge) + 2 * kPanelPad;
}

void draw_panel(Canvas& canvas, const Box& box, const Stack& stack, Color edge, Color ground) {
  canvas.rectangle(box);
  canvas.fill(ground);
  canvas.rectangle({box.x, box.y, kPanelEdge, box.height});
  canvas.fill(edge);
  draw_stack(canvas, {box.x + kPanelEdge + kPanelPad, box.y + kPanelPad},
             box.width - 2 * kPanelPad - kPanelEdge, stack);
}

void flow_panel(PageFlow& flow, const Stack& stack, Color edge, Color ground) {
  const double height = panel_height(flow.canvas(), stack, flow.width());
  if (height > flow.page_room()) return flow_stack(flow, stack);  // a panel cannot be split
  draw_panel(flow.canvas(), flow.take(height), stack, edge, ground);
  flow.skip(std::min(kPanelGap, flow.room()));
}

}  // namespace lintel::report
