#include "fitting/fit.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fitting/clip.h"
#include "fitting/initial.h"
#include "fitting/report.h"
#include "fitting/residuals.h"
#include "fitting/solve.h"

namespace lintel::fitting {
namespace {

struct Window {
  std::size_t begin = 0, end = 0;       // pooled frames solved
  double begin_time = 0, end_time = 0;  // of the clip's frames that it answers for
};

std::vector<Window> windows_of(const PooledClip& clip, const FitOptions& options) {
  constexpr double kForever = std::numeric_limits<double>::infinity();
  const std::size_t count = clip.frames.size();
  const auto size = static_cast<std::size_t>(options.window_frames);
  if (count <= size) return {Window{0, count, -kForever, kForever}};
  // Neighbours overlap by a second or so on each side, so that the ends do not show.
  const std::size_t margin = std::min<std::size_t>(size / 6, 30);
  const std::size_t core = size - 2 * margin;
  std::vector<Window> windows;
  for (std::size_t start = 0; start < count; start += core) {
    const std::size_t stop = std::min(count, start + core);
    Window window;
    window.begin = start > margin ? start - margin : 0;
    window.end = std::min(count, stop + margin);
    window.begin_time = start == 0 ? -kForever : clip.frames[start].time;
    window.end_time = stop == count ? kForever : clip.frames[stop].time;
    windows.push_back(window);
  }
  return windows;
}

// The window that says most about lengths and offsets: wide range of knee flexion, well observed.
std::size_t most_informative(const std::vector<Window>& windows, const InitialGuess& guess) {
  std::size_t best = 0;
  double best_score = -1;
  for (std::size_t w = 0; w < windows.size(); ++w) {
    double sum = 0, squares = 0, seen = 0, count = 0;
    for (std::size_t i = windows[w].begin; i < windows[w].end; ++i) {
      count += 1;
      if (!guess.problem.clip->frames[i].has_body) continue;
      const double flexion = guess.pose[i][kShank] + guess.pose[i][kThigh];
      sum += flexion;
      squares += flexion * flexion;
      seen += 1;
    }
    if (seen < 2) continue;
    const double score = (squares / seen - sum * sum / (seen * seen)) * seen / count;
    if (score > best_score) {
      best_score = score;
      best = w;
    }
  }
  return best;
}

// Residual [m] of every landmark of the window, by instance.
std::array<std::vector<Eigen::Vector2d>, kInstanceCount> landmark_residuals(
    const FitProblem& problem, const Parameters& parameters) {
  std::array<std::vector<Eigen::Vector2d>, kInstanceCount> out;
  const kinematics::PinholeCamera<double> camera =
      camera_of(parameters.global.data(), problem.constants);
  for (std::size_t i = problem.begin; i < problem.end; ++i) {
    const PooledFrame& frame = problem.clip->frames[i];
    const PoseVector q = parameters.pose(frame.time);
    for (int side = 0; side < 2; ++side) {
      for (int k = 0; k < kFittedLandmarkCount; ++k) {
        const auto instance = static_cast<std::size_t>(instance_of(side, k));
        const auto landmark = static_cast<FittedLandmark>(k);
        const PooledLandmark& seen = frame.at(side, landmark);
        if (!seen.seen || !problem.used[instance]) continue;
        const Eigen::Vector3d p =
            landmark_point(landmark, side == kNear ? 1.0 : -1.0, q.data(), parameters.global.data(),
                           parameters.offset[instance].data(), problem.constants);
        const Eigen::Vector2d u = project(camera, p);
        out[instance].push_back((u - seen.px) / problem.pixels_per_metre);
      }
    }
  }
  return out;
}

// Noise of each landmark from its residuals (median absolute deviation), held near what was
// assumed when there are few independent frames.
void adapt_noise(FitProblem& problem, const Parameters& parameters) {
  const auto residuals = landmark_residuals(problem, parameters);
  const double inflation =
      correlation_inflation(problem.clip->spacing, problem.options.noise_correlation_time);
  for (std::size_t instance = 0; instance < residuals.size(); ++instance) {
    std::vector<double> sizes;
    for (const Eigen::Vector2d& r : residuals[instance]) {
      sizes.push_back(std::abs(r.x()));
      sizes.push_back(std::abs(r.y()));
    }
    if (sizes.size() < 10) continue;
    const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
    std::nth_element(sizes.begin(), middle, sizes.end());
    const double seen = 1.4826 * *middle;
    const double independent = static_cast<double>(sizes.size()) / inflation;
    const double assumed = problem.noise[instance];
    const double variance =
        (10.0 * assumed * assumed + independent * seen * seen) / (10.0 + independent);
    problem.noise[instance] = std::clamp(std::sqrt(variance), 0.5 * assumed, 4.0 * assumed);
  }
}

void write_statistics(const FitProblem& problem, const Parameters& parameters,
                      ResidualStatistics& statistics) {
  const auto residuals = landmark_residuals(problem, parameters);
  for (int side = 0; side < 2; ++side) {
    for (int k = 0; k < kFittedLandmarkCount; ++k) {
      const auto instance = static_cast<std::size_t>(instance_of(side, k));
      LandmarkReport report;
      report.landmark = static_cast<FittedLandmark>(k);
      report.near_side = side == kNear;
      report.used = problem.used[instance];
      report.observations = static_cast<int>(residuals[instance].size());
      report.noise = problem.noise[instance];
      double squares = 0, weak = 0;
      for (const Eigen::Vector2d& r : residuals[instance]) {
        squares += 0.5 * r.squaredNorm();
        // Cauchy weight 1 / (1 + s / 9) below one half: further than 3 SD.
        weak += r.norm() > 3.0 * problem.noise[instance] ? 1.0 : 0.0;
      }
      if (report.observations > 0) {
        report.rms = std::sqrt(squares / report.observations);
        report.down_weighted = weak / report.observations;
      }
      const OffsetVector& o = parameters.offset[instance];
      report.offset = {o[0], o[1]};
      report.flexion_offset = {o[2], o[3]};
      statistics.landmarks.push_back(report);
    }
  }
  double squares = 0, count = 0;
  for (std::size_t i = problem.begin; i < problem.end; ++i) {
    const PooledFrame& frame = problem.clip->frames[i];
    if (!frame.disc || problem.constants.disc_radius <= 0) continue;
    const PoseVector q = parameters.pose(frame.time);
    Chain<double> chain(q.data(), parameters.global.data(), problem.constants);
    chain.place_all();
    const auto picture = project_disc(chain.bar(), parameters.global.data(), problem.constants);
    squares += 0.5 * (picture.center - frame.disc->center_px).squaredNorm();
    count += 1;
  }
  if (count > 0) statistics.disc_rms_px = std::sqrt(squares / count);
}

FitResult without_fit(const kinematics::ClipObservation& clip, FitOutcome outcome,
                      std::string reason) {
  FitResult result;
  result.outcome = outcome;
  result.outcome_reason = std::move(reason);
  for (const auto& frame : clip.frames) {
    result.time.push_back(frame.time);
    result.frame_index.push_back(frame.index);
  }
  return result;
}

class Fitter {
 public:
  Fitter(const kinematics::ClipObservation& clip, const FitPriors& priors,
         const FitOptions& options, const WorkContext& context)
      : clip_(clip), priors_(priors), options_(options), context_(context) {}

