#include "fitting/solve.h"

#include <ceres/ceres.h>
#include <ceres/gradient_checker.h>
#include <ceres/jet.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "fitting/offsets.h"
#include "fitting/residuals.h"

namespace lintel::fitting {
namespace {

// A residual of one instant: the pose is the weighted sum of four control points. Derivatives are
// taken with respect to the pose and spread to the control points, which keeps the jets short.
template <typename Residual>
class InstantCost final : public ceres::CostFunction {
 public:
  InstantCost(Residual residual, const KnotGrid::Weights& weights)
      : residual_(std::move(residual)), weights_(weights.value) {
    set_num_residuals(Residual::kRows);
    for (int k = 0; k < 4; ++k) mutable_parameter_block_sizes()->push_back(kPoseSize);
    mutable_parameter_block_sizes()->push_back(kGlobalSize);
    if (Residual::kHasOffset) mutable_parameter_block_sizes()->push_back(kOffsetSize);
  }

  bool Evaluate(double const* const* parameters, double* residuals,
                double** jacobians) const override {
    PoseVector pose{};
    for (std::size_t k = 0; k < 4; ++k) {
      for (std::size_t i = 0; i < kPoseSize; ++i) pose[i] += weights_[k] * parameters[k][i];
    }
    const double* global = parameters[4];
    if (jacobians == nullptr) {
      residual_(pose.data(), global, Residual::kHasOffset ? parameters[5] : nullptr, residuals);
    } else {
      evaluate_with_derivatives(pose, global, Residual::kHasOffset ? parameters[5] : nullptr,
                                residuals, jacobians);
    }
    for (int row = 0; row < Residual::kRows; ++row) {
      if (!std::isfinite(residuals[row])) return false;  // the solver takes a shorter step
    }
    return true;
  }

 private:
  static constexpr int kOffsets = Residual::kHasOffset ? kOffsetSize : 0;
  static constexpr int kSize = kPoseSize + kGlobalSize + kOffsets;
  using Jet = ceres::Jet<double, kSize>;

  void evaluate_with_derivatives(const PoseVector& pose, const double* global, const double* offset,
                                 double* residuals, double** jacobians) const {
    std::array<Jet, kSize> x;
    for (int i = 0; i < kSize; ++i) {
      const double value = i < kPoseSize                 ? pose[static_cast<std::size_t>(i)]
                           : i < kPoseSize + kGlobalSize ? global[i - kPoseSize]
                                                         : offset[i - kPoseSize - kGlobalSize];
      x[static_cast<std::size_t>(i)] = Jet(value, i);
    }
    std::array<Jet, Residual::kRows> r;
    residual_(x.data(), x.data() + kPoseSize, x.data() + kPoseSize + kGlobalSize, r.data());
    for (int row = 0; row < Residual::kRows; ++row) {
      const Jet& jet = r[static_cast<std::size_t>(row)];
      residuals[row] = jet.a;
      for (std::size_t k = 0; k < 4; ++k) {
        if (jacobians[k] == nullptr) continue;
        for (int i = 0; i < kPoseSize; ++i) {
          jacobians[k][row * kPoseSize + i] = weights_[k] * jet.v[i];
        }
      }
      if (jacobians[4] != nullptr) {
        for (int i = 0; i < kGlobalSize; ++i) {
          jacobians[4][row * kGlobalSize + i] = jet.v[kPoseSize + i];
        }
      }
      if (kOffsets > 0 && jacobians[5] != nullptr) {
        for (int i = 0; i < kOffsets; ++i) {
          jacobians[5][row * kOffsetSize + i] = jet.v[kPoseSize + kGlobalSize + i];
        }
      }
    }
  }

  Residual residual_;
  std::array<double, 4> weights_;
};

// (sum_k factor_k * block_k - target) * weight, entry by entry: all priors that are linear.
class LinearCost final : public ceres::CostFunction {
 public:
  LinearCost(std::vector<double> factors, std::vector<double> targets, std::vector<double> weights)
      : factors_(std::move(factors)), targets_(std::move(targets)), weights_(std::move(weights)) {
    set_num_residuals(static_cast<int>(weights_.size()));
    for (std::size_t k = 0; k < factors_.size(); ++k) {
      mutable_parameter_block_sizes()->push_back(static_cast<int>(weights_.size()));
    }
  }
  bool Evaluate(double const* const* parameters, double* residuals,
                double** jacobians) const override {
    const std::size_t size = weights_.size();
    for (std::size_t i = 0; i < size; ++i) {
      double sum = -targets_[i];
      for (std::size_t k = 0; k < factors_.size(); ++k) sum += factors_[k] * parameters[k][i];
      residuals[i] = weights_[i] * sum;
    }
    if (jacobians == nullptr) return true;
    for (std::size_t k = 0; k < factors_.size(); ++k) {
      if (jacobians[k] == nullptr) continue;
      std::fill_n(jacobians[k], size * size, 0.0);
      for (std::size_t i = 0; i < size; ++i) {
        jacobians[k][i * size + i] = weights_[i] * factors_[k];
      }
    }
    return true;
  }

