// Time of what a report draws. The overlay must stay under 4 ms for a video frame of 540 x 960.
#include <benchmark/benchmark.h>
#include <cstdlib>

#include "report/athlete_page.h"
#include "report/overlay.h"
#include "report/plots.h"
#include "support/demo_measurement.h"

namespace {

using namespace lintel;
using namespace lintel::report;

const kinematics::Measurement& measurement() {
  static const auto m = test_support::demo_measurement({});
  return m;
}

void overlay_of_a_video_frame(benchmark::State& state) {
  const int width = static_cast<int>(state.range(0));
  const int height = static_cast<int>(state.range(1));
  test_support::DemoOptions options;
  options.width_px = width;
  options.height_px = height;
  const auto m = test_support::demo_measurement(options);
  const Image clean = test_support::demo_picture(width, height);
  auto painter = OverlayPainter::create(width, height);
  if (!painter) std::abort();
  Image image = clean;
  kinematics::FrameObservation observation;
  std::size_t i = 0;
  for (auto _ : state) {
    observation.disc = test_support::demo_disc(m, i);
    const auto drawn = painter->draw(image, overlay_frame(m, i, &observation, CautionStrip::None));
    if (!drawn) std::abort();
    benchmark::DoNotOptimize(image.bytes().data());
    i = (i + 1) % m.time.size();
  }
}
BENCHMARK(overlay_of_a_video_frame)
    ->Args({540, 960})
    ->Args({720, 1280})
    ->Unit(benchmark::kMillisecond);

void athlete_page(benchmark::State& state) {
  const auto assessment = test_support::demo_assessment(measurement());
  const Image picture = test_support::demo_picture(540, 960);
  AthletePageOptions options;
  options.bottom_picture = &picture;
  options.bottom_index = measurement().repetitions[0].bottom_frame;
  for (auto _ : state) {
    const auto page = render_athlete_page(assessment, options);
    if (!page || page->pdf.size() < 10'000) std::abort();
  }
}
BENCHMARK(athlete_page)->Unit(benchmark::kMillisecond);

void angle_plot(benchmark::State& state) {
  for (auto _ : state) {
    const auto plot = plot_angles(measurement(), {"Runa Fjellgard"});
    if (!plot || plot->panels.size() != 5) std::abort();
  }
}
BENCHMARK(angle_plot)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