  Result<FitResult> run() {
    const PooledClip pooled = LINTEL_TRY(pool_clip(clip_, priors_, options_));
    InitialGuess start = guess(pooled, priors_, options_);
    if (!start.usable) {
      return without_fit(clip_, FitOutcome::NotEnoughData,
                         "too few frames show ankles, knees, hips and shoulders");
    }
    const std::vector<Window> windows = windows_of(pooled, options_);
    const std::size_t main = most_informative(windows, start);
    FitProblem problem = start.problem;
    select(problem, windows[main]);
    Parameters parameters =
        start_parameters(start, problem.begin, problem.end, options_.knot_spacing);
    SolveReport report = solve(problem, Globals::Free, parameters, context_, "fit the skeleton");
    if (options_.adapt_noise && usable(report)) {
      const int first = report.iterations;
      adapt_noise(problem, parameters);
      report = solve(problem, Globals::Free, parameters, context_, "fit the skeleton again");
      report.iterations += first;
    }
    if (report.end == SolveEnd::Stopped) return fail(cancelled_error());
    if (report.end == SolveEnd::Failed) {
      return without_fit(clip_, FitOutcome::NumericalFailure, "the solver found no way to improve");
    }
    const auto covariance = ArrowCovariance::create(normal_equations(problem, parameters));
    if (!covariance) {
      return without_fit(clip_, FitOutcome::NumericalFailure,
                         "the observations do not determine the skeleton");
    }
    return finish(start, windows, main, problem, parameters, *covariance, report);
  }

 private:
  static bool usable(const SolveReport& report) {
    return report.end == SolveEnd::Converged || report.end == SolveEnd::IterationLimit;
  }
  static void select(FitProblem& problem, const Window& window) {
    problem.begin = window.begin;
    problem.end = window.end;
  }

