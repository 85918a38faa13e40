// Blocks of the printed pages: stacks of text in a column, tables that go on over pages, panels.
#pragma once

#include <string>
#include <vector>

#include "report/canvas.h"
#include "report/page_frame.h"

namespace lintel::report {

struct StackItem {
  std::string text;
  TextStyle style;  // its width and lines are set by the stack
  double gap = 0;   // above it; not for the first one
  double indent = 0;
  std::string mark = {};  // in the indent, "1" or a bullet; empty = none
};
using Stack = std::vector<StackItem>;

double stack_height(Canvas& canvas, const Stack& stack, double width);
// Returns the y below the last line. The box's height is not looked at: measure first.
double draw_stack(Canvas& canvas, Point at, double width, const Stack& stack);
// The stack over the whole width of the pages, going on on the next one where it must.
void flow_stack(PageFlow& flow, const Stack& stack);

struct TableColumn {
  std::string title;
  double share = 1;  // of the width, against the other columns
  Align align = Align::Left;
};
struct TableRow {
  std::vector<std::string> cells;
  Weight weight = Weight::Regular;
};
struct Table {
  std::vector<TableColumn> columns;
  std::vector<TableRow> rows;
  double size = 7.6;  // of the type
};
// The head is repeated on every page; cells wrap, rows are not split.
void flow_table(PageFlow& flow, const Table& table);

// A panel with a thick edge on its left: what must not be overlooked.
void flow_panel(PageFlow& flow, const Stack& stack, Color edge, Color ground);
// The same into a box of this width, as high as panel_height says.
double panel_height(Canvas& canvas, const Stack& stack, double width);
void draw_panel(Canvas& canvas, const Box& box, const Stack& stack, Color edge, Color ground);

}  // namespace lintel::report
