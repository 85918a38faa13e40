#include "report/plots.h"

#include <gtest/gtest.h>
#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "base/cautions.h"
#include "outside_tools.h"
#include "support/demo_measurement.h"

namespace lintel::report {
namespace {

using kinematics::Channel;

// Corner points of every stroked path of this line width, as the file has them. The drawing
// library joins steps of the same direction, so there may be fewer corners than frames.
std::vector<std::vector<Point>> stroked_paths(const std::string& svg, const std::string& width,
                                              std::size_t least) {
  std::vector<std::vector<Point>> paths;
  const std::string begin = "<path style=\"fill:none;stroke-width:" + width + ";";
  std::size_t at = 0;
  while ((at = svg.find(begin, at)) != std::string::npos) {
    const std::size_t from = svg.find(" d=\"", at) + 4;
    const std::size_t to = svg.find('"', from);
    std::vector<Point> points;
    const char* cursor = svg.c_str() + from;
    const char* end = svg.c_str() + to;
    while (cursor < end) {
      if (*cursor == 'M' || *cursor == 'L') {
        char* next = nullptr;
        const double x = std::strtod(cursor + 1, &next);
        const double y = std::strtod(next, &next);
        EXPECT_TRUE(std::isfinite(x) && std::isfinite(y));
        points.push_back({x, y});
        cursor = next;
      } else {
        ++cursor;
      }
    }
    if (points.size() >= least) paths.push_back(std::move(points));
    at = to;
  }
  return paths;
}

// How far a point lies from a line of many corners.
double distance_to(const std::vector<Point>& line, Point p) {
  double best = 1e9;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double dx = line[i + 1].x - line[i].x;
    const double dy = line[i + 1].y - line[i].y;
    const double length = std::max(dx * dx + dy * dy, 1e-12);
    const double t =
        std::clamp(((p.x - line[i].x) * dx + (p.y - line[i].y) * dy) / length, 0.0, 1.0);
    best = std::min(best, std::hypot(line[i].x + t * dx - p.x, line[i].y + t * dy - p.y));
  }
  return best;
}

void expect_xml(const std::string& svg) {
  LINTEL_NEEDS_TOOL("xmllint");
  const TemporaryFolder folder;
  const ToolRun run = run_tool("xmllint --noout " + folder.write("plot.svg", svg));
  EXPECT_EQ(run.status, 0) << run.output;
}

TEST(AnglePlot, DrawsEachFrameWhereItBelongs) {
  const auto m = test_support::demo_measurement({});
  const auto plot = plot_angles(m, {"Runa Fjellgard", UnitSystem::Metric});
  ASSERT_TRUE(plot) << plot.error();
  ASSERT_EQ(plot->panels.size(), 5u);
  const auto paths = stroked_paths(plot->svg, "1.6", 50);
  ASSERT_EQ(paths.size(), 5u);
  const std::vector<Channel> channels = {Channel::TrunkInclination, Channel::ShankInclination,
                                         Channel::KneeFlexion, Channel::HipFlexion,
                                         Channel::ShoulderElevation};
  for (std::size_t p = 0; p < channels.size(); ++p) {
    const auto& fitted = m[channels[p]].fitted;
    const auto& line = paths[p];
    const Axes& axes = plot->panels[p];
    // Without our own mapping: first and last frame and the extremes fix it.
    const auto [lowest, highest] = std::minmax_element(fitted.begin(), fitted.end());
    const auto by_y = [](const Point& a, const Point& b) { return a.y < b.y; };
    const auto [top, bottom] = std::minmax_element(line.begin(), line.end(), by_y);
    for (std::size_t i = 0; i < fitted.size(); ++i) {
      const double x =
          line.front().x + (line.back().x - line.front().x) * m.time[i] / m.time.back();
      const double y =
          bottom->y + (top->y - bottom->y) * (fitted[i] - *lowest) / (*highest - *lowest);
      EXPECT_LT(distance_to(line, {x, y}), 0.1) << p << " frame " << i;
      const Point expected = axes(m.time[i], fitted[i] * 180 / M_PI);
      EXPECT_NEAR(expected.x, x, 0.1);
      EXPECT_NEAR(expected.y, y, 0.1);
    }
    EXPECT_GE(top->y, axes.plot.y);
    EXPECT_LE(bottom->y, axes.plot.bottom());
  }
}

TEST(AnglePlot, IsXmlWithTitleDescriptionNumbersAndCautions) {
  const auto m = test_support::demo_measurement({});
  const auto plot = plot_angles(m, {"Runa <Fjellgard> & co", UnitSystem::Metric});
  ASSERT_TRUE(plot);
  expect_xml(plot->svg);
  EXPECT_NE(plot->svg.find("Runa &lt;Fjellgard&gt; &amp; co</title>"), std::string::npos);
  EXPECT_NE(plot->svg.find("trunk 38° ± 2°"), std::string::npos);
  for (const Caution& caution : cautions()) {
    EXPECT_NE(plot->svg.find(caution.text), std::string::npos) << caution.code;
  }
}

TEST(AnglePlot, BreaksTheLineWhereThereIsNoValue) {
  auto m = test_support::demo_measurement({});
  for (std::size_t i = 200; i < 260; ++i) {
    m[Channel::TrunkInclination].fitted[i] = std::nan("");
  }
  const auto plot = plot_angles(m, {});
  ASSERT_TRUE(plot);
  const auto paths = stroked_paths(plot->svg, "1.6", 50);
  ASSERT_EQ(paths.size(), 5u);
  double widest_step = 0;
  for (std::size_t i = 1; i < paths[0].size(); ++i) {
    widest_step = std::max(widest_step, paths[0][i].x - paths[0][i - 1].x);
  }
  const double gap = plot->panels[0](1, 0).x - plot->panels[0](0, 0).x;  // 60 frames = 1 s
  EXPECT_NEAR(widest_step, gap * 61 / 60, 0.2);
  EXPECT_FALSE(plot_angles({}, {}));
}

TEST(BarPathPlot, IsToScaleAndMapsBackToTheData) {
  const auto m = test_support::demo_measurement({});
  for (const UnitSystem units : {UnitSystem::Metric, UnitSystem::Imperial}) {
    const auto plot = plot_bar_path(m, {"", units});
    ASSERT_TRUE(plot) << plot.error();
    expect_xml(plot->svg);
    const auto& repetition = m.repetitions[0];
    const auto paths = stroked_paths(plot->svg, "1.1", 20);
    ASSERT_EQ(paths.size(), 5u);  // the way down, of five
    const auto& xs = m[Channel::BarX].fitted;
    const auto& ys = m[Channel::BarY].fitted;
    const auto& down = paths[0];
    // One scale for both directions: points per metre from the height alone must give x too.
    const double scale = (down.front().y - down.back().y) /
                         (ys[repetition.bottom_frame] - ys[repetition.start_frame]);
    for (std::size_t frame = repetition.start_frame; frame <= repetition.bottom_frame; ++frame) {
      const Point expected{down[0].x + scale * (xs[frame] - xs[repetition.start_frame]),
                           down[0].y - scale * (ys[frame] - ys[repetition.start_frame])};
      EXPECT_LT(distance_to(down, expected), 0.1) << frame;
    }
    for (const Caution& caution : cautions()) {
      EXPECT_NE(plot->svg.find(caution.text), std::string::npos) << caution.code;
    }
  }
}

TEST(BarPathPlot, SaysThatTheBarWasNotSeen) {
  test_support::DemoOptions options;
  options.bar_seen = false;
  const auto plot = plot_bar_path(test_support::demo_measurement(options), {});
  ASSERT_FALSE(plot);
  EXPECT_EQ(plot.error().code, ErrorCode::Invalid);
}

TEST(Ticks, AreRoundAndFewEnough) {
  EXPECT_DOUBLE_EQ(tick_step(10, 5, TickKind::Plain), 2);
  EXPECT_DOUBLE_EQ(tick_step(0.7, 4, TickKind::Plain), 0.2);
  EXPECT_DOUBLE_EQ(tick_step(41, 4, TickKind::Degrees), 15);
  EXPECT_DOUBLE_EQ(tick_step(130, 4, TickKind::Degrees), 45);
  const Range range = round_range({7.9, 39.8, false}, 10, 4, TickKind::Degrees);
  EXPECT_DOUBLE_EQ(range.low, 0);
  EXPECT_DOUBLE_EQ(range.high, 40);
}

}  // namespace
}  // namespace lintel::report