  Result<FitResult> finish(const InitialGuess& start, const std::vector<Window>& windows,
                           std::size_t main, FitProblem& problem, const Parameters& parameters,
                           const ArrowCovariance& covariance, const SolveReport& report) {
    Reporter reporter(clip_, priors_, problem);
    const SharedErrors shared = reporter.shared_errors(
        parameters, covariance, windows[main].begin_time, windows[main].end_time);
    if (!reporter.fill(parameters, covariance, shared, windows[main].begin_time,
                       windows[main].end_time, context_)) {
      return fail(cancelled_error());
    }
    ResidualStatistics& statistics = reporter.result().statistics;
    write_statistics(problem, parameters, statistics);
    statistics.cost = report.cost;
    statistics.iterations = report.iterations;
    statistics.pooled_frames = static_cast<int>(problem.clip->frames.size());
    statistics.windows = static_cast<int>(windows.size());
    bool limited = report.end == SolveEnd::IterationLimit;
    for (std::size_t w = 0; w < windows.size(); ++w) {
      context_.report("measure every frame", static_cast<double>(w),
                      static_cast<double>(windows.size()));
      if (w == main) continue;
      select(problem, windows[w]);
      Parameters local = start_parameters(start, problem.begin, problem.end, options_.knot_spacing);
      local.global = parameters.global;
      local.offset = parameters.offset;
      const SolveReport part = solve(problem, Globals::Held, local, context_, "fit the rest");
      if (part.end == SolveEnd::Stopped) return fail(cancelled_error());
      if (!usable(part)) continue;  // its frames keep no value
      limited = limited || part.end == SolveEnd::IterationLimit;
      const auto held =
          ArrowCovariance::create(normal_equations(problem, local), &covariance.border());
      if (!held) continue;
      if (!reporter.fill(local, *held, shared, windows[w].begin_time, windows[w].end_time,
                         context_)) {
        return fail(cancelled_error());
      }
    }
    FitResult result = reporter.take(parameters, covariance);
    result.outcome = limited ? FitOutcome::IterationLimit : FitOutcome::Converged;
    if (limited) result.outcome_reason = "the fit still improved when it was stopped";
    return result;
  }

  const kinematics::ClipObservation& clip_;
  const FitPriors& priors_;
  const FitOptions& options_;
  const WorkContext& context_;
};

}  // namespace

std::string_view fit_outcome_name(FitOutcome outcome) {
  switch (outcome) {
    case FitOutcome::Converged:
      return "converged";
    case FitOutcome::IterationLimit:
      return "iteration_limit";
    case FitOutcome::NotEnoughData:
      return "not_enough_data";
    case FitOutcome::NumericalFailure:
      break;
  }
  return "numerical_failure";
}

std::string_view global_quantity_name(GlobalQuantity quantity) {
  static constexpr std::array<std::string_view, kGlobalQuantityCount> kNames = {
      "camera_aim",
      "camera_height",
      "camera_distance",
      "focal_length",
      "yaw",
      "roll",
      "pitch",
      "shank",
      "thigh",
      "trunk",
      "upper_arm",
      "forearm",
      "ankle_height",
      "heel_to_ankle",
      "ankle_to_ball",
      "inter_hip",
      "inter_shoulder",
      "stance_width",
      "toe_out",
      "foot_stagger",
      "grip_width",
      "disc_plane_offset",
      "disc_scale",
      "disc_aspect",
      "bar_offset_forward",
      "bar_offset_up",
      "balance_place",
      "knee_out"};
  return kNames[static_cast<std::size_t>(quantity)];
}

double ErrorModel::shared_covariance(kinematics::Channel channel_a, std::size_t frame_a,
                                     kinematics::Channel channel_b, std::size_t frame_b) const {
  if (!table_ || frame_a >= table_->shared.size() || frame_b >= table_->shared.size()) return 0.0;
  const auto a = table_->shared[frame_a].row(static_cast<int>(channel_a));
  const auto b = table_->shared[frame_b].row(static_cast<int>(channel_b));
  return static_cast<double>(a.dot(b));
}

double ErrorModel::change_standard_error(kinematics::Channel channel, std::size_t frame_a,
                                         std::size_t frame_b) const {
  if (!table_ || frame_a >= table_->shared.size() || frame_b >= table_->shared.size()) {
    return std::numeric_limits<double>::quiet_NaN();
  }
  const std::vector<double>& error = table_->standard_error[static_cast<std::size_t>(channel)];
  const double a = error[frame_a], b = error[frame_b];
  const double variance =
      a * a + b * b - 2.0 * shared_covariance(channel, frame_a, channel, frame_b);
  return std::sqrt(std::max(0.0, variance));
}

Result<FitResult> fit_skeleton(const kinematics::ClipObservation& clip, const FitPriors& priors,
                               const FitOptions& options, const WorkContext& context) {
  try {
    return Fitter(clip, priors, options, context).run();
  } catch (const std::exception& error) {
    return fail(ErrorCode::Internal, std::string("the skeleton fit failed: ") + error.what());
  }
}

}  // namespace lintel::fitting
