#include "bar/disc_search.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <exception>
#include <numbers>

#include <opencv2/imgproc.hpp>

namespace lintel::bar {

namespace {

// A gradient-voting circle search of our own rather than cv::HoughCircles: that takes one grey
// channel and a fixed edge threshold, which misses dark on dark, and cannot be told that centre and
// radius are known. Votes are cast at a scale where the largest radius is about this many pixels.
constexpr double kVoteRadius = 26;
constexpr double kMinGradient = 1.0;  // [grey levels/px] at the voting scale
// Share of a rim; because each vote counts in 27 cells a clean rim gives 2.5, texture up to 0.35.
constexpr double kMinVotes = 0.42;

struct EdgePixel {
  float x, y;    // at the voting scale
  float nx, ny;  // unit gradient
};

struct ScaledPart {
  cv::Mat picture;           // 8UC3
  double scale = 1;          // voting pixels per picture pixel
  double left = 0, top = 0;  // of the part, picture pixels
};

ScaledPart cut_part(const Image& image, const Window& window, double max_radius) {
  // The Mat only reads: OpenCV has no view of const data.
  const cv::Mat whole(image.height(), image.width(), CV_8UC3,
                      const_cast<std::uint8_t*>(image.bytes().data()));
  const double margin = max_radius * 1.1 + 2;
  const int left = std::clamp(static_cast<int>(window.min_px.x() - margin), 0, image.width());
  const int top = std::clamp(static_cast<int>(window.min_px.y() - margin), 0, image.height());
  const int right = std::clamp(static_cast<int>(window.max_px.x() + margin), left, image.width());
  const int bottom = std::clamp(static_cast<int>(window.max_px.y() + margin), top, image.height());
  ScaledPart part;
  if (right - left < 8 || bottom - top < 8) return part;
  part.left = left;
  part.top = top;
  part.scale = std::min(1.0, kVoteRadius / max_radius);
  const cv::Mat cut = whole(cv::Rect(left, top, right - left, bottom - top));
  if (part.scale < 1.0) {
    const int width = std::max(8, static_cast<int>(std::lround(cut.cols * part.scale)));
    const int height = std::max(8, static_cast<int>(std::lround(cut.rows * part.scale)));
    cv::resize(cut, part.picture, cv::Size(width, height), 0, 0, cv::INTER_AREA);
  } else {
    part.picture = cut.clone();
  }
  cv::GaussianBlur(part.picture, part.picture, cv::Size(3, 3), 0.8);
  return part;
}

// Ridge pixels of the gradient magnitude of the strongest channel.
std::vector<EdgePixel> find_edge_pixels(const cv::Mat& picture) {
  cv::Mat dx, dy;
  cv::Sobel(picture, dx, CV_16S, 1, 0);
  cv::Sobel(picture, dy, CV_16S, 0, 1);
  const int width = picture.cols, height = picture.rows;
  cv::Mat gx(height, width, CV_32F), gy(height, width, CV_32F), magnitude(height, width, CV_32F);
  std::vector<float> all;
  all.reserve(static_cast<std::size_t>(width * height));
  for (int y = 0; y < height; ++y) {
    const auto* px = dx.ptr<cv::Vec3s>(y);
    const auto* py = dy.ptr<cv::Vec3s>(y);
    for (int x = 0; x < width; ++x) {
      int best = -1, at = 0;
      for (int c = 0; c < 3; ++c) {
        const int square = px[x][c] * px[x][c] + py[x][c] * py[x][c];
        if (square > best) {
          best = square;
          at = c;
        }
      }
      gx.at<float>(y, x) = px[x][at] / 8.0F;
      gy.at<float>(y, x) = py[x][at] / 8.0F;
      const float m = std::sqrt(static_cast<float>(best)) / 8.0F;
      magnitude.at<float>(y, x) = m;
      all.push_back(m);
    }
  }
  const auto middle = all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2);
  std::nth_element(all.begin(), middle, all.end());
  const float threshold = std::max(static_cast<float>(kMinGradient), 1.5F * *middle);
  std::vector<EdgePixel> edges;
  for (int y = 1; y + 1 < height; ++y) {
    for (int x = 1; x + 1 < width; ++x) {
      const float m = magnitude.at<float>(y, x);
      if (m < threshold) continue;
      const float nx = gx.at<float>(y, x) / m, ny = gy.at<float>(y, x) / m;
      const int sx = static_cast<int>(std::lround(nx)), sy = static_cast<int>(std::lround(ny));
      if (magnitude.at<float>(y + sy, x + sx) > m || magnitude.at<float>(y - sy, x - sx) >= m)
        continue;
      edges.push_back({static_cast<float>(x) + 0.5F, static_cast<float>(y) + 0.5F, nx, ny});
    }
  }
  return edges;
}

struct Accumulator {
  int width = 0, height = 0, layers = 0;
  std::vector<std::uint16_t> cells;
  std::uint16_t& at(int x, int y, int layer) {
    return cells[(static_cast<std::size_t>(layer) * static_cast<std::size_t>(height) +
                  static_cast<std::size_t>(y)) *
                     static_cast<std::size_t>(width) +
                 static_cast<std::size_t>(x)];
  }
};

// Sum over 3x3 neighbours of three radii: the voting error of a rim that is slightly elliptic.
void blur_votes(Accumulator& votes) {
  const auto w = static_cast<std::size_t>(votes.width), h = static_cast<std::size_t>(votes.height);
  const std::size_t plane = w * h;
  std::vector<std::uint16_t> line(std::max({w, h, static_cast<std::size_t>(votes.layers)}));
  const auto pass = [&](std::size_t begin, std::size_t stride, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) line[i] = votes.cells[begin + i * stride];
    for (std::size_t i = 0; i < count; ++i) {
      unsigned sum = line[i];
      if (i > 0) sum += line[i - 1];
      if (i + 1 < count) sum += line[i + 1];
      votes.cells[begin + i * stride] = static_cast<std::uint16_t>(std::min(sum, 65535U));
    }
  };
  for (std::size_t l = 0; l < static_cast<std::size_t>(votes.layers); ++l) {
    for (std::size_t y = 0; y < h; ++y) pass(l * plane + y * w, 1, w);
    for (std::size_t x = 0; x < w; ++x) pass(l * plane + x, w, h);
  }
  // Across the radii whole planes at a time, which the cache prefers.
  std::vector<std::uint16_t> before(plane, 0), own(plane);
  for (std::size_t l = 0; l < static_cast<std::size_t>(votes.layers); ++l) {
    std::uint16_t* here = votes.cells.data() + l * plane;
    const bool more = l + 1 < static_cast<std::size_t>(votes.layers);
    const std::uint16_t* next = more ? here + plane : nullptr;
    for (std::size_t i = 0; i < plane; ++i) {
      own[i] = here[i];
      here[i] = static_cast<std::uint16_t>(own[i] + before[i] + (more ? next[i] : 0));
    }
    std::swap(before, own);
  }
}

