#include "unit/bar/scene.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "base/random.h"
#include "base/result.h"

namespace lintel::bar_test {

namespace {

double decode(double encoded) {
  const double v = encoded / 255;
  return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
}
double encode(double light) {
  light = std::clamp(light, 0.0, 1.0);
  return 255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1 / 2.4) - 0.055);
}

// Table over the square root, which is nearly even in encoded levels.
double fast_encode(float light) {
  static const std::vector<float> table = [] {
    std::vector<float> t(4097);
    for (std::size_t i = 0; i < t.size(); ++i) {
      const double root = static_cast<double>(i) / 4096;
      t[i] = static_cast<float>(encode(root * root));
    }
    return t;
  }();
  const float at = 4095.99F * std::sqrt(std::clamp(light, 0.0F, 1.0F));
  const auto i = static_cast<std::size_t>(at);
  return table[i] + (at - static_cast<float>(i)) * (table[i + 1] - table[i]);
}

}  // namespace

Color rgb(double red, double green, double blue) {
  return {static_cast<float>(decode(blue)), static_cast<float>(decode(green)),
          static_cast<float>(decode(red))};
}
Color grey(double encoded) {
  return rgb(encoded, encoded, encoded);
}

Shape ellipse(const Eigen::Vector2d& center, double semi_x, double semi_y, double angle,
              Color color) {
  const double c = std::cos(angle), s = std::sin(angle);
  Shape shape;
  shape.inside = [=](double x, double y) {
    const double dx = x - center.x(), dy = y - center.y();
    const double u = (c * dx + s * dy) / semi_x, v = (-s * dx + c * dy) / semi_y;
    return u * u + v * v < 1;
  };
  const double reach = std::max(semi_x, semi_y);
  shape.left = center.x() - reach;
  shape.right = center.x() + reach;
  shape.top = center.y() - reach;
  shape.bottom = center.y() + reach;
  shape.color = color;
  return shape;
}

Shape capsule(const Eigen::Vector2d& a, const Eigen::Vector2d& b, double radius, Color color) {
  Shape shape;
  const Eigen::Vector2d along = b - a;
  const double square = std::max(along.squaredNorm(), 1e-9);
  shape.inside = [=](double x, double y) {
    const Eigen::Vector2d p(x, y);
    const double t = std::clamp((p - a).dot(along) / square, 0.0, 1.0);
    return (p - a - t * along).squaredNorm() < radius * radius;
  };
  shape.left = std::min(a.x(), b.x()) - radius;
  shape.right = std::max(a.x(), b.x()) + radius;
  shape.top = std::min(a.y(), b.y()) - radius;
  shape.bottom = std::max(a.y(), b.y()) + radius;
  shape.color = color;
  return shape;
}

Shape rectangle(double left, double top, double right, double bottom, Color color) {
  Shape shape;
  shape.inside = [=](double x, double y) {
    return x >= left && x < right && y >= top && y < bottom;
  };
  shape.left = left;
  shape.top = top;
  shape.right = right;
  shape.bottom = bottom;
  shape.color = color;
  return shape;
}

LightPicture::LightPicture(int width, int height)
    : width_(width),
      height_(height),
      data_(3 * static_cast<std::size_t>(width) * static_cast<std::size_t>(height)) {}

void LightPicture::draw(const Shape& shape) {
  const int x0 = std::max(0, static_cast<int>(std::floor(shape.left)));
  const int x1 = std::min(width_, static_cast<int>(std::ceil(shape.right)) + 1);
  const int y0 = std::max(0, static_cast<int>(std::floor(shape.top)));
  const int y1 = std::min(height_, static_cast<int>(std::ceil(shape.bottom)) + 1);
  for (int y = y0; y < y1; ++y) {
    for (int x = x0; x < x1; ++x) {
      // All shapes are convex or larger than a pixel: four equal corners and centre settle it.
      int corners = shape.inside(x + 0.5, y + 0.5) ? 1 : 0;
      for (int k = 0; k < 4; ++k) corners += shape.inside(x + k % 2, y + k / 2) ? 1 : 0;
      double coverage = corners == 5 ? 1 : 0;
      if (corners > 0 && corners < 5) {
        int count = 0;
        for (int j = 0; j < 8; ++j)
          for (int i = 0; i < 8; ++i)
            count += shape.inside(x + (i + 0.5) / 8, y + (j + 0.5) / 8) ? 1 : 0;
        coverage = count / 64.0;
      }
      if (coverage <= 0) continue;
      float* p = at(x, y);
      for (std::size_t c = 0; c < 3; ++c)
        p[c] += static_cast<float>(coverage) * (shape.color[c] - p[c]);
    }
  }
}

