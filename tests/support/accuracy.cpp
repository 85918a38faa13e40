#include "support/accuracy.h"

#include <algorithm>
#include <cmath>

#include "app/athlete_file.h"
#include "kinematics/raw_curves.h"

namespace lintel::test {
namespace {

using kinematics::Channel;
using kinematics::kChannelCount;

constexpr double kCovered = 1.96;  // normal 95 % interval
// The hips count as lowest while within this of the true lowest height [m].
constexpr double kLowestBand = 0.003;

struct Sum {
  double squares = 0, total = 0;
  int n = 0;
  void add(double x) {
    if (!std::isfinite(x)) return;
    squares += x * x;
    total += x;
    ++n;
  }
  double rms() const { return n > 0 ? std::sqrt(squares / n) : NAN; }
  double mean() const { return n > 0 ? total / n : NAN; }
};

bool inside_repetition(const ClipTruth& truth, double time) {
  if (truth.repetitions.empty()) return true;
  return std::ranges::any_of(
      truth.repetitions, [&](const TrueRepetition& r) { return time >= r.start && time <= r.end; });
}

std::size_t nearest_true_frame(const ClipTruth& truth, double time) {
  const auto after = std::ranges::lower_bound(truth.frames, time, {}, &TrueFrame::time);
  std::size_t i = static_cast<std::size_t>(after - truth.frames.begin());
  if (i == truth.frames.size()) return i - 1;
  if (i > 0 && time - truth.frames[i - 1].time < truth.frames[i].time - time) --i;
  return i;
}

double true_value(const ClipTruth& truth, double time, Channel channel) {
  return truth.frames[nearest_true_frame(truth, time)].channels[static_cast<std::size_t>(channel)];
}

// How many frames the found bottom is away from the frames in which the hips are truly lowest.
double frames_off_bottom(const ClipTruth& truth, const TrueRepetition& repetition, double found) {
  double lowest = 1e9;
  for (const TrueFrame& frame : truth.frames) {
    if (frame.time < repetition.start || frame.time > repetition.end) continue;
    lowest = std::min(lowest, frame.channels[static_cast<std::size_t>(Channel::HipHeight)]);
  }
  double best = 1e9;
  const std::size_t at = nearest_true_frame(truth, found);
  for (std::size_t i = 0; i < truth.frames.size(); ++i) {
    const TrueFrame& frame = truth.frames[i];
    if (frame.time < repetition.start || frame.time > repetition.end) continue;
    if (frame.channels[static_cast<std::size_t>(Channel::HipHeight)] > lowest + kLowestBand)
      continue;
    best = std::min(best, std::abs(static_cast<double>(i) - static_cast<double>(at)));
  }
  return best;
}

void compare_bar(const kinematics::Measurement& measurement, const ClipTruth& truth,
                 ClipAccuracy& accuracy) {
  Sum x, y;
  const auto& bar_x = measurement[Channel::BarX].fitted;
  const auto& bar_y = measurement[Channel::BarY].fitted;
  std::vector<Eigen::Vector2d> differences;
  for (std::size_t i = 0; i < measurement.time.size(); ++i) {
    if (i >= bar_x.size() || !std::isfinite(bar_x[i])) continue;
    const double t = measurement.time[i];
    if (!inside_repetition(truth, t)) continue;
    differences.emplace_back(bar_x[i] - true_value(truth, t, Channel::BarX),
                             bar_y[i] - true_value(truth, t, Channel::BarY));
    x.add(differences.back().x());
    y.add(differences.back().y());
  }
  Sum about_mean;
  for (const Eigen::Vector2d& d : differences) {
    about_mean.add(std::hypot(d.x() - x.mean(), d.y() - y.mean()));
  }
  accuracy.bar_path_rms = about_mean.rms();
  accuracy.bar_offset = x.mean();
}

}  // namespace

ClipAccuracy compare_with_truth(const app::Observation& observation, const app::Measured& measured,
                                const ClipTruth& truth) {
  ClipAccuracy accuracy;
  accuracy.name = truth.name;
  accuracy.repetitions_true = static_cast<int>(truth.repetitions.size());
  if (!measured.side) return accuracy;
  const kinematics::Measurement& m = *measured.side;
  accuracy.repetitions_found = static_cast<int>(m.repetitions.size());
  accuracy.yaw_true = truth.yaw;
  accuracy.yaw_found = m.camera.yaw.value;
  accuracy.yaw_error = m.camera.yaw.standard_error;
  for (std::size_t r = 0; r < std::min(m.repetitions.size(), truth.repetitions.size()); ++r) {
    accuracy.worst_bottom_frames = std::max(
        accuracy.worst_bottom_frames,
        frames_off_bottom(truth, truth.repetitions[r], m.time[m.repetitions[r].bottom_frame]));
  }
  kinematics::RawCurveOptions options;
  options.landmarks = kinematics::LandmarkChoice::Regressed;
  const auto regressed = kinematics::raw_curves(observation.clip, m.camera, options);
  for (int c = 0; c < kChannelCount; ++c) {
    const auto channel = static_cast<Channel>(c);
    const kinematics::Series& series = m[channel];
    ChannelAccuracy& out = accuracy.channels[static_cast<std::size_t>(c)];
    Sum raw_regressed, raw_refined, fitted, errors, bottoms;
    for (std::size_t i = 0; i < m.time.size(); ++i) {
      const double t = m.time[i];
      if (!inside_repetition(truth, t)) continue;
      const double expected = true_value(truth, t, channel);
      raw_regressed.add(regressed[static_cast<std::size_t>(c)][i] - expected);
      raw_refined.add(series.raw[i] - expected);
      if (i >= series.fitted.size() || !std::isfinite(series.fitted[i]) ||
          !std::isfinite(expected)) {
        continue;
      }
      const double error = series.fitted[i] - expected;
      fitted.add(error);
      errors.add(series.standard_error[i]);
      ++out.frames;
      if (std::abs(error) <= kCovered * series.standard_error[i]) ++out.inside;
    }
    for (const TrueRepetition& repetition : truth.repetitions) {
      const auto nearest = std::ranges::lower_bound(m.time, repetition.bottom);
      if (nearest == m.time.end() || series.fitted.empty()) continue;
      const auto i = static_cast<std::size_t>(nearest - m.time.begin());
      bottoms.add(series.fitted[i] - true_value(truth, m.time[i], channel));
    }
    out.regressed_rms = raw_regressed.rms();
    out.refined_rms = raw_refined.rms();
    out.fitted_rms = fitted.rms();
    out.fitted_bias = fitted.mean();
    out.bottom_error = bottoms.mean();
    out.mean_standard_error = errors.mean();
  }
  compare_bar(m, truth, accuracy);
  return accuracy;
}

void print_header(std::FILE* out) {
  std::fprintf(out,
               "RMS error over the repetitions in degrees: regressed / refined / fitted "
               "(fitted error at the bottom; covered by 95 %% intervals)\n");
}

void print_accuracy(std::FILE* out, const ClipAccuracy& accuracy) {
  std::fprintf(out,
               "%s: repetitions %d of %d, bottom %.0f frames off, bar path %.1f mm RMS "
               "(place %+.1f mm), camera turned %.1f, found %.1f +/- %.1f degrees\n",
               accuracy.name.c_str(), accuracy.repetitions_found, accuracy.repetitions_true,
               accuracy.worst_bottom_frames, 1000 * accuracy.bar_path_rms,
               1000 * accuracy.bar_offset, accuracy.yaw_true * kDegreesPerRadian,
               accuracy.yaw_found * kDegreesPerRadian, accuracy.yaw_error * kDegreesPerRadian);
  for (int c = 0; c < kChannelCount; ++c) {
    const auto& info = kinematics::channel_info(static_cast<Channel>(c));
    const ChannelAccuracy& a = accuracy.channels[static_cast<std::size_t>(c)];
    if (info.unit != kinematics::ChannelUnit::Radian || a.frames == 0) continue;
    std::fprintf(out, "  %-20s %6.1f /%6.1f /%6.1f   (bottom %+5.1f; se %.1f; %3.0f %%)\n",
                 std::string(info.name).c_str(), a.regressed_rms * kDegreesPerRadian,
                 a.refined_rms * kDegreesPerRadian, a.fitted_rms * kDegreesPerRadian,
                 a.bottom_error * kDegreesPerRadian, a.mean_standard_error * kDegreesPerRadian,
                 100.0 * a.inside / a.frames);
  }
}

Result<MeasuredClip> measure_rendered_clip(const std::filesystem::path& folder,
                                           const std::string& name, app::NetworkVariant variant,
                                           int threads, Vertical vertical) {
  MeasuredClip clip;
  clip.truth = LINTEL_TRY(read_clip_truth(folder / (name + ".truth.json")));
  app::MeasureRequest measure;
  measure.athlete = LINTEL_TRY(app::read_athlete_file(folder / (name + ".athlete.json")));
  measure.stature_known = true;
  if (vertical == Vertical::Given) measure.vertical_roll = Angle::radians(clip.truth.roll);
  app::ObserveRequest observe;
  observe.clip = folder / (name + ".mp4");
  observe.variant = variant;
  observe.threads = threads;
  observe.stature = measure.athlete->stature;
  if (clip.truth.has_disc) {
    observe.disc_diameter = measure.athlete->setup.disc_diameter;
    measure.disc_diameter = measure.athlete->setup.disc_diameter;
  }
  clip.observation = LINTEL_TRY(app::observe_clip(observe, {}));
  clip.measured = LINTEL_TRY(app::measure_observation(clip.observation, measure, {}));
  return clip;
}

}  // namespace lintel::test
