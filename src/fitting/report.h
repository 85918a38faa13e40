// Writes values and errors of solved windows into the result.
#pragma once

#include "fitting/covariance.h"
#include "fitting/parameters.h"

namespace lintel::fitting {

// What all windows share for the errors.
struct SharedErrors {
  Eigen::MatrixXd factor;  // L with border covariance = L L^T (kBorderSize x kBorderSize)
  Eigen::MatrixXd basis;   // (kBorderSize x ErrorModel::kSharedRank), orthonormal columns
};

class Reporter {
 public:
  Reporter(const kinematics::ClipObservation& clip, const FitPriors& priors,
           const FitProblem& problem);

  // Basis of the shared errors from the window that determined the globals.
  SharedErrors shared_errors(const Parameters& parameters, const ArrowCovariance& covariance,
                             double begin_time, double end_time) const;
  // Fills the clip's frames with begin_time <= time < end_time. False when the caller stopped it.
  bool fill(const Parameters& parameters, const ArrowCovariance& covariance,
            const SharedErrors& shared, double begin_time, double end_time,
            const WorkContext& context);
  FitResult take(const Parameters& parameters, const ArrowCovariance& main_covariance);

  FitResult& result() { return result_; }

 private:
  struct Instant;
  Instant evaluate(const Parameters& parameters, const ArrowCovariance& covariance,
                   double time) const;
  void write_points(const Parameters& parameters, double time, std::size_t frame);
  void write_camera(const Parameters& parameters);
  bool reported(int channel) const;

  const FitPriors& priors_;
  const FitProblem& problem_;
  std::vector<double> observed_times_;
  double width_px_;
  bool disc_seen_ = false;
  bool arms_fitted_ = false;
  FitResult result_;
  std::shared_ptr<ErrorModel::Table> table_;
};

}  // namespace lintel::fitting
