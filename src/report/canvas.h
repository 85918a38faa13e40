// One drawing surface for SVG, PDF and pictures: what is drawn is the same on all three.
// Coordinates: points on SVG and PDF, pixels on a picture; x right, y down from the top left.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "report/palette.h"

namespace lintel::report {

struct Point {
  double x = 0;
  double y = 0;
};

struct Box {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;

  double right() const { return x + width; }
  double bottom() const { return y + height; }
  bool overlaps(const Box& other) const {
    return x < other.right() && other.x < right() && y < other.bottom() && other.y < bottom();
  }
  Box inset(double by) const { return {x + by, y + by, width - 2 * by, height - 2 * by}; }
};

enum class LineStyle : std::uint8_t { Solid, Dashed, Dotted, DashDot };

struct Stroke {
  Color color = kInk;
  double width = kLine;
  LineStyle style = LineStyle::Solid;
};

enum class Align : std::uint8_t { Left, Center, Right };
enum class Weight : std::uint8_t { Regular, Bold };

struct TextStyle {
  double size = 9;  // font size in the canvas's unit
  Weight weight = Weight::Regular;
  Color color = kInk;
  Align align = Align::Left;
  double width = 0;     // wrap at this width; 0 = one line
  int max_lines = 0;    // cut with an ellipsis after so many lines; 0 = as many as it takes
  double line_gap = 0;  // extra space between lines
};

// What the file says about itself. Dates are given, never taken from the clock.
struct DocumentInfo {
  std::string title;
  std::string description;  // in an SVG for those who cannot see it; subject of a PDF
  std::string author;
  std::string date;  // ISO 8601 date, "2026-11-25"; empty = none (SVG only)
};

// Move-only. Not thread-safe; different canvases may be used from different threads.
class Canvas {
 public:
  static Result<Canvas> svg(double width, double height, const DocumentInfo& info);
  static Result<Canvas> pdf(double width, double height, const DocumentInfo& info);
  // Draws on the picture itself when finish() is called; the picture must outlive the canvas.
  static Result<Canvas> on_image(Image& image);
  // The same for many pictures of one size: load, draw, store, without new surfaces and fonts.
  static Result<Canvas> for_images(int width, int height);
  void load(const Image& image);  // LINTEL_CHECKs the size
  void store(Image& image);

  Canvas(Canvas&&) noexcept;
  Canvas& operator=(Canvas&&) noexcept;
  ~Canvas();

  double width() const;
  double height() const;

  void move_to(Point p);
  void line_to(Point p);
  void close();
  void arc(Point center, double radius, double from, double to);  // [rad], y down: clockwise
  void rectangle(const Box& box, double corner_radius = 0);
  void polyline(std::span<const Point> points);  // NaN breaks the line
  void polygon(std::span<const Point> points);
  void fill(Color color);  // uses up the path
  void stroke(const Stroke& stroke);
  void clip();  // to the path, until the matching restore()
  void save();
  void restore();

  // Draws `source` (pixels of the picture) into `target`.
  void image(const Image& picture, const Box& source, const Box& target);

  // Size of the text set in this style, at the origin.
  Box measure(std::string_view text, const TextStyle& style);
  // Draws with the text box's top left at (x, y); with a width the alignment is inside of it,
  // without one x is the left, middle or right by alignment. Returns what it covers.
  Box text(Point at, std::string_view text, const TextStyle& style);
  // Along a line turned by -90 degrees (reads upwards), centred on `center`.
  Box text_upwards(Point center, std::string_view text, const TextStyle& style);

  // Everything written so far on this page, for checks of the layout.
  const std::vector<Box>& text_boxes() const;

  // Ends the page and begins the next of the same size; of a PDF only. Forgets text_boxes().
  void next_page();

  // The bytes of the SVG or PDF; for a picture draws back and returns nothing. Ends the canvas.
  // Errors: Internal with the drawing library's words.
  Result<std::string> finish();

 private:
  struct State;
  explicit Canvas(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

// The picture as a PNG file's bytes. Errors: Invalid (empty picture), Internal.
Result<std::string> encode_png(const Image& image);

}  // namespace lintel::report