Accumulator cast_votes(const std::vector<EdgePixel>& edges, int width, int height, int first_radius,
                       int layers) {
  Accumulator votes{width, height, layers, {}};
  votes.cells.assign(static_cast<std::size_t>(width) * static_cast<std::size_t>(height) *
                         static_cast<std::size_t>(layers),
                     0);
  for (const EdgePixel& e : edges) {
    for (int l = 0; l < layers; ++l) {
      const float r = static_cast<float>(first_radius + l);
      for (const float sign : {-1.0F, 1.0F}) {  // the disc may be darker or lighter
        const float fx = e.x + sign * r * e.nx, fy = e.y + sign * r * e.ny;
        if (fx < 0 || fy < 0) continue;
        const int x = static_cast<int>(fx), y = static_cast<int>(fy);
        if (x < width && y < height) ++votes.at(x, y, l);
      }
    }
  }
  blur_votes(votes);
  return votes;
}

std::vector<CoarseCircle> take_peaks(Accumulator& votes, const ScaledPart& part,
                                     const Window& window, int first_radius, double min_votes) {
  std::vector<CoarseCircle> circles;
  for (int l = 0; l < votes.layers; ++l) {
    const double radius = first_radius + l;
    const auto floor =
        static_cast<unsigned>(std::max(4.0, min_votes * 2 * std::numbers::pi * radius));
    for (int y = 0; y < votes.height; ++y) {
      for (int x = 0; x < votes.width; ++x) {
        const unsigned v = votes.at(x, y, l);
        if (v < floor) continue;
        bool peak = true;
        for (int dl = -1; dl <= 1 && peak; ++dl) {
          for (int dy = -1; dy <= 1 && peak; ++dy) {
            for (int dx = -1; dx <= 1 && peak; ++dx) {
              const int nx = x + dx, ny = y + dy, nl = l + dl;
              if (nx < 0 || ny < 0 || nl < 0 || nx >= votes.width || ny >= votes.height ||
                  nl >= votes.layers) {
                continue;
              }
              peak = votes.at(nx, ny, nl) <= v;
            }
          }
        }
        if (!peak) continue;
        CoarseCircle circle;
        circle.center_px = {part.left + (x + 0.5) / part.scale, part.top + (y + 0.5) / part.scale};
        circle.radius_px = radius / part.scale;
        circle.votes = v / (2 * std::numbers::pi * radius);
        const Eigen::Vector2d& c = circle.center_px;
        if ((c.array() < window.min_px.array()).any() || (c.array() > window.max_px.array()).any())
          continue;
        circles.push_back(circle);
      }
    }
  }
  std::sort(circles.begin(), circles.end(),
            [](const CoarseCircle& a, const CoarseCircle& b) { return a.votes > b.votes; });
  return circles;
}

