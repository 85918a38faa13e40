#include "demo/camera.h"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>
#include <Eigen/Geometry>

#include "base/units.h"
#include "demo/clips.h"
#include "demo/truth.h"

namespace lintel::demo {
namespace {

// Projection by similar triangles, without matrices: a camera on the lifter's right, level.
TEST(Camera, ProjectsBySimilarTrianglesWhenSquareAndLevel) {
  CameraSpec spec;
  spec.distance = 5.0;
  spec.height = 1.2;
  spec.focal_px = 1500;
  const Camera camera = make_camera(spec);
  const Point p(0.3, 1.7, 0.7);  // 4.3 m ahead of the camera, 0.3 to its right, 0.5 above
  const Eigen::Vector2d px = camera.project(p);
  EXPECT_NEAR(px.x(), 270 + 1500 * 0.3 / 4.3, 1e-9);
  EXPECT_NEAR(px.y(), 480 - 1500 * 0.5 / 4.3, 1e-9);
}

TEST(Camera, ShowsTheLiftersRightHandOnTheLeftInAFrontView) {
  CameraSpec spec;
  spec.azimuth = std::numbers::pi / 2;
  const Camera camera = make_camera(spec);
  EXPECT_LT(camera.project({0, 1, 0.5}).x(), camera.project({0, 1, -0.5}).x());
}

// Independent formulation: rotations composed from angle-axis turns instead of a frame built from
// cross products.
TEST(Camera, AgreesWithComposedRotations) {
  CameraSpec spec;
  spec.azimuth = 0.35;
  spec.pitch = 0.08;
  spec.roll = 0.05;
  spec.aim_x = 0.1;
  const Camera camera = make_camera(spec);
  using Eigen::AngleAxisd;
  // A camera that looks along -Z with x right, y down; then turned about Y, X and its own axis.
  const Eigen::Matrix3d base = AngleAxisd(std::numbers::pi, Point::UnitX()).toRotationMatrix();
  const Eigen::Matrix3d R_WC = AngleAxisd(spec.azimuth, Point::UnitY()).toRotationMatrix() *
                               AngleAxisd(-spec.pitch, Point::UnitX()).toRotationMatrix() *
                               AngleAxisd(spec.roll, Point::UnitZ()).toRotationMatrix() * base;
  EXPECT_LT((camera.R_CW - R_WC.transpose()).norm(), 1e-12);
}

TEST(Camera, TurnsTheContentClockwiseForAPositiveRoll) {
  CameraSpec spec;
  spec.roll = 0.1;
  const Camera camera = make_camera(spec);
  const Eigen::Vector2d left = camera.project({-0.5, 1.2, 0});
  const Eigen::Vector2d right = camera.project({0.5, 1.2, 0});
  EXPECT_GT(right.y(), left.y());  // y down
}

TEST(Camera, RayGoesThroughThePointItProjects) {
  for (const ClipSpec& clip : clip_table()) {
    const Camera camera = make_camera(clip.camera);
    const Point p(0.2, 1.4, -0.3);
    const Eigen::Vector2d px = camera.project(p);
    const Point d = camera.ray(px.x(), px.y());
    EXPECT_LT((p - camera.position).cross(d).norm(), 1e-9) << clip.name;
  }
}

TEST(Clips, KeepLifterAndDiscsInsideThePicture) {
  for (const ClipSpec& clip : clip_table()) {
    const auto frames = clip_truth(clip);
    ASSERT_TRUE(frames) << clip.name << ": " << frames.error();
    const Camera camera = make_camera(clip.camera);
    for (const FrameTruth& frame : *frames) {
      const Skeleton& k = frame.skeleton;
      std::vector<Point> points = {k.head_top, k.nose, k.mid_hip};
      for (const Limbs& l : k.side) {
        points.insert(points.end(), {l.hip, l.knee, l.heel, l.toe, l.hand, l.elbow});
      }
      if (clip.bar.kind == BarKind::Barbell) {
        const double z = disc_outer_face_z(clip.bar) * (near_side(clip) == kRight ? 1 : -1);
        points.push_back(k.bar + Point(0, 0.5 * clip.bar.disc_diameter, z));
      }
      for (const Point& p : points) {
        const Eigen::Vector2d px = camera.project(p);
        EXPECT_GT(px.x(), 4) << clip.name;
        EXPECT_LT(px.x(), camera.width_px - 4) << clip.name;
        EXPECT_GT(px.y(), 4) << clip.name;
        EXPECT_LT(px.y(), camera.height_px - 4) << clip.name;
      }
    }
  }
}

}  // namespace
}  // namespace lintel::demo