 private:
  std::vector<double> factors_, targets_, weights_;
};

// A prior on one entry of a block, so that it can have its own loss.
class EntryCost final : public ceres::CostFunction {
 public:
  EntryCost(int entry, int size, double mean, double deviation)
      : entry_(entry), size_(size), mean_(mean), deviation_(deviation) {
    set_num_residuals(1);
    mutable_parameter_block_sizes()->push_back(size);
  }
  bool Evaluate(double const* const* parameters, double* residuals,
                double** jacobians) const override {
    residuals[0] = (parameters[0][entry_] - mean_) / deviation_;
    if (jacobians != nullptr && jacobians[0] != nullptr) {
      std::fill_n(jacobians[0], size_, 0.0);
      jacobians[0][entry_] = 1.0 / deviation_;
    }
    return true;
  }

 private:
  int entry_, size_;
  double mean_, deviation_;
};

// Residuals beyond this many SDs lose weight (Cauchy): 3 keeps 90 % of the efficiency on normal
// errors.
constexpr double kRobustWidth = 3.0;
// Knee centre from the vertical plane over the foot [m]; judgement, no source.
constexpr double kKneeLineDeviation = 0.03;
constexpr double kKneeLineWidth = 2.0;  // SDs, Cauchy
// How long heels stay up or down [s], as an integral time like FitOptions::noise_correlation_time.
constexpr double kHeelLiftTime = 0.3;

// [m] of a point that a person put on the picture (common practice, no source).
constexpr double kHandError = 0.008;

ceres::LossFunction* weighted_cauchy(double width, double inflation) {
  return new ceres::ScaledLoss(new ceres::CauchyLoss(width), 1.0 / inflation,
                               ceres::TAKE_OWNERSHIP);
}

class Builder {
 public:
  Builder(const FitProblem& problem, Parameters& parameters)
      : problem_(problem), parameters_(parameters) {}

  ceres::Problem& build() {
    for (PoseVector& control : parameters_.control) {
      ceres_.AddParameterBlock(control.data(), kPoseSize);
    }
    ceres_.AddParameterBlock(parameters_.global.data(), kGlobalSize);
    for (std::size_t i = 0; i < parameters_.offset.size(); ++i) {
      ceres_.AddParameterBlock(parameters_.offset[i].data(), kOffsetSize);
    }
    add_observations();
    add_motion_priors();
    add_global_priors();
    return ceres_;
  }
  std::vector<double*> order() {
    std::vector<double*> blocks;
    for (PoseVector& control : parameters_.control) blocks.push_back(control.data());
    blocks.push_back(parameters_.global.data());
    for (OffsetVector& offset : parameters_.offset) blocks.push_back(offset.data());
    return blocks;
  }

 private:
  double* control(int i) { return parameters_.control[static_cast<std::size_t>(i)].data(); }

  template <typename Residual>
  void add_instant(Residual residual, double time, ceres::LossFunction* loss, double* offset) {
    const KnotGrid::Weights weights = parameters_.grid.weights(time);
    std::vector<double*> blocks = {control(weights.first), control(weights.first + 1),
                                   control(weights.first + 2), control(weights.first + 3),
                                   parameters_.global.data()};
    if (offset != nullptr) blocks.push_back(offset);
    ceres_.AddResidualBlock(new InstantCost<Residual>(std::move(residual), weights), loss, blocks);
  }

