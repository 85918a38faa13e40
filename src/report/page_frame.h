// The frame that all printed pages share: paper, doorway, head, cautions on the sill; and the flow
// of blocks over as many pages as it takes. Nothing is cut: what does not fit goes to the next
// page.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "report/canvas.h"

namespace lintel::report {

enum class Paper : std::uint8_t { A4, Letter };

// In points: ISO 216 A4, and 8.5 by 11 inches.
struct PaperSize {
  double width;
  double height;
};
constexpr PaperSize size_of(Paper paper) {
  return paper == Paper::A4 ? PaperSize{210 / 25.4 * 72, 297 / 25.4 * 72} : PaperSize{612, 792};
}

inline constexpr double kPageMargin = 40;  // [pt]
inline constexpr double kPageBeam = 6;     // thickness [pt]

// The page is a doorway: beam, two posts, and the sill, which holds the cautions.
void draw_doorway(Canvas& canvas, double beam_y, double sill_y);

// Several pages as a file, with everything that was written on each, for checks.
struct Pages {
  std::string pdf;
  std::vector<std::vector<Box>> text_boxes;  // [pt]
};

// Full: every sentence. Brief: the short forms; the full ones stand elsewhere in the document.
enum class SillCautions : std::uint8_t { Full, Brief };

struct PageFrame {
  Paper paper = Paper::A4;
  std::string kind;      // "Training plan"
  std::string who;       // large on the first page
  std::string line;      // under it
  std::string date;      // ISO 8601
  std::string footnote;  // small, under the sill of each page
  SillCautions cautions = SillCautions::Full;
  double caution_size = 7.0;
};

// Lays blocks below one another. Heights in points.
class PageFlow {
 public:
  PageFlow(Canvas& canvas, const PageFrame& frame, int page_count);

  double left() const { return kPageMargin; }
  double width() const { return canvas_.width() - 2 * kPageMargin; }
  double y() const { return y_; }
  double room() const { return bottom_ - y_; }               // left on this page
  double page_room() const { return bottom_ - inner_top_; }  // of an empty later page
  Canvas& canvas() { return canvas_; }

  void skip(double height) { y_ += height; }
  // Begins the next page unless `height` fits on this one.
  void need(double height);
  // need(), then the box of this height over the full width.
  Box take(double height);
  // Running text; goes on on the next page where it must. indent [pt] from the left.
  void paragraph(std::string_view text, TextStyle style, double indent = 0);
  // A paragraph with a square post before it.
  void bullet(std::string_view text, TextStyle style);
  // A heading with a rule under it, never the last thing on a page: `following` fits below it.
  void heading(std::string_view text, double size, double following);

  int finish();  // draws what ends the last page; returns the number of pages
  std::vector<std::vector<Box>> take_text_boxes() { return std::move(text_boxes_); }

 private:
  void begin_page();
  void end_page();

  Canvas& canvas_;
  const PageFrame& frame_;
  int page_count_ = 0;
  int page_ = 0;
  double y_ = 0;
  double inner_top_ = 0;
  double sill_ = 0;
  double bottom_ = 0;
  std::vector<std::vector<Box>> text_boxes_;
};

// Draws the blocks twice, first to count the pages. Errors: Invalid when the frame's date is not an
// ISO date; Internal from the drawing library.
Result<Pages> render_pages(const PageFrame& frame, const DocumentInfo& info,
                           const std::function<void(PageFlow&)>& draw);

// Characters of `text` that fit into a box of this size: the whole length, or up to a space.
std::size_t fitting_length(Canvas& canvas, std::string_view text, TextStyle style, double width,
                           double height);

}  // namespace lintel::report
