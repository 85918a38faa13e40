#include "report/page_frame.h"

#include <algorithm>
#include <cmath>

#include "base/cautions.h"
#include "report/marks.h"
#include "report/page_parts.h"

namespace lintel::report {
namespace {

constexpr double kFirstBeam = 76;  // [pt] from the top
constexpr double kLaterBeam = 46;
constexpr double kPost = 14;  // outside of the margin
constexpr double kAir = 9;    // between beam or sill and what is written
constexpr double kFoot = 26;  // below everything
constexpr double kFootnote = 6.4;
// The canvas prints at most 4000 bytes of one text (text_safety.h).
constexpr std::size_t kLongestText = 1500;

double sill_height(Canvas& canvas, const PageFrame& frame) {
  const double width = canvas.width() - 2 * kPageMargin + 2 * kPost;
  if (frame.cautions == SillCautions::Full) {
    return cautions_height(canvas, width, frame.caution_size);
  }
  return canvas
             .measure(cautions_brief(),
                      {frame.caution_size, Weight::Bold, kInk, Align::Left, width - 14, 0, 0.2})
             .height +
         10;
}

void draw_sill(Canvas& canvas, const PageFrame& frame, const Box& box) {
  if (frame.cautions == SillCautions::Full) return draw_cautions(canvas, box, frame.caution_size);
  canvas.rectangle(box);
  canvas.fill(kLimewash);
  canvas.rectangle({box.x, box.y, box.width, 1.6});
  canvas.fill(kInk);
  canvas.text({box.x + 7, box.y + 5.5}, cautions_brief(),
              {frame.caution_size, Weight::Bold, kInk, Align::Left, box.width - 14, 0, 0.2});
}

void draw_first_head(Canvas& canvas, const PageFrame& frame) {
  const double width = canvas.width() - 2 * kPageMargin;
  draw_house_sign(canvas, {kPageMargin, 30, 34, 36});
  const double x = kPageMargin + 46;
  const Box kind = canvas.text({kPageMargin + width, 24}, frame.kind,
                               {10.5, Weight::Bold, kTimber, Align::Right, 0, 0, 0});
  const Box date = canvas.text({kPageMargin + width, kind.bottom() + 1}, long_date(frame.date),
                               {9, Weight::Regular, kGranite, Align::Right, 0, 0, 0});
  TextStyle name{20, Weight::Bold, kInk, Align::Left, 0, 0, 0};
  const double room = std::min(date.x, kind.x) - x - 14;
  // A long name gets smaller before it takes two lines.
  while (name.size > 10 && canvas.measure(frame.who, name).width > room) name.size -= 1;
  name.width = room;
  name.max_lines = name.size > 10 ? 1 : 2;
  const double height = canvas.measure(frame.who, name).height;
  canvas.text({x, 53 - height}, frame.who, name);
  canvas.text({x, 56}, frame.line, {8.6, Weight::Regular, kGranite, Align::Left, width - 46, 1, 0});
}

void draw_later_head(Canvas& canvas, const PageFrame& frame) {
  const double width = canvas.width() - 2 * kPageMargin;
  const Box kind = canvas.text({kPageMargin + width, 29}, frame.kind + ", " + long_date(frame.date),
                               {8.6, Weight::Regular, kGranite, Align::Right, 0, 0, 0});
  canvas.text({kPageMargin, 28}, frame.who,
              {9.6, Weight::Bold, kInk, Align::Left, kind.x - kPageMargin - 14, 1, 0});
}

bool is_continuation(char c) {
  return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

}  // namespace

void draw_doorway(Canvas& canvas, double beam_y, double sill_y) {
  const double left = kPageMargin - kPost;
  const double right = canvas.width() - kPageMargin + kPost;
  canvas.rectangle({left - 5, beam_y, right - left + 10, kPageBeam});
  canvas.fill(kTimber);
  for (const double x : {left, right - 3.5}) {
    canvas.rectangle({x, beam_y + kPageBeam, 3.5, sill_y - beam_y - kPageBeam});
    canvas.fill(kHarbour);
  }
}

std::size_t fitting_length(Canvas& canvas, std::string_view text, TextStyle style, double width,
                           double height) {
  style.width = width;
  style.max_lines = 0;
  const auto fits = [&](std::size_t length) {
    return canvas.measure(text.substr(0, length), style).height <= height + 0.01;
  };
  std::size_t most = std::min(text.size(), kLongestText);
  while (most < text.size() && most > 0 && is_continuation(text[most])) --most;
  if (most == text.size() && fits(most)) return most;
  std::size_t low = 0;  // fits
  std::size_t high = most + 1;
  while (high - low > 1) {
    const std::size_t middle = low + (high - low) / 2;
    (fits(middle) ? low : high) = middle;
  }
  if (low == text.size()) return low;
  const std::size_t space = text.substr(0, low).find_last_of(" \n");
  if (space != std::string_view::npos && space > 0) return space + 1;
  while (low > 0 && low < text.size() && is_continuation(text[low])) --low;
  return low;
}

PageFlow::PageFlow(Canvas& canvas, const PageFrame& frame, int page_count)
    : canvas_(canvas), frame_(frame), page_count_(page_count) {
  sill_ = sill_height(canvas, frame);
  bottom_ = canvas.height() - kFoot - 11 - sill_ - kAir;
  inner_top_ = kLaterBeam + kPageBeam + kAir;
  begin_page();
}

void PageFlow::begin_page() {
  ++page_;
  canvas_.rectangle({0, 0, canvas_.width(), canvas_.height()});
  canvas_.fill(kPaper);
  const double beam = page_ == 1 ? kFirstBeam : kLaterBeam;
  const double sill_y = canvas_.height() - kFoot - 11 - sill_;
  draw_doorway(canvas_, beam, sill_y);
  page_ == 1 ? draw_first_head(canvas_, frame_) : draw_later_head(canvas_, frame_);
  const double width = canvas_.width() - 2 * kPageMargin + 2 * kPost;
  draw_sill(canvas_, frame_, {kPageMargin - kPost, sill_y, width, sill_});
  y_ = beam + kPageBeam + kAir;
}

void PageFlow::end_page() {
  const double y = canvas_.height() - kFoot - 8;
  const double width = canvas_.width() - 2 * kPageMargin + 2 * kPost;
  const std::string count =
      "Page " + std::to_string(page_) + " of " + std::to_string(std::max(page_count_, page_));
  const Box number = canvas_.text({kPageMargin - kPost + width, y}, count,
                                  {kFootnote, Weight::Bold, kGranite, Align::Right, 0, 0, 0});
  canvas_.text({kPageMargin - kPost, y}, frame_.footnote,
               {kFootnote, Weight::Regular, kGranite, Align::Left,
                number.x - kPageMargin + kPost - 10, 1, 0});
  text_boxes_.push_back(canvas_.text_boxes());
}

void PageFlow::need(double height) {
  if (height <= room() + 0.01) return;
  const bool is_fresh = page_ > 1 && y_ <= inner_top_ + 0.01;
  if (is_fresh) return;  // a new page would not help
  end_page();
  canvas_.next_page();
  begin_page();
}

Box PageFlow::take(double height) {
  need(height);
  const Box box{left(), y_, width(), height};
  y_ += height;
  return box;
}

void PageFlow::paragraph(std::string_view text, TextStyle style, double indent) {
  style.width = width() - indent;
  style.max_lines = 0;
  const double line = canvas_.measure("Ag", style).height;
  while (!text.empty()) {
    std::size_t length = fitting_length(canvas_, text, style, style.width, room());
    if (length == 0) {
      need(std::max(room() + 1, line));
      length = fitting_length(canvas_, text, style, style.width, room());
      if (length == 0) return;  // a page lower than a line; cannot be
    }
    std::string_view part = text.substr(0, length);
    while (!part.empty() && (part.back() == ' ' || part.back() == '\n')) part.remove_suffix(1);
    if (!part.empty()) y_ = canvas_.text({left() + indent, y_}, part, style).bottom();
    text.remove_prefix(length);
  }
}

void PageFlow::bullet(std::string_view text, TextStyle style) {
  const double indent = 1.3 * style.size;
  style.width = width() - indent;
  style.max_lines = 0;
  need(std::min(canvas_.measure(text.substr(0, kLongestText), style).height, page_room()));
  draw_post(canvas_, {left() + 0.42 * style.size, y_ + 0.62 * style.size}, {0, -1},
            0.28 * style.size, 0.7);
  paragraph(text, style, indent);
}

void PageFlow::heading(std::string_view text, double size, double following) {
  const TextStyle style{size, Weight::Bold, kInk, Align::Left, width(), 2, 0};
  const double height = canvas_.measure(text, style).height + 3.5;
  need(std::min(height + following, page_room()));
  const Box box = canvas_.text({left(), y_}, text, style);
  canvas_.rectangle({left(), box.bottom() + 1, width(), 1});
  canvas_.fill(kTimber);
  y_ = box.bottom() + 4.5;
}

int PageFlow::finish() {
  end_page();
  return page_;
}

Result<Pages> render_pages(const PageFrame& frame, const DocumentInfo& info,
                           const std::function<void(PageFlow&)>& draw) {
  const PaperSize size = size_of(frame.paper);
  int count = 0;
  {
    Canvas scratch = LINTEL_TRY(Canvas::pdf(size.width, size.height, info));
    PageFlow flow(scratch, frame, 0);
    draw(flow);
    count = flow.finish();
  }
  Canvas canvas = LINTEL_TRY(Canvas::pdf(size.width, size.height, info));
  PageFlow flow(canvas, frame, count);
  draw(flow);
  flow.finish();
  Pages pages;
  pages.text_boxes = flow.take_text_boxes();
  pages.pdf = LINTEL_TRY(canvas.finish());
  return pages;
}

}  // namespace lintel::report