Scene::Scene(const SceneOptions& options)
    : options_(options), background_(options.width, options.height) {
  Random random(options.seed, 77);
  // Plaster: sums of waves and value noise, brighter towards the top.
  const int w = options.width, h = options.height;
  struct Wave {
    double kx, ky, phase;
  };
  std::vector<Wave> waves;
  for (int i = 0; i < 6; ++i)
    waves.push_back(
        {random.uniform(-0.06, 0.06), random.uniform(-0.06, 0.06), random.uniform(0, 6.3)});
  const int cell = 9;
  const int gw = w / cell + 3, gh = h / cell + 3;
  std::vector<double> grid(static_cast<std::size_t>(gw * gh));
  for (double& g : grid) g = random.normal();
  for (int y = 0; y < h; ++y) {
    for (int x = 0; x < w; ++x) {
      double v = options.wall + 12.0 * (0.5 - static_cast<double>(y) / h);
      for (const Wave& wave : waves)
        v += 0.3 * options.texture * std::sin(wave.kx * x + wave.ky * y + wave.phase);
      const int gx = x / cell, gy = y / cell;
      const double fx = (x % cell) / double{cell}, fy = (y % cell) / double{cell};
      const auto g = [&](int i, int j) { return grid[static_cast<std::size_t>(j * gw + i)]; };
      v += 0.5 * options.texture *
           ((1 - fy) * ((1 - fx) * g(gx, gy) + fx * g(gx + 1, gy)) +
            fy * ((1 - fx) * g(gx, gy + 1) + fx * g(gx + 1, gy + 1)));
      const Color color = grey(std::clamp(v, 1.0, 254.0));
      std::copy(color.begin(), color.end(), background_.at(x, y));
    }
  }
  // Floor, skirting, two posts, a shelf, a clock on the wall.
  const double wall = options.wall;
  background_.draw(rectangle(0, 0.92 * h, w, h, grey(0.5 * wall)));
  background_.draw(rectangle(0, 0.905 * h, w, 0.92 * h, grey(0.8 * wall)));
  background_.draw(
      rectangle(0.08 * w, 0, 0.12 * w, 0.93 * h, rgb(0.7 * wall, 0.45 * wall, 0.4 * wall)));
  background_.draw(
      rectangle(0.9 * w, 0, 0.935 * w, 0.93 * h, rgb(0.4 * wall, 0.5 * wall, 0.65 * wall)));
  background_.draw(rectangle(0.55 * w, 0.37 * h, 0.9 * w, 0.385 * h, grey(0.7 * wall)));
  const Eigen::Vector2d clock(0.79 * w, 0.30 * h);
  background_.draw(ellipse(clock, 0.063 * w, 0.063 * w, 0, grey(0.4 * wall)));
  background_.draw(ellipse(clock, 0.055 * w, 0.055 * w, 0, grey(std::min(1.25 * wall, 245.0))));
  background_.draw(capsule(clock, clock + Eigen::Vector2d(0.02 * w, -0.03 * w), 2, grey(20)));
}

