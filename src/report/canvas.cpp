#include "report/canvas.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>
#include <optional>

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <pango/pangocairo.h>

#include "report/text_safety.h"

namespace lintel::report {
namespace {

constexpr const char* kFontFamily = "DejaVu Sans";

template <auto Free>
struct Freer {
  template <typename T>
  void operator()(T* pointer) const {
    Free(pointer);
  }
};
using SurfacePtr = std::unique_ptr<cairo_surface_t, Freer<cairo_surface_destroy>>;
using CairoPtr = std::unique_ptr<cairo_t, Freer<cairo_destroy>>;
using LayoutPtr = std::unique_ptr<PangoLayout, Freer<g_object_unref>>;
using FontPtr = std::unique_ptr<PangoFontDescription, Freer<pango_font_description_free>>;

cairo_status_t append_bytes(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

tl::unexpected<Error> drawing_failed(cairo_status_t status) {
  return fail(ErrorCode::Internal, std::string("drawing failed: ") + cairo_status_to_string(status),
              "report this with the clip's size; the measurements are not affected");
}

// Bytes B, G, R, unused on little-endian machines: the order in which Image keeps its three.
void widen(const Image& image, int x0, int y0, cairo_surface_t* surface) {
  const int width = cairo_image_surface_get_width(surface);
  const int height = cairo_image_surface_get_height(surface);
  const std::size_t stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface));
  unsigned char* data = cairo_image_surface_get_data(surface);
  for (int y = 0; y < height; ++y) {
    const std::uint8_t* source = image.pixel(x0, y0 + y);
    unsigned char* row = data + static_cast<std::size_t>(y) * stride;
    for (int x = 0; x < width; ++x) {
      const std::uint32_t pixel = 0xFF000000U | std::uint32_t{source[0]} |
                                  std::uint32_t{source[1]} << 8U | std::uint32_t{source[2]} << 16U;
      std::memcpy(row + static_cast<std::size_t>(x) * 4, &pixel, 4);
      source += 3;
    }
  }
  cairo_surface_mark_dirty(surface);
}

void narrow(cairo_surface_t* surface, Image& image) {
  cairo_surface_flush(surface);
  const std::size_t stride = static_cast<std::size_t>(cairo_image_surface_get_stride(surface));
  const unsigned char* data = cairo_image_surface_get_data(surface);
  for (int y = 0; y < image.height(); ++y) {
    std::uint8_t* target = image.row(y);
    const unsigned char* row = data + static_cast<std::size_t>(y) * stride;
    for (int x = 0; x < image.width(); ++x) {
      std::uint32_t pixel = 0;
      std::memcpy(&pixel, row + static_cast<std::size_t>(x) * 4, 4);
      target[0] = static_cast<std::uint8_t>(pixel);
      target[1] = static_cast<std::uint8_t>(pixel >> 8U);
      target[2] = static_cast<std::uint8_t>(pixel >> 16U);
      target += 3;
    }
  }
}

// The library numbers its ids through the life of the process, which would make every output
// different: here they are numbered by their first use in the file.
std::string renumber(const std::string& svg, std::string_view stem) {
  std::string result;
  std::vector<std::string> seen;
  std::size_t at = 0;
  while (true) {
    const std::size_t found = svg.find(stem, at);
    if (found == std::string::npos) break;
    std::size_t end = found + stem.size();
    while (end < svg.size() && svg[end] >= '0' && svg[end] <= '9') ++end;
    const bool is_id = found > 0 && (svg[found - 1] == '"' || svg[found - 1] == '#') &&
                       end > found + stem.size() && end < svg.size() &&
                       (svg[end] == '"' || svg[end] == ')');
    result.append(svg, at, found + stem.size() - at);
    at = found + stem.size();
    if (!is_id) continue;
    const std::string number = svg.substr(at, end - at);
    auto place = std::find(seen.begin(), seen.end(), number);
    if (place == seen.end()) place = seen.insert(seen.end(), number);
    result += std::to_string(place - seen.begin() + 1);
    at = end;
  }
  return result.append(svg, at, std::string::npos);
}

// Adds title and description for those who cannot see the picture.
std::string finish_svg(std::string svg, const DocumentInfo& info) {
  svg = renumber(renumber(svg, "surface"), "image");
  const std::size_t open = svg.find("<svg ");
  const std::size_t close = open == std::string::npos ? open : svg.find('>', open);
  if (close == std::string::npos) return svg;
  svg.insert(close + 1, "\n<title id=\"title\">" + escape_xml(info.title) +
                            "</title>\n<desc id=\"description\">" + escape_xml(info.description) +
                            "</desc>");
  svg.insert(close, " role=\"img\" aria-labelledby=\"title description\"");
  return svg;
}

}  // namespace