void keep_distinct(std::vector<CoarseCircle>& circles, int max_count) {
  std::vector<CoarseCircle> kept;
  for (const CoarseCircle& circle : circles) {
    const bool seen = std::any_of(kept.begin(), kept.end(), [&](const CoarseCircle& other) {
      const double size = other.radius_px;
      return (circle.center_px - other.center_px).norm() < 0.12 * size &&
             std::abs(circle.radius_px - size) < 0.08 * size;
    });
    if (seen) continue;
    kept.push_back(circle);
    if (static_cast<int>(kept.size()) >= max_count) break;
  }
  circles = std::move(kept);
}

// Of circles that share a centre the outermost that is nearly as well supported as the best.
void drop_inner_circles(std::vector<DiscCandidate>& found) {
  std::vector<DiscCandidate> kept;
  for (const DiscCandidate& inner : found) {
    const bool inside_another =
        std::any_of(found.begin(), found.end(), [&](const DiscCandidate& outer) {
          if (&outer == &inner) return false;
          const Ellipse& a = inner.rim.ellipse;
          const Ellipse& b = outer.rim.ellipse;
          const double apart = (a.center_px - b.center_px).norm() / b.mean_radius_px;
          const double size = a.mean_radius_px / b.mean_radius_px;
          // Two readings of one rim: the better one, which comes first.
          if (apart < 0.15 && std::abs(size - 1) < (apart < 0.03 ? 0.02 : 0.1))
            return &outer < &inner;
          return apart < 0.15 && size < 1 && outer.quality() > 0.75 * inner.quality();
        });
    if (!inside_another) kept.push_back(inner);
  }
  found = std::move(kept);
}

}  // namespace