  void add_observations() {
    const PooledClip& clip = *problem_.clip;
    const FitOptions& options = problem_.options;
    const double inflation = correlation_inflation(clip.spacing, options.noise_correlation_time);
    const double disc_inflation =
        correlation_inflation(clip.spacing, options.disc_correlation_time);
    for (std::size_t i = problem_.begin; i < problem_.end; ++i) {
      const PooledFrame& frame = clip.frames[i];
      add_landmarks(frame, inflation);
      if (frame.disc && problem_.constants.disc_radius > 0) add_disc(frame, disc_inflation);
      if (!frame.has_body) continue;
      // Knee line and balance sway slowly: a third of a second. The knee line has heavy tails,
      // since knees that fall out or in do so by a lot.
      const double slow = correlation_inflation(clip.spacing, 0.3);
      add_instant(TrackingResidual{kKneeLineDeviation, &problem_.constants}, frame.time,
                  weighted_cauchy(kKneeLineWidth, slow), nullptr);
      // Free hands are not followed, and a tenth of the mass with them: no balance then.
      if (problem_.masses != nullptr && problem_.constants.bar_position != BarPosition::None) {
        add_instant(BalanceResidual{options.balance, problem_.masses, &problem_.constants},
                    frame.time, weighted_cauchy(kRobustWidth, slow), nullptr);
      }
    }
  }

  void add_landmarks(const PooledFrame& frame, double inflation) {
    for (int side = 0; side < 2; ++side) {
      for (int k = 0; k < kFittedLandmarkCount; ++k) {
        const auto instance = static_cast<std::size_t>(instance_of(side, k));
        const auto landmark = static_cast<FittedLandmark>(k);
        const PooledLandmark& seen = frame.at(side, landmark);
        if (!seen.seen || !problem_.used[instance]) continue;
        LandmarkResidual residual{
            landmark, side == kNear ? 1.0 : -1.0, seen.px,
            landmark_deviation_px(problem_, static_cast<int>(instance), seen.confidence),
            &problem_.constants};
        // A point put there by a person: its error is small, of its own, and never an outlier.
        if (seen.by_hand) residual.deviation_px = kHandError * problem_.pixels_per_metre;
        add_instant(residual, frame.time,
                    seen.by_hand ? nullptr : weighted_cauchy(kRobustWidth, inflation),
                    parameters_.offset[instance].data());
      }
    }
  }

  void add_disc(const PooledFrame& frame, double inflation) {
    const PooledDisc& disc = *frame.disc;
    const DiscResidual residual{disc.center_px,
                                disc.sxx,
                                disc.sxy,
                                disc.syy,
                                disc.center_error_px,
                                2.0 * disc.semi_major_px * disc.axis_error_px,
                                &problem_.constants};
    add_instant(residual, frame.time, weighted_cauchy(2.0 * kRobustWidth, inflation), nullptr);
  }

  void add_linear(std::vector<double*> blocks, std::vector<double> factors,
                  std::vector<double> targets, std::vector<double> weights) {
    ceres_.AddResidualBlock(
        new LinearCost(std::move(factors), std::move(targets), std::move(weights)), nullptr,
        blocks);
  }

  void add_motion_priors() {
    const MotionPrior& motion = problem_.motion;
    const double h = parameters_.grid.spacing;
    const double loose = problem_.options.motion_prior_scale;
    // White acceleration of a given spectral density has a knot variance of density / spacing.
    const double density = std::sqrt(0.1 / h);
    std::vector<double> acceleration, rate, level;
    for (std::size_t i = 0; i < kPoseSize; ++i) {
      acceleration.push_back(1.0 / (motion.acceleration[i] * density * loose));
      rate.push_back(1.0 / (motion.rate[i] * density * loose));
      const bool weak = motion.deviation[i] >= 0.5;
      level.push_back(i == kFootPitch ? 0.0 : 1.0 / (motion.deviation[i] * (weak ? loose : 1.0)));
    }
    const std::vector<double> zero(kPoseSize, 0.0);
    const std::vector<double> mean(motion.mean.begin(), motion.mean.end());
    for (int k = 0; k < parameters_.grid.control_points; ++k) {
      if (k + 2 < parameters_.grid.control_points) {
        add_linear({control(k), control(k + 1), control(k + 2)},
                   {1.0 / (h * h), -2.0 / (h * h), 1.0 / (h * h)}, zero, acceleration);
        add_linear({control(k), control(k + 2)}, {-0.5 / h, 0.5 / h}, zero, rate);
      }
      add_linear({control(k)}, {1.0}, mean, level);
      // Flat feet until the heels say otherwise. A lift lasts: control points are not independent
      // witnesses against it, or they outvote heels seen 13 degrees up (a rendered clip).
      ceres_.AddResidualBlock(
          new EntryCost(kFootPitch, kPoseSize, 0.0, motion.deviation[kFootPitch]),
          weighted_cauchy(1.0, correlation_inflation(h, kHeelLiftTime)), control(k));
    }
  }

