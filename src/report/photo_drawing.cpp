#include "report/photo_drawing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>

#include "base/cautions.h"
#include "report/text_safety.h"

namespace lintel::report {
namespace {

// Sizes that follow the picture's.
struct Measures {
  double unit = 1;
  double font = 13;
  double pad = 6;
};

Measures measures_of(const Image& picture) {
  const double unit = std::max(picture.width(), picture.height()) / 540.0;
  return {unit, std::max(11.0, 13.0 * unit), 6.0 * unit};
}

struct Band {
  std::string words;
  TextStyle style;
  double height = 0;
};

Result<Band> make_band(const std::string& words, double size, Weight weight, double width,
                       const Measures& m) {
  Canvas scratch = LINTEL_TRY(Canvas::svg(width, 100, {}));
  Band band{printable_text(words, LineFeeds::ToSpaces), {size, weight}, 0};
  band.style.width = width - 2 * m.pad;
  band.height = std::ceil(scratch.measure(band.words, band.style).height + 1.4 * m.pad);
  return band;
}

// Marks between the two bands; positions of the drawing are moved down by the upper one.
class PhotoPainter {
 public:
  PhotoPainter(Canvas& canvas, const PhotoDrawing& drawing, const Measures& measures,
               const Box& picture)
      : canvas_(canvas),
        drawing_(drawing),
        unit_(measures.unit),
        font_(measures.font),
        picture_(picture) {}

  void draw() {
    for (const PhotoLineMark& line : drawing_.lines) draw_line(line);
    draw_arc();
    for (const PhotoMark& mark : drawing_.points) draw_mark(mark);
    draw_tag(moved(drawing_.label_at), drawing_.label, font_ * 1.3);
  }

 private:
  // Light under dark, so that it shows on any picture.
  void stroke_twice(const std::function<void()>& path, Color color, double width,
                    LineStyle style = LineStyle::Solid) {
    path();
    canvas_.stroke({kPaper.with_alpha(0.85), (width + 2.0) * unit_, LineStyle::Solid});
    path();
    canvas_.stroke({color, width * unit_, style});
  }

  void draw_line(const PhotoLineMark& line) {
    const auto path = [&] {
      canvas_.move_to(moved(line.from));
      canvas_.line_to(moved(line.to));
    };
    stroke_twice(path, line.is_axis ? kBrick : kHarbour, line.is_axis ? 1.6 : 2.6,
                 line.is_axis ? LineStyle::Dashed : LineStyle::Solid);
  }

  void draw_arc() {
    if (!drawing_.arc) return;
    const PhotoArc& arc = *drawing_.arc;
    const double turn = std::remainder(arc.to - arc.from, 2.0 * std::numbers::pi);
    const double radius = 34.0 * unit_;
    const auto path = [&] {
      canvas_.arc(moved(arc.apex), radius, std::min(arc.from, arc.from + turn),
                  std::max(arc.from, arc.from + turn));
    };
    stroke_twice(path, kTimber, 2.4);
  }

  void draw_mark(const PhotoMark& mark) {
    const Point at = moved(mark.at);
    if (mark.original) {
      const Point was = moved(*mark.original);
      const auto way = [&] {
        canvas_.move_to(was);
        canvas_.line_to(at);
      };
      stroke_twice(way, kGranite, 1.0, LineStyle::Dotted);
      ring(was, 3.5 * unit_, kGranite);
    }
    if (mark.error_px > 0) ring(at, mark.error_px, kHeather);
    const double half = 3.2 * unit_;
    if (mark.by_hand) {
      canvas_.rectangle({at.x - half, at.y - half, 2 * half, 2 * half});
    } else {
      canvas_.arc(at, half, 0, 2.0 * std::numbers::pi);
    }
    canvas_.fill(mark.by_hand ? kTimber : kHarbour);
    draw_tag({at.x + 7 * unit_, at.y + 3 * unit_}, mark.name, font_ * 0.8);
  }

  void ring(Point center, double radius, Color color) {
    stroke_twice([&] { canvas_.arc(center, radius, 0, 2.0 * std::numbers::pi); }, color, 1.0);
  }

  // Text on a light ground, kept inside of the picture and off other text where there is room.
  void draw_tag(Point at, const std::string& words, double size) {
    if (words.empty()) return;
    const TextStyle style{size, Weight::Bold};
    const std::string safe = printable_text(words, LineFeeds::ToSpaces);
    const Box box = canvas_.measure(safe, style);
    const double pad = 2.5 * unit_;
    Box ground{at.x - pad, at.y - pad, box.width + 2 * pad, box.height + 2 * pad};
    const std::array<Point, 5> shifts = {{{0, 0},
                                          {0, ground.height},
                                          {0, -ground.height},
                                          {-ground.width - 14 * unit_, 0},
                                          {-ground.width - 14 * unit_, -ground.height}}};
    Box placed = inside(ground);
    for (const Point& shift : shifts) {
      const Box candidate =
          inside({ground.x + shift.x, ground.y + shift.y, ground.width, ground.height});
      const auto clash = [&](const Box& other) { return other.overlaps(candidate); };
      if (std::none_of(taken_.begin(), taken_.end(), clash)) {
        placed = candidate;
        break;
      }
    }
    taken_.push_back(placed);
    canvas_.rectangle(placed, 2 * unit_);
    canvas_.fill(kLimewash.with_alpha(0.88));
    canvas_.text({placed.x + pad, placed.y + pad}, safe, style);
  }

  Box inside(Box box) const {
    box.x = std::clamp(box.x, picture_.x, std::max(picture_.x, picture_.right() - box.width));
    box.y = std::clamp(box.y, picture_.y, std::max(picture_.y, picture_.bottom() - box.height));
    return box;
  }

  Point moved(Point p) const { return {p.x + picture_.x, p.y + picture_.y}; }

  Canvas& canvas_;
  const PhotoDrawing& drawing_;
  double unit_;
  double font_;
  Box picture_;
  std::vector<Box> taken_;
};

}  // namespace

Result<Image> mark_test_photo(const Image& picture, const PhotoDrawing& drawing) {
  if (picture.empty()) return fail(ErrorCode::Invalid, "the picture is empty");
  const Measures m = measures_of(picture);
  const double width = picture.width(), height = picture.height();
  const Band above = LINTEL_TRY(make_band(drawing.caption, m.font, Weight::Bold, width, m));
  const Band below =
      LINTEL_TRY(make_band(cautions_brief(), 0.75 * m.font, Weight::Regular, width, m));
  Image marked(picture.width(), static_cast<int>(above.height + height + below.height));
  Canvas canvas = LINTEL_TRY(Canvas::on_image(marked));
  canvas.rectangle({0, 0, canvas.width(), canvas.height()});
  canvas.fill(kLimewash);
  const Box place{0, above.height, width, height};
  canvas.image(picture, {0, 0, width, height}, place);
  canvas.text({m.pad, 0.7 * m.pad}, above.words, above.style);
  canvas.text({m.pad, place.bottom() + 0.7 * m.pad}, below.words, below.style);
  PhotoPainter(canvas, drawing, m, place).draw();
  LINTEL_TRY(canvas.finish());
  return marked;
}

}  // namespace lintel::report