kinematics::DiscObservation to_observation(const Rim& rim) {
  kinematics::DiscObservation out;
  out.center_px = rim.ellipse.center_px.cast<float>();
  out.semi_major_px = static_cast<float>(rim.ellipse.semi_major_px());
  out.semi_minor_px = static_cast<float>(rim.ellipse.semi_minor_px());
  out.major_axis_angle = static_cast<float>(rim.ellipse.major_axis_angle());
  out.center_standard_error_px = static_cast<float>(rim.center_standard_error_px());
  out.semi_axis_standard_error_px = static_cast<float>(rim.semi_axis_standard_error_px());
  out.support = static_cast<float>(rim.support);
  return out;
}

double DiscCandidate::quality() const {
  // Edges of several things that make one ellipse by chance scatter about it; a rim does not.
  const double scatter = rim.scatter_px / (0.5 + 0.006 * rim.ellipse.mean_radius_px);
  return std::max(rim.support, 0.75 * rim.visible_support) * std::clamp(votes / 0.6, 0.5, 1.0) /
         (1 + scatter * scatter);
}

kinematics::DiscObservation DiscCandidate::observation() const {
  return to_observation(rim);
}

std::vector<CoarseCircle> vote_circles(const Image& image, const Window& window,
                                       double min_radius_px, double max_radius_px, double min_votes,
                                       int max_count) {
  if (image.empty() || window.empty() || !(min_radius_px > 3) || max_radius_px < min_radius_px)
    return {};
  try {
    const ScaledPart part = cut_part(image, window, max_radius_px);
    if (part.picture.empty()) return {};
    const int first = std::max(3, static_cast<int>(std::floor(min_radius_px * part.scale)));
    const int last = std::max(first, static_cast<int>(std::ceil(max_radius_px * part.scale)));
    const auto edges = find_edge_pixels(part.picture);
    Accumulator votes =
        cast_votes(edges, part.picture.cols, part.picture.rows, first, last - first + 1);
    auto circles = take_peaks(votes, part, window, first, min_votes);
    keep_distinct(circles, max_count);
    return circles;
  } catch (const std::exception&) {  // cv::Exception: out of memory on a hostile size
    return {};
  }
}

std::vector<DiscCandidate> find_discs(const Image& image, const DiscSearch& search) {
  std::vector<DiscCandidate> found;
  if (image.empty() || search.max_candidates <= 0) return found;
  const double largest = search.max_radius_px > 0 ? search.max_radius_px
                                                  : 0.25 * std::min(image.width(), image.height());
  Window window{{0, 0}, {static_cast<double>(image.width()), static_cast<double>(image.height())}};
  if (search.window) window = *search.window;
  const double smallest = std::max(search.min_radius_px, 8.0);
  // One octave and a half of radii at a time, each at its own scale.
  for (double high = largest; high >= smallest; high /= 1.7) {
    const double low = std::max(smallest, high / 1.75);
    for (const CoarseCircle& circle :
         vote_circles(image, window, low, high, kMinVotes, 2 * search.max_candidates)) {
      RimOptions options;
      options.window_share = 0.15;
      options.choice = RimOptions::Choice::Outermost;
      const auto rim = refine_rim(image, bar::circle(circle.center_px, circle.radius_px), options);
      if (!rim) continue;
      const double radius = rim->ellipse.mean_radius_px;
      if (radius < 0.95 * smallest || radius > 1.05 * largest) continue;
      if (rim->ellipse.semi_minor_px() < 0.75 * rim->ellipse.semi_major_px()) continue;
      DiscCandidate candidate{*rim, circle.votes};
      if (candidate.quality() < search.min_quality) continue;
      found.push_back(std::move(candidate));
    }
  }
  std::sort(found.begin(), found.end(), [](const DiscCandidate& a, const DiscCandidate& b) {
    return a.quality() > b.quality();
  });
  drop_inner_circles(found);
  if (static_cast<int>(found.size()) > search.max_candidates)
    found.resize(static_cast<std::size_t>(search.max_candidates));
  return found;
}

}  // namespace lintel::bar