  void add_global_priors() {
    std::vector<double> targets(problem_.global_mean.begin(), problem_.global_mean.end());
    std::vector<double> weights;
    for (const double deviation : problem_.global_deviation) {
      weights.push_back(deviation > 0 ? 1.0 / deviation : 0.0);
    }
    add_linear({parameters_.global.data()}, {1.0}, targets, weights);
    add_knee_out_prior();
    for (int k = 0; k < kFittedLandmarkCount; ++k) add_offset_prior(k);
  }

  // Near = common + own, far = common + own': written as the prior of near and that of far given
  // near, which is the same joint normal distribution.
  void add_offset_prior(int landmark) {
    const OffsetPrior prior = offset_prior(static_cast<FittedLandmark>(landmark));
    const double scale = problem_.options.offset_scale;
    const auto square = [scale](double x) { return scale * scale * x * x; };
    struct Pair {
      double near, far, slope;  // SD of near, SD of far given near, regression of far on near
    };
    const auto pair = [&](double common, double near, double far) {
      const double variance = square(common) + square(near);
      const double slope = square(common) / variance;
      return Pair{std::sqrt(variance),
                  std::sqrt(square(common) + square(far) - slope * square(common)), slope};
    };
    const Pair standing = pair(prior.shared, prior.own_near, prior.own_far);
    const Pair bent = pair(prior.flexion_shared, prior.flexion_near, prior.flexion_far);
    double* a = parameters_.offset[static_cast<std::size_t>(instance_of(kNear, landmark))].data();
    double* b = parameters_.offset[static_cast<std::size_t>(instance_of(kFar, landmark))].data();
    const double wa = 1.0 / standing.near, wb = 1.0 / bent.near;
    add_linear({a}, {1.0}, {0.0, 0.0, 0.0, 0.0}, {wa, wa, wb, wb});
    const double va = 1.0 / standing.far, vb = 1.0 / bent.far;
    add_linear({a, b}, {-standing.slope, 1.0}, {0.0, 0.0, 0.0, 0.0}, {va, va, 0.0, 0.0});
    add_linear({a, b}, {-bent.slope, 1.0}, {0.0, 0.0, 0.0, 0.0}, {0.0, 0.0, vb, vb});
  }

  // The athlete's own knee line: close to the feet's, with heavy tails.
  void add_knee_out_prior() {
    ceres_.AddResidualBlock(
        new EntryCost(at(GlobalQuantity::KneeOut), kGlobalSize, 0.0, kKneeLineDeviation),
        new ceres::CauchyLoss(kKneeLineWidth), parameters_.global.data());
  }

  const FitProblem& problem_;
  Parameters& parameters_;
  ceres::Problem ceres_;
};

class Watch final : public ceres::IterationCallback {
 public:
  Watch(const WorkContext& context, std::string_view stage, int total)
      : context_(context), stage_(stage), total_(total) {}
  ceres::CallbackReturnType operator()(const ceres::IterationSummary& summary) override {
    context_.report(stage_, summary.iteration, total_);
    return context_.cancelled() ? ceres::SOLVER_ABORT : ceres::SOLVER_CONTINUE;
  }

