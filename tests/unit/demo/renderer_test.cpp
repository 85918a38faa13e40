#include "demo/renderer.h"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "demo/clips.h"
#include "demo/generate.h"
#include "demo/truth.h"

namespace lintel::demo {
namespace {

ClipSpec small_clip() {
  ClipSpec clip;
  for (const ClipSpec& c : clip_table()) {
    if (c.name == "side-30") clip = c;
  }
  clip.camera.width_px = 270;
  clip.camera.height_px = 480;
  clip.camera.focal_px *= 0.5;
  return clip;
}

Image draw(const ClipSpec& clip, std::size_t index) {
  const auto frames = clip_truth(clip);
  EXPECT_TRUE(frames) << frames.error();
  const auto room = render_room(clip.room, make_camera(clip.camera));
  auto image = draw_frame(clip, (*frames)[index].skeleton, index, room);
  EXPECT_TRUE(image) << image.error();
  return *image;
}

TEST(Renderer, DrawsTheSameBytesEachTime) {
  const Image a = draw(small_clip(), 50);
  const Image b = draw(small_clip(), 50);
  ASSERT_EQ(a.bytes().size(), b.bytes().size());
  EXPECT_TRUE(std::equal(a.bytes().begin(), a.bytes().end(), b.bytes().begin()));
}

// The near disc is the only saturated red in the upper half: its centroid and area against the
// ellipse that the truth projects.
TEST(Renderer, PaintsTheDiscWhereTheTruthSaysItIs) {
  ClipSpec clip = small_clip();
  clip.light.noise = 0;
  const std::size_t index = 57;
  const Image image = draw(clip, index);
  const auto frames = clip_truth(clip);
  const Camera camera = make_camera(clip.camera);
  const Point near = (*frames)[index].skeleton.bar + Point(0, 0, disc_outer_face_z(clip.bar));
  const Eigen::Vector2d center = camera.project(near);
  const double radius = 0.5 * clip.bar.disc_diameter * camera.focal_px / camera.depth(near);
  // Red pixels along the four directions from the centre end at the radius.
  const auto is_red = [&](double x, double y) {
    const std::uint8_t* p = image.pixel(static_cast<int>(x), static_cast<int>(y));
    return p[2] > 90 && p[2] > 2 * p[1] && p[2] > 2 * p[0];
  };
  double sum_x = 0;
  double sum_y = 0;
  for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, -1}, {0, 1}}) {
    double r = 1.3 * radius;
    while (r > 0 && !is_red(center.x() + dx * r, center.y() + dy * r)) r -= 0.25;
    sum_x += dx * r;
    sum_y += dy * r;
    if (dy < 1) {
      EXPECT_NEAR(r, radius, 1.6);  // below, the far disc and the arm may touch the rim
    }
  }
  EXPECT_NEAR(sum_x, 0, 2.0);
  EXPECT_NEAR(sum_y, 0, 4.0);
}

// Every joint centre lies inside of the drawn body, by 2 cm at the wrist to 16 cm at the hip.
TEST(Renderer, CoversEachJointCentreWithTheFigure) {
  const ClipSpec clip = small_clip();
  const auto frames = clip_truth(clip);
  ASSERT_TRUE(frames);
  for (const std::size_t index : {0U, 30U, 57U}) {
    const Skeleton& k = (*frames)[index].skeleton;
    Field field;
    std::vector<FloorShade> shades;
    add_figure(clip.lifter, k, {}, field, shades);
    field.finish();
    std::vector<std::uint16_t> all(field.primitives.size());
    for (std::size_t i = 0; i < all.size(); ++i) all[i] = static_cast<std::uint16_t>(i);
    const Limbs& l = k.side[kRight];
    for (const Point& p : {l.hip, l.knee, l.ankle, l.shoulder, l.elbow, l.wrist}) {
      const float d = field.distance(to_vec(p), all);
      EXPECT_LT(d, -0.02F);
      EXPECT_GT(d, -0.16F);
    }
  }
}

// Distances never claim more room than there is (or rays would step through thin limbs).
TEST(Field, IsNearlyALowerBoundOfTheTrueDistance) {
  const ClipSpec clip = small_clip();
  const auto frames = clip_truth(clip);
  ASSERT_TRUE(frames);
  Field field;
  std::vector<FloorShade> shades;
  add_figure(clip.lifter, (*frames)[57].skeleton, {}, field, shades);
  field.finish();
  std::vector<std::uint16_t> all(field.primitives.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = static_cast<std::uint16_t>(i);
  for (float x = -0.5F; x < 0.6F; x += 0.07F) {
    for (float y = 0.05F; y < 1.6F; y += 0.07F) {
      const Vec p{x, y, 0.11F};
      const float d = field.distance(p, all);
      for (const Vec& step : {Vec{1, 0, 0}, Vec{0, 1, 0}, Vec{0, 0, 1}}) {
        const float h = 0.01F;
        const float slope = std::fabs(field.distance(p + step * h, all) - d) / h;
        EXPECT_LT(slope, 1.35F) << x << " " << y;
      }
    }
  }
}

TEST(FrameTimes, AreUnevenOnlyInTheClipThatSaysSo) {
  for (const ClipSpec& clip : clip_table()) {
    const auto times = frame_times(clip);
    double shortest = 1;
    double longest = 0;
    for (std::size_t i = 1; i < times.size(); ++i) {
      shortest = std::min(shortest, times[i] - times[i - 1]);
      longest = std::max(longest, times[i] - times[i - 1]);
    }
    if (clip.variable_rate) {
      EXPECT_GT(longest / shortest, 1.8);
    } else {
      EXPECT_NEAR(shortest, longest, 1e-9) << clip.name;
    }
  }
}

}  // namespace
}  // namespace lintel::demo