enum class Target : std::uint8_t { Svg, Pdf, Picture };

struct Canvas::State {
  Target target = Target::Svg;
  double width = 0;
  double height = 0;
  DocumentInfo info;
  std::string bytes;  // outlives the surface, which appends to it
  SurfacePtr surface;
  CairoPtr cairo;
  LayoutPtr layout;
  FontPtr font;
  Image* picture = nullptr;
  std::vector<Box> text_boxes;

  bool set_up() {
    cairo.reset(cairo_create(surface.get()));
    if (cairo_status(cairo.get()) != CAIRO_STATUS_SUCCESS) return false;
    layout.reset(pango_cairo_create_layout(cairo.get()));
    cairo_font_options_t* options = cairo_font_options_create();
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_hint_style(
        options, target == Target::Picture ? CAIRO_HINT_STYLE_SLIGHT : CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(pango_layout_get_context(layout.get()), options);
    cairo_font_options_destroy(options);
    // Whole-pixel glyph positions spread small letters apart.
    pango_context_set_round_glyph_positions(pango_layout_get_context(layout.get()), FALSE);
    pango_layout_context_changed(layout.get());
    font.reset(pango_font_description_new());
    pango_font_description_set_family(font.get(), kFontFamily);
    cairo_set_line_join(cairo.get(), CAIRO_LINE_JOIN_ROUND);
    return true;
  }

  // Sets the text and returns its logical extents.
  Box lay_out(std::string_view text, const TextStyle& style) {
    pango_font_description_set_absolute_size(font.get(), style.size * PANGO_SCALE);
    pango_font_description_set_weight(
        font.get(), style.weight == Weight::Bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    PangoLayout* l = layout.get();
    pango_layout_set_font_description(l, font.get());
    const bool wraps = style.width > 0;
    pango_layout_set_width(l, wraps ? static_cast<int>(style.width * PANGO_SCALE) : -1);
    pango_layout_set_wrap(l, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_spacing(l, static_cast<int>(style.line_gap * PANGO_SCALE));
    pango_layout_set_height(l, style.max_lines > 0 ? -style.max_lines : -1);
    pango_layout_set_ellipsize(
        l, wraps && style.max_lines > 0 ? PANGO_ELLIPSIZE_END : PANGO_ELLIPSIZE_NONE);
    pango_layout_set_alignment(l, style.align == Align::Left     ? PANGO_ALIGN_LEFT
                                  : style.align == Align::Center ? PANGO_ALIGN_CENTER
                                                                 : PANGO_ALIGN_RIGHT);
    const std::string safe =
        printable_text(text, style.max_lines == 0 && wraps ? LineFeeds::Keep : LineFeeds::ToSpaces);
    pango_layout_set_text(l, safe.data(), static_cast<int>(safe.size()));
    PangoRectangle logical;
    pango_layout_get_extents(l, nullptr, &logical);
    constexpr double kScale = PANGO_SCALE;
    return {logical.x / kScale, logical.y / kScale, logical.width / kScale,
            logical.height / kScale};
  }
};

Canvas::Canvas(std::unique_ptr<State> state) : state_(std::move(state)) {}
Canvas::Canvas(Canvas&&) noexcept = default;
Canvas& Canvas::operator=(Canvas&&) noexcept = default;
Canvas::~Canvas() = default;

Result<Canvas> Canvas::svg(double width, double height, const DocumentInfo& info) {
  auto state = std::make_unique<State>();
  state->target = Target::Svg;
  state->width = width;
  state->height = height;
  state->info = info;
  state->surface.reset(
      cairo_svg_surface_create_for_stream(append_bytes, &state->bytes, width, height));
  if (!state->set_up()) return drawing_failed(cairo_surface_status(state->surface.get()));
  return Canvas(std::move(state));
}

Result<Canvas> Canvas::pdf(double width, double height, const DocumentInfo& info) {
  if (!is_iso_date(info.date)) {
    return fail(ErrorCode::Invalid, "the page's date is not of the form 2026-11-25: " + info.date);
  }
  auto state = std::make_unique<State>();
  state->target = Target::Pdf;
  state->width = width;
  state->height = height;
  state->info = info;
  state->surface.reset(
      cairo_pdf_surface_create_for_stream(append_bytes, &state->bytes, width, height));
  cairo_surface_t* surface = state->surface.get();
  const auto set = [surface](cairo_pdf_metadata_t what, const std::string& text) {
    if (!text.empty()) {
      cairo_pdf_surface_set_metadata(surface, what,
                                     printable_text(text, LineFeeds::ToSpaces).c_str());
    }
  };
  set(CAIRO_PDF_METADATA_TITLE, info.title);
  set(CAIRO_PDF_METADATA_SUBJECT, info.description);
  set(CAIRO_PDF_METADATA_AUTHOR, info.author);
  set(CAIRO_PDF_METADATA_CREATOR, "Lintel");
  set(CAIRO_PDF_METADATA_CREATE_DATE, info.date + "T00:00:00Z");
  if (!state->set_up()) return drawing_failed(cairo_surface_status(surface));
  return Canvas(std::move(state));
}

Result<Canvas> Canvas::for_images(int width, int height) {
  if (width <= 0 || height <= 0) return fail(ErrorCode::Invalid, "the picture is empty");
  auto state = std::make_unique<State>();
  state->target = Target::Picture;
  state->width = width;
  state->height = height;
  state->surface.reset(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
  if (!state->set_up()) return drawing_failed(cairo_surface_status(state->surface.get()));
  return Canvas(std::move(state));
}

Result<Canvas> Canvas::on_image(Image& image) {
  Canvas canvas = LINTEL_TRY(for_images(image.width(), image.height()));
  canvas.state_->picture = &image;
  canvas.load(image);
  return canvas;
}

void Canvas::load(const Image& image) {
  LINTEL_CHECK(state_->target == Target::Picture && image.width() == state_->width &&
               image.height() == state_->height);
  cairo_surface_flush(state_->surface.get());
  widen(image, 0, 0, state_->surface.get());
  state_->text_boxes.clear();
}

void Canvas::store(Image& image) {
  LINTEL_CHECK(state_->target == Target::Picture && image.width() == state_->width &&
               image.height() == state_->height);
  narrow(state_->surface.get(), image);
}

double Canvas::width() const {
  return state_->width;
}
double Canvas::height() const {
  return state_->height;
}

void Canvas::move_to(Point p) {
  cairo_move_to(state_->cairo.get(), p.x, p.y);
}
void Canvas::line_to(Point p) {
  cairo_line_to(state_->cairo.get(), p.x, p.y);
}
void Canvas::close() {
  cairo_close_path(state_->cairo.get());
}

void Canvas::arc(Point center, double radius, double from, double to) {
  if (to >= from) {
    cairo_arc(state_->cairo.get(), center.x, center.y, radius, from, to);
  } else {
    cairo_arc_negative(state_->cairo.get(), center.x, center.y, radius, from, to);
  }
}

void Canvas::rectangle(const Box& box, double corner_radius) {
  cairo_t* cairo = state_->cairo.get();
  if (corner_radius <= 0) {
    cairo_rectangle(cairo, box.x, box.y, box.width, box.height);
    return;
  }
  constexpr double kQuarter = std::numbers::pi / 2;
  const double r = std::min({corner_radius, box.width / 2, box.height / 2});
  cairo_new_sub_path(cairo);
  cairo_arc(cairo, box.right() - r, box.y + r, r, -kQuarter, 0);
  cairo_arc(cairo, box.right() - r, box.bottom() - r, r, 0, kQuarter);
  cairo_arc(cairo, box.x + r, box.bottom() - r, r, kQuarter, 2 * kQuarter);
  cairo_arc(cairo, box.x + r, box.y + r, r, 2 * kQuarter, 3 * kQuarter);
  cairo_close_path(cairo);
}

void Canvas::polyline(std::span<const Point> points) {
  bool broken = true;
  for (const Point& p : points) {
    if (!std::isfinite(p.x) || !std::isfinite(p.y)) {
      broken = true;
      continue;
    }
    broken ? move_to(p) : line_to(p);
    broken = false;
  }
}

void Canvas::polygon(std::span<const Point> points) {
  if (points.empty()) return;
  polyline(points);
  close();
}

void Canvas::fill(Color color) {
  cairo_t* cairo = state_->cairo.get();
  cairo_set_source_rgba(cairo, color.red, color.green, color.blue, color.alpha);
  cairo_fill(cairo);
}

void Canvas::stroke(const Stroke& stroke) {
  cairo_t* cairo = state_->cairo.get();
  const double w = stroke.width;
  const double dashed[] = {4 * w, 2.5 * w};
  const double dotted[] = {w, 1.8 * w};
  const double dash_dot[] = {5 * w, 2 * w, w, 2 * w};
  switch (stroke.style) {
    case LineStyle::Solid:
      cairo_set_dash(cairo, nullptr, 0, 0);
      break;
    case LineStyle::Dashed:
      cairo_set_dash(cairo, dashed, 2, 0);
      break;
    case LineStyle::Dotted:
      cairo_set_dash(cairo, dotted, 2, 0);
      break;
    case LineStyle::DashDot:
      cairo_set_dash(cairo, dash_dot, 4, 0);
      break;
  }
  cairo_set_line_width(cairo, w);
  cairo_set_source_rgba(cairo, stroke.color.red, stroke.color.green, stroke.color.blue,
                        stroke.color.alpha);
  cairo_stroke(cairo);
}

void Canvas::clip() {
  cairo_clip(state_->cairo.get());
}
void Canvas::save() {
  cairo_save(state_->cairo.get());
}
void Canvas::restore() {
  cairo_restore(state_->cairo.get());
}

void Canvas::image(const Image& picture, const Box& source, const Box& target) {
  const int x0 = std::clamp(static_cast<int>(std::floor(source.x)), 0, picture.width());
  const int y0 = std::clamp(static_cast<int>(std::floor(source.y)), 0, picture.height());
  const int x1 = std::clamp(static_cast<int>(std::ceil(source.right())), x0, picture.width());
  const int y1 = std::clamp(static_cast<int>(std::ceil(source.bottom())), y0, picture.height());
  if (x1 == x0 || y1 == y0 || source.width <= 0 || source.height <= 0) return;
  const SurfacePtr part(cairo_image_surface_create(CAIRO_FORMAT_RGB24, x1 - x0, y1 - y0));
  if (cairo_surface_status(part.get()) != CAIRO_STATUS_SUCCESS) return;
  widen(picture, x0, y0, part.get());
  cairo_t* cairo = state_->cairo.get();
  cairo_save(cairo);
  cairo_rectangle(cairo, target.x, target.y, target.width, target.height);
  cairo_clip(cairo);
  cairo_translate(cairo, target.x, target.y);
  cairo_scale(cairo, target.width / source.width, target.height / source.height);
  cairo_translate(cairo, x0 - source.x, y0 - source.y);
  cairo_set_source_surface(cairo, part.get(), 0, 0);
  cairo_pattern_set_filter(cairo_get_source(cairo), CAIRO_FILTER_GOOD);
  cairo_paint(cairo);
  cairo_restore(cairo);
}

Box Canvas::measure(std::string_view text, const TextStyle& style) {
  return state_->lay_out(text, style);
}

Box Canvas::text(Point at, std::string_view text, const TextStyle& style) {
  Box box = state_->lay_out(text, style);
  double x = at.x;
  if (style.width <= 0) {
    if (style.align == Align::Center) x -= box.width / 2;
    if (style.align == Align::Right) x -= box.width;
  }
  cairo_t* cairo = state_->cairo.get();
  cairo_set_source_rgba(cairo, style.color.red, style.color.green, style.color.blue,
                        style.color.alpha);
  cairo_move_to(cairo, x, at.y);
  pango_cairo_show_layout(cairo, state_->layout.get());
  cairo_new_path(cairo);
  box.x += x;
  box.y += at.y;
  state_->text_boxes.push_back(box);
  return box;
}

Box Canvas::text_upwards(Point center, std::string_view text, const TextStyle& style) {
  const Box box = state_->lay_out(text, style);
  cairo_t* cairo = state_->cairo.get();
  cairo_save(cairo);
  cairo_translate(cairo, center.x, center.y);
  cairo_rotate(cairo, -std::numbers::pi / 2);
  cairo_set_source_rgba(cairo, style.color.red, style.color.green, style.color.blue,
                        style.color.alpha);
  cairo_move_to(cairo, -box.width / 2, -box.height / 2);
  pango_cairo_show_layout(cairo, state_->layout.get());
  cairo_new_path(cairo);
  cairo_restore(cairo);
  const Box turned{center.x - box.height / 2, center.y - box.width / 2, box.height, box.width};
  state_->text_boxes.push_back(turned);
  return turned;
}

const std::vector<Box>& Canvas::text_boxes() const {
  return state_->text_boxes;
}

void Canvas::next_page() {
  LINTEL_CHECK(state_->target == Target::Pdf);
  cairo_show_page(state_->cairo.get());
  state_->text_boxes.clear();
}

Result<std::string> Canvas::finish() {
  const cairo_status_t drawn = cairo_status(state_->cairo.get());
  if (drawn != CAIRO_STATUS_SUCCESS) return drawing_failed(drawn);
  if (state_->target == Target::Picture) {
    if (state_->picture != nullptr) narrow(state_->surface.get(), *state_->picture);
    return std::string();
  }
  cairo_show_page(state_->cairo.get());
  cairo_surface_finish(state_->surface.get());
  const cairo_status_t written = cairo_surface_status(state_->surface.get());
  if (written != CAIRO_STATUS_SUCCESS) return drawing_failed(written);
  if (state_->target == Target::Svg) return finish_svg(std::move(state_->bytes), state_->info);
  return std::move(state_->bytes);
}

Result<std::string> encode_png(const Image& image) {
  if (image.empty()) return fail(ErrorCode::Invalid, "the picture is empty");
  const SurfacePtr surface(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, image.width(), image.height()));
  if (cairo_surface_status(surface.get()) != CAIRO_STATUS_SUCCESS) {
    return drawing_failed(cairo_surface_status(surface.get()));
  }
  widen(image, 0, 0, surface.get());
  std::string bytes;
  const cairo_status_t status =
      cairo_surface_write_to_png_stream(surface.get(), append_bytes, &bytes);
  if (status != CAIRO_STATUS_SUCCESS) return drawing_failed(status);
  return bytes;
}

}  // namespace lintel::report
