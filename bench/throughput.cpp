// How much of the machine the whole path uses: decode alone, network alone, and both with disc,
// fit and repetitions, on one clip in one run. usage: throughput CLIP [ATHLETE] [lite|full|heavy]
//
// The bound: a core spends (decode + network) CPU seconds on a frame, so n cores cannot pass
// n / (decode + network) frames a second. The share of it that the whole path reaches is printed,
// for the network with OpenCV's layers alone and for the one we use (pose/depthwise_layer.h).
#include <sys/resource.h>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <string>
#include <thread>

#include "app/athlete_file.h"
#include "app/measure.h"
#include "app/observe.h"
#include "media/clip_reader.h"
#include "pose/body_tracker.h"

namespace {

using namespace lintel;

double cpu_seconds() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
         1e-6 * static_cast<double>(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
}

double wall_seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

struct Cost {
  double cpu = 0;   // [s] a frame
  double wall = 0;  // [s] a frame
  long frames = 0;
};

class Stopwatch {
 public:
  Cost per_frame(long frames) const {
    const double n = static_cast<double>(std::max(1L, frames));
    return {(cpu_seconds() - cpu_) / n, (wall_seconds() - wall_) / n, frames};
  }

 private:
  double cpu_ = cpu_seconds();
  double wall_ = wall_seconds();
};

Result<Cost> decode_alone(const std::string& clip) {
  media::ClipReader reader = LINTEL_TRY(media::ClipReader::open(clip));
  media::DecodedFrame frame;
  const Stopwatch watch;
  long frames = 0;
  while (LINTEL_TRY(reader.next_into(frame))) ++frames;
  return watch.per_frame(frames);
}

// Landmarks of the first frame again and again, following the region: one thread.
Result<Cost> network_alone(const std::string& clip, pose::Variant variant, pose::Layers layers,
                           long frames) {
  media::ClipReader reader = LINTEL_TRY(media::ClipReader::open(clip));
  std::optional<media::DecodedFrame> frame = LINTEL_TRY(reader.next());
  if (!frame) return fail(ErrorCode::Invalid, "an empty clip");
  const std::filesystem::path models = LINTEL_TRY(pose::find_models());
  auto estimator = LINTEL_TRY(pose::PoseEstimator::create(models, variant, 1, layers));
  pose::BodyTracker tracker(pose::pose_source(estimator), {});
  LINTEL_TRY(tracker.track(frame->image));
  const Stopwatch watch;
  for (long i = 0; i < frames; ++i) LINTEL_TRY(tracker.track(frame->image));
  return watch.per_frame(frames);
}

struct Whole {
  Cost observe, measure;
};
Result<Whole> whole_path(const std::string& clip, const std::string& athlete,
                         app::NetworkVariant variant) {
  app::MeasureRequest request;
  app::ObserveRequest look;
  look.clip = clip;
  look.variant = variant;
  if (!athlete.empty()) {
    request.athlete = LINTEL_TRY(app::read_athlete_file(athlete));
    request.stature_known = true;
    look.stature = request.athlete->stature;
  }
  Whole whole;
  const Stopwatch looking;
  const app::Observation observation = LINTEL_TRY(app::observe_clip(look, {}));
  const long frames = static_cast<long>(observation.clip.frames.size());
  whole.observe = looking.per_frame(frames);
  const Stopwatch measuring;
  LINTEL_TRY(app::measure_observation(observation, request, {}));
  whole.measure = measuring.per_frame(frames);
  return whole;
}

void print(const char* what, const Cost& cost) {
  std::printf("%-28s %7.1f frames/s   %6.1f ms CPU a frame\n", what, 1 / cost.wall,
              1000 * cost.cpu);
}

Result<void> run(const std::string& clip, const std::string& athlete, const std::string& name) {
  const pose::Variant variant = LINTEL_TRY(pose::parse_variant(name));
  const app::NetworkVariant network = variant == pose::Variant::Lite    ? app::NetworkVariant::Lite
                                      : variant == pose::Variant::Heavy ? app::NetworkVariant::Heavy
                                                                        : app::NetworkVariant::Full;
  const unsigned cores = std::max(1U, std::thread::hardware_concurrency());
  const Cost decode = LINTEL_TRY(decode_alone(clip));
  const Cost landmarks = LINTEL_TRY(network_alone(clip, variant, pose::Layers::Fastest, 100));
  const Cost library = LINTEL_TRY(network_alone(clip, variant, pose::Layers::OpenCvAlone, 100));
  const Whole whole = LINTEL_TRY(whole_path(clip, athlete, network));
  print("decode alone", decode);
  print("network alone, one thread", landmarks);
  print("the same, OpenCV's layers", library);
  print("find body and bar", whole.observe);
  print("fit and measure", whole.measure);
  const double reached = 1 / (whole.observe.wall + whole.measure.wall);
  std::printf("whole path %.1f frames/s on %u cores\n", reached, cores);
  const auto print_share = [&](const char* layers, const Cost& network_cost) {
    const double bound = cores / (decode.cpu + network_cost.cpu);
    std::printf("  of %.1f that decode and the network with %s layers allow: %.2f\n", bound, layers,
                reached / bound);
  };
  print_share("OpenCV's", library);
  print_share("our", landmarks);
  return {};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::fprintf(stderr, "usage: throughput CLIP [ATHLETE] [lite|full|heavy]\n");
    return 2;
  }
  const auto outcome = run(argv[1], argc > 2 ? argv[2] : "", argc > 3 ? argv[3] : "full");
  if (outcome) return 0;
  std::fprintf(stderr, "%s\n", describe(outcome.error()).c_str());
  return 1;
}
