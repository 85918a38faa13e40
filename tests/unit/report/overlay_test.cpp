#include "report/overlay.h"

#include <gtest/gtest.h>
#include <cmath>

#include "base/cautions.h"
#include "support/demo_measurement.h"

namespace lintel::report {
namespace {

using kinematics::FigurePoint;

bool differs(const Image& a, const Image& b, int x, int y) {
  const std::uint8_t* p = a.pixel(x, y);
  const std::uint8_t* q = b.pixel(x, y);
  return p[0] != q[0] || p[1] != q[1] || p[2] != q[2];
}

double share_changed(const Image& a, const Image& b, int x0, int y0, int x1, int y1) {
  int changed = 0;
  int all = 0;
  for (int y = std::max(y0, 0); y < std::min(y1, a.height()); ++y) {
    for (int x = std::max(x0, 0); x < std::min(x1, a.width()); ++x) {
      changed += differs(a, b, x, y) ? 1 : 0;
      ++all;
    }
  }
  return all == 0 ? 0 : static_cast<double>(changed) / all;
}

struct Drawn {
  Image before;
  Image after;
  OverlayFrame frame;
};

Drawn draw(const test_support::DemoOptions& options, CautionStrip cautions) {
  const auto m = test_support::demo_measurement(options);
  const std::size_t index = m.repetitions[0].bottom_frame;
  kinematics::FrameObservation observation;
  observation.disc = test_support::demo_disc(m, index);
  Drawn drawn;
  drawn.before = test_support::demo_picture(options.width_px, options.height_px);
  drawn.after = drawn.before;
  drawn.frame = overlay_frame(m, index, &observation, cautions);
  auto painter = OverlayPainter::create(options.width_px, options.height_px);
  EXPECT_TRUE(painter);
  const auto result = painter->draw(drawn.after, drawn.frame);
  EXPECT_TRUE(result);
  return drawn;
}

TEST(Overlay, DrawsWhereTheJointsAre) {
  for (const double facing : {1.0, -1.0}) {
    test_support::DemoOptions options;
    options.facing = facing;
    const Drawn drawn = draw(options, CautionStrip::None);
    for (const FigurePoint p :
         {FigurePoint::Ankle, FigurePoint::Knee, FigurePoint::Hip, FigurePoint::Shoulder,
          FigurePoint::Elbow, FigurePoint::Wrist, FigurePoint::Bar}) {
      const Eigen::Vector2f at = drawn.frame.figure[static_cast<std::size_t>(p)];
      const int x = static_cast<int>(at.x());
      const int y = static_cast<int>(at.y());
      EXPECT_GT(share_changed(drawn.before, drawn.after, x - 2, y - 2, x + 3, y + 3), 0.95)
          << static_cast<int>(p);
    }
    // Half way along each bone, and on the rim of the disc.
    const auto& f = drawn.frame.figure;
    const auto middle = [&](FigurePoint a, FigurePoint b) {
      const Eigen::Vector2f m =
          (f[static_cast<std::size_t>(a)] + f[static_cast<std::size_t>(b)]) / 2;
      return share_changed(drawn.before, drawn.after, static_cast<int>(m.x()) - 1,
                           static_cast<int>(m.y()) - 1, static_cast<int>(m.x()) + 2,
                           static_cast<int>(m.y()) + 2);
    };
    EXPECT_GT(middle(FigurePoint::Ankle, FigurePoint::Knee), 0.99);
    EXPECT_GT(middle(FigurePoint::Knee, FigurePoint::Hip), 0.99);
    EXPECT_GT(middle(FigurePoint::Hip, FigurePoint::Shoulder), 0.99);
    const auto& disc = *drawn.frame.disc;
    EXPECT_TRUE(differs(drawn.before, drawn.after,
                        static_cast<int>(disc.center_px.x() + disc.semi_major_px),
                        static_cast<int>(disc.center_px.y())));
  }
}

TEST(Overlay, LeavesTheRestOfThePictureAlone) {
  test_support::DemoOptions options;
  options.width_px = 1280;
  options.height_px = 720;
  const Drawn drawn = draw(options, CautionStrip::None);
  // The person stands in the middle third; the outer fifths below the caption stay as they were.
  EXPECT_EQ(share_changed(drawn.before, drawn.after, 0, 60, 256, 720), 0);
  EXPECT_EQ(share_changed(drawn.before, drawn.after, 1024, 60, 1280, 720), 0);
}

TEST(Overlay, HangsThePlumbLineOverMidFootUpToTheTop) {
  const Drawn drawn = draw({}, CautionStrip::None);
  const Eigen::Vector2f foot = drawn.frame.figure[static_cast<std::size_t>(FigurePoint::MidFoot)];
  const int x = static_cast<int>(foot.x());
  for (int y = 60; y < static_cast<int>(foot.y()); y += 7) {
    EXPECT_GT(share_changed(drawn.before, drawn.after, x - 1, y, x + 2, y + 1), 0.6) << y;
  }
}

TEST(Overlay, LeansThePlumbLineWithTheRollOfTheCamera) {
  test_support::DemoOptions options;
  options.roll = 0.06;
  const Drawn drawn = draw(options, CautionStrip::None);
  const Eigen::Vector2f foot = drawn.frame.figure[static_cast<std::size_t>(FigurePoint::MidFoot)];
  const int y = 200;
  const int x = static_cast<int>(foot.x() + std::tan(0.06) * (foot.y() - y));
  EXPECT_GT(share_changed(drawn.before, drawn.after, x - 1, y, x + 2, y + 1), 0.6);
  EXPECT_EQ(share_changed(drawn.before, drawn.after, static_cast<int>(foot.x()) - 1, y,
                          static_cast<int>(foot.x()) + 2, y + 1),
            0);
}

TEST(Overlay, DrawsOnlyTheCaptionWhereNobodyWasSeen) {
  Image before = test_support::demo_picture(540, 960);
  Image after = before;
  OverlayFrame frame = overlay_frame({}, 0, nullptr, CautionStrip::None);
  EXPECT_EQ(frame.caption, "No repetition");
  auto painter = OverlayPainter::create(540, 960);
  ASSERT_TRUE(painter->draw(after, frame));
  EXPECT_EQ(share_changed(before, after, 0, 40, 540, 960), 0);
  EXPECT_GT(share_changed(before, after, 0, 0, 540, 20), 0.9);
}

TEST(Overlay, SurvivesPointsFarOutsideAndNoNumbers) {
  Image image = test_support::demo_picture(540, 960);
  auto painter = OverlayPainter::create(540, 960);
  OverlayFrame frame;
  for (std::size_t i = 0; i < frame.figure.size(); ++i) {
    frame.figure[i] = {i % 2 == 0 ? 3e38F : -4000.0F, i % 3 == 0 ? INFINITY : 1e4F};
  }
  frame.trunk_inclination = Estimate{1e30, -1};
  frame.roll = std::nan("");
  frame.disc = kinematics::DiscObservation{};
  frame.disc->semi_major_px = INFINITY;
  frame.disc->semi_minor_px = 1;
  frame.caption = std::string(100'000, 'w');
  EXPECT_TRUE(painter->draw(image, frame));
  Image other(10, 10);
  EXPECT_FALSE(painter->draw(other, frame));
}

TEST(Overlay, PutsTheCautionsAtTheFootWhenAsked) {
  const Drawn without = draw({}, CautionStrip::None);
  const Drawn with = draw({}, CautionStrip::Brief);
  EXPECT_EQ(share_changed(without.after, without.before, 0, 935, 200, 960), 0);
  EXPECT_GT(share_changed(with.after, without.after, 0, 920, 540, 960), 0.95);
}

TEST(Overlay, WritesTheCautionsInWords) {
  auto canvas = Canvas::svg(540, 960, {"t", "d", "", ""});
  const auto m = test_support::demo_measurement({});
  const auto frame = overlay_frame(m, m.repetitions[0].bottom_frame, nullptr, CautionStrip::Brief);
  draw_overlay(*canvas, frame, {{0, 0}, 1, {0, 0}}, {0, 0, 540, 960}, 1, 15, nullptr);
  // Caption, time, four angles and the strip; all inside of the picture, none on another.
  const auto& boxes = canvas->text_boxes();
  ASSERT_EQ(boxes.size(), 7u);
  const TextStyle strip{15 * 0.72, Weight::Regular, kInk, Align::Left, 540 - 16, 0, 0};
  const Box expected = canvas->measure(cautions_brief(), strip);
  EXPECT_NEAR(boxes.back().width, expected.width, 0.1);
  EXPECT_NEAR(boxes.back().height, expected.height, 0.1);
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    EXPECT_GE(boxes[i].x, 0);
    EXPECT_GE(boxes[i].y, 0);
    EXPECT_LE(boxes[i].right(), 540);
    EXPECT_LE(boxes[i].bottom(), 960);
    for (std::size_t j = 0; j < i; ++j) EXPECT_FALSE(boxes[i].overlaps(boxes[j])) << i << " " << j;
  }
}

TEST(Overlay, KeepsItsLabelsFromJumping) {
  const auto m = test_support::demo_measurement({});
  auto canvas = Canvas::for_images(540, 960);
  std::array<int, 4> places = {-1, -1, -1, -1};
  int jumps = 0;
  for (std::size_t i = 0; i < m.repetitions[0].end_frame; ++i) {
    const auto before = places;
    const auto frame = overlay_frame(m, i, nullptr, CautionStrip::None);
    draw_overlay(*canvas, frame, {{0, 0}, 1, {0, 0}}, {0, 0, 540, 960}, 1, 15, &places);
    for (std::size_t l = 0; l < places.size(); ++l) jumps += i > 0 && places[l] != before[l];
  }
  EXPECT_LE(jumps, 16);  // four labels, down and up, two moves each
}

TEST(OverlayFrame, NamesRepetitionAndPhase) {
  const auto m = test_support::demo_measurement({});
  const auto caption = [&](std::size_t i) {
    return overlay_frame(m, i, nullptr, CautionStrip::None).caption;
  };
  const auto& second = m.repetitions[1];
  EXPECT_EQ(caption(second.start_frame), "Repetition 2 of 5, start");
  EXPECT_EQ(caption(second.start_frame + 5), "Repetition 2 of 5, down");
  EXPECT_EQ(caption(second.bottom_frame), "Repetition 2 of 5, bottom");
  EXPECT_EQ(caption(second.bottom_frame + 5), "Repetition 2 of 5, up");
  EXPECT_EQ(caption(second.end_frame), "Repetition 2 of 5, end");
  EXPECT_EQ(caption(second.end_frame + 3), "Between repetitions");
}

}  // namespace
}  // namespace lintel::report