 private:
  const WorkContext& context_;
  std::string_view stage_;
  int total_;
};

}  // namespace

SolveReport solve(const FitProblem& problem, Globals globals, Parameters& parameters,
                  const WorkContext& context, std::string_view stage) {
  SolveReport report;
  if (context.cancelled()) {
    report.end = SolveEnd::Stopped;
    return report;
  }
  const Parameters before = parameters;
  Builder builder(problem, parameters);
  ceres::Problem& ceres_problem = builder.build();
  if (globals == Globals::Held) {
    ceres_problem.SetParameterBlockConstant(parameters.global.data());
    for (OffsetVector& offset : parameters.offset) {
      ceres_problem.SetParameterBlockConstant(offset.data());
    }
  }
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::SPARSE_NORMAL_CHOLESKY;
  options.sparse_linear_algebra_library_type = ceres::SUITE_SPARSE;
  options.max_num_iterations = problem.options.max_iterations;
  options.function_tolerance = problem.options.tolerance;
  options.parameter_tolerance = std::min(1e-10, problem.options.tolerance);
  options.gradient_tolerance = std::min(1e-12, problem.options.tolerance);
  options.num_threads = 1;
  options.logging_type = ceres::SILENT;
  Watch watch(context, stage, problem.options.max_iterations);
  options.callbacks.push_back(&watch);
  ceres::Solver::Summary summary;
  ceres::Solve(options, &ceres_problem, &summary);

  report.iterations = static_cast<int>(summary.iterations.size());
  report.cost = summary.final_cost;
  if (context.cancelled()) {
    report.end = SolveEnd::Stopped;
  } else if (!summary.IsSolutionUsable() || !std::isfinite(summary.final_cost)) {
    report.end = SolveEnd::Failed;
    parameters = before;
  } else {
    report.end = summary.termination_type == ceres::CONVERGENCE ? SolveEnd::Converged
                                                                : SolveEnd::IterationLimit;
  }
  return report;
}

ArrowSystem normal_equations(const FitProblem& problem, const Parameters& parameters) {
  Parameters copy = parameters;
  Builder builder(problem, copy);
  ceres::Problem& ceres_problem = builder.build();
  ceres::Problem::EvaluateOptions options;
  options.parameter_blocks = builder.order();
  ceres::CRSMatrix jacobian;
  ceres_problem.Evaluate(options, nullptr, nullptr, nullptr, &jacobian);

  ArrowSystem system(parameters.grid.control_points);
  const int curve_columns = parameters.grid.control_points * kPoseSize;
  for (int row = 0; row < jacobian.num_rows; ++row) {
    const int begin = jacobian.rows[static_cast<std::size_t>(row)];
    const int end = jacobian.rows[static_cast<std::size_t>(row) + 1];
    for (int a = begin; a < end; ++a) {
      const int ca = jacobian.cols[static_cast<std::size_t>(a)];
      const double va = jacobian.values[static_cast<std::size_t>(a)];
      if (va == 0.0) continue;
      for (int b = begin; b < end; ++b) {
        const int cb = jacobian.cols[static_cast<std::size_t>(b)];
        const double product = va * jacobian.values[static_cast<std::size_t>(b)];
        if (ca >= curve_columns) {
          if (cb >= curve_columns) system.corner(ca - curve_columns, cb - curve_columns) += product;
          continue;
        }
        const int ga = ca / kGroupSize, ra = ca % kGroupSize;
        if (cb >= curve_columns) {
          system.border[static_cast<std::size_t>(ga)](ra, cb - curve_columns) += product;
          continue;
        }
        const int gb = cb / kGroupSize, rb = cb % kGroupSize;
        if (ga == gb) {
          system.diagonal[static_cast<std::size_t>(ga)](ra, rb) += product;
        } else if (ga == gb + 1) {
          system.below[static_cast<std::size_t>(gb)](ra, rb) += product;
        }
      }
    }
  }
  return system;
}

double derivative_error(const FitProblem& problem, const Parameters& parameters) {
  Parameters copy = parameters;
  Builder builder(problem, copy);
  ceres::Problem& ceres_problem = builder.build();
  std::vector<ceres::ResidualBlockId> ids;
  ceres_problem.GetResidualBlocks(&ids);
  ceres::NumericDiffOptions numeric;
  numeric.ridders_relative_initial_step_size = 1e-3;
  double worst = 0;
  for (const ceres::ResidualBlockId id : ids) {
    const ceres::CostFunction* cost = ceres_problem.GetCostFunctionForResidualBlock(id);
    std::vector<double*> blocks;
    ceres_problem.GetParameterBlocksForResidualBlock(id, &blocks);
    const std::vector<const ceres::Manifold*>* const flat = nullptr;
    ceres::GradientChecker checker(cost, flat, numeric);
    ceres::GradientChecker::ProbeResults results;
    if (!checker.Probe(blocks.data(), 1e-6, &results) && results.jacobians.empty()) return 1e300;
    for (std::size_t k = 0; k < results.jacobians.size(); ++k) {
      double largest = 1e-9;
      for (const auto& jacobian : results.jacobians) {
        largest = std::max(largest, jacobian.cwiseAbs().maxCoeff());
      }
      const double difference =
          (results.jacobians[k] - results.numeric_jacobians[k]).cwiseAbs().maxCoeff();
      worst = std::max(worst, difference / largest);
    }
  }
  return worst;
}

}  // namespace lintel::fitting