Drawn Scene::render(const Eigen::Vector2d& center, std::uint64_t frame) const {
  const SceneOptions& o = options_;
  const DiscLook& d = o.disc;
  const double r = d.radius;
  Drawn drawn;
  // Grip near the disc, shoulder 2.4 radii under the bar, hip 2.3 under that and behind.
  drawn.wrist = center + Eigen::Vector2d(-0.25 * r, 0.35 * r);
  drawn.shoulder = center + Eigen::Vector2d(0.1 * r, 2.75 * r);
  drawn.hip = center + Eigen::Vector2d(-0.7 * r, 4.95 * r);
  const Eigen::Vector2d head = center + Eigen::Vector2d(0.5 * r, 1.75 * r);
  const Eigen::Vector2d knee = drawn.hip + Eigen::Vector2d(1.7 * r, 0.3 * r);
  const Eigen::Vector2d ankle = knee + Eigen::Vector2d(-0.8 * r, 1.7 * r);
  const Color skin = rgb(196, 145, 118), shirt = rgb(60, 96, 150), shorts = rgb(52, 52, 60);
  LightPicture sum(o.width, o.height);
  // Exposure: the moving parts at several times, averaged in linear light.
  const int times = o.motion_blur_px > 0 ? static_cast<int>(std::ceil(o.motion_blur_px)) : 1;
  const auto draw_moving = [&](LightPicture& picture, const Eigen::Vector2d& shift) {
    const auto at = [&](const Eigen::Vector2d& p) { return Eigen::Vector2d(p + shift); };
    const double cx = std::cos(d.turn);
    if (o.far_disc && o.with_disc) {
      // 1.31 m behind the near one at 4.75 m: 0.78 of its size, towards the picture's middle.
      const double scale = 4.75 / 6.06;
      const Eigen::Vector2d middle(0.5 * o.width, 0.6 * o.height);
      const Eigen::Vector2d sideways(1.31 / 0.225 * r * scale * std::sin(d.turn), 0);
      const Eigen::Vector2d far = middle + scale * (at(center) - middle) + sideways;
      picture.draw(ellipse(far, scale * r * cx, scale * r, 0, d.rim));
      picture.draw(ellipse(far, 0.42 * scale * r * cx, 0.42 * scale * r, 0, d.hub));
    }
    picture.draw(capsule(at(ankle), at(knee), 0.22 * r, skin));
    picture.draw(capsule(at(knee), at(drawn.hip), 0.36 * r, shorts));
    picture.draw(capsule(at(drawn.hip), at(drawn.shoulder), 0.5 * r, shirt));
    picture.draw(ellipse(at(head), 0.46 * r, 0.55 * r, 0.2, skin));
    picture.draw(ellipse(at(head) + Eigen::Vector2d(-0.08 * r, -0.18 * r), 0.44 * r, 0.42 * r, 0.2,
                         rgb(70, 45, 30)));
    picture.draw(capsule(at(drawn.shoulder), at(drawn.wrist), 0.2 * r, skin));
    if (o.with_disc) {
      picture.draw(ellipse(at(center), r * cx, r, 0, d.rim));
      picture.draw(ellipse(at(center), 0.93 * r * cx, 0.93 * r, 0, d.lip));
      picture.draw(ellipse(at(center), 0.88 * r * cx, 0.88 * r, 0, d.face));
      picture.draw(ellipse(at(center), 0.42 * r * cx, 0.42 * r, 0, d.hub));
      picture.draw(ellipse(at(center), 0.11 * r * cx, 0.11 * r, 0, d.sleeve));
    }
    if (o.head_and_arm_in_front) {
      picture.draw(
          ellipse(at(center) + Eigen::Vector2d(0.75 * r, 0.75 * r), 0.46 * r, 0.55 * r, 0.2, skin));
      picture.draw(capsule(at(center) + Eigen::Vector2d(-1.4 * r, 1.6 * r),
                           at(center) + Eigen::Vector2d(-0.3 * r, 0.2 * r), 0.22 * r, skin));
    }
  };
  for (int k = 0; k < times; ++k) {
    const double along = times == 1 ? 0 : ((k + 0.5) / times - 0.5) * o.motion_blur_px;
    LightPicture one = background_;
    draw_moving(one, {0, along});
    for (int y = 0; y < o.height; ++y) {
      const float* from = one.at(0, y);
      float* to = sum.at(0, y);
      for (int i = 0; i < 3 * o.width; ++i) to[i] += from[i] / static_cast<float>(times);
    }
  }
  if (o.optical_blur_px > 0) {
    cv::Mat view(o.height, o.width, CV_32FC3, sum.at(0, 0));
    cv::GaussianBlur(view, view, cv::Size(0, 0), o.optical_blur_px);
  }
  drawn.image = Image(o.width, o.height);
  Random random(o.seed, 1000 + frame);
  for (int y = 0; y < o.height; ++y) {
    const float* from = sum.at(0, y);
    std::uint8_t* to = drawn.image.row(y);
    for (int i = 0; i < 3 * o.width; ++i) {
      double v = fast_encode(from[i]);
      // A sum of four uniforms is normal enough for sensor noise and much faster.
      if (o.noise > 0) {
        const std::uint64_t bits = random.next();
        double n = 0;
        for (int q = 0; q < 4; ++q) n += static_cast<double>((bits >> (16 * q)) & 0xFFFF) / 65536.0;
        v += o.noise * (n - 2.0) * std::sqrt(3.0);
      }
      to[i] = static_cast<std::uint8_t>(std::clamp(std::lround(v), 0L, 255L));
    }
  }
  if (o.jpeg_quality > 0) drawn.image = jpeg_round_trip(drawn.image, o.jpeg_quality);
  return drawn;
}

Image jpeg_round_trip(const Image& image, int quality) {
  const cv::Mat view(image.height(), image.width(), CV_8UC3,
                     const_cast<std::uint8_t*>(image.bytes().data()));
  std::vector<std::uint8_t> bytes;
  LINTEL_CHECK(cv::imencode(".jpg", view, bytes, {cv::IMWRITE_JPEG_QUALITY, quality}));
  const cv::Mat back = cv::imdecode(bytes, cv::IMREAD_COLOR);
  LINTEL_CHECK(back.cols == image.width() && back.rows == image.height());
  Image out(back.cols, back.rows);
  for (int y = 0; y < back.rows; ++y)
    std::copy(back.ptr(y), back.ptr(y) + 3 * back.cols, out.row(y));
  return out;
}

Image render_pinhole_disc(int width, int height, double focal_px, const Eigen::Vector3d& p_CD,
                          const Eigen::Vector3d& n_C, double radius) {
  Image image(width, height);
  const Eigen::Vector3d n = n_C.normalized();
  const double plane = n.dot(p_CD);
  const double dark = decode(50), bright = decode(200);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      int count = 0;
      for (int j = 0; j < 8; ++j) {
        for (int i = 0; i < 8; ++i) {
          const Eigen::Vector3d ray((x + (i + 0.5) / 8 - 0.5 * width) / focal_px,
                                    (y + (j + 0.5) / 8 - 0.5 * height) / focal_px, 1);
          const Eigen::Vector3d hit = ray * (plane / n.dot(ray));
          count += (hit - p_CD).squaredNorm() < radius * radius ? 1 : 0;
        }
      }
      const double light = bright + (dark - bright) * count / 64.0;
      std::uint8_t* p = image.pixel(x, y);
      p[0] = p[1] = p[2] = static_cast<std::uint8_t>(std::lround(encode(light)));
    }
  }
  return image;
}

}  // namespace lintel::bar_test
