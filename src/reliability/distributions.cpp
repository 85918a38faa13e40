#include "reliability/distributions.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

namespace lintel::reliability {
namespace {

namespace math = boost::math;

// Results at the edge (infinite, underflow) come back as values, never as exceptions.
using Quiet =
    math::policies::policy<math::policies::domain_error<math::policies::ignore_error>,
                           math::policies::pole_error<math::policies::ignore_error>,
                           math::policies::overflow_error<math::policies::ignore_error>,
                           math::policies::underflow_error<math::policies::ignore_error>,
                           math::policies::evaluation_error<math::policies::ignore_error>>;
using Normal = math::normal_distribution<double, Quiet>;
using StudentsT = math::students_t_distribution<double, Quiet>;
using ChiSquared = math::chi_squared_distribution<double, Quiet>;
using FisherF = math::fisher_f_distribution<double, Quiet>;
using NoncentralT = math::non_central_t_distribution<double, Quiet>;

}  // namespace

double normal_quantile(double p) {
  return math::quantile(Normal(), p);
}

double normal_upper_tail(double z) {
  return math::cdf(math::complement(Normal(), z));
}

double t_quantile(double p, double df) {
  return math::quantile(StudentsT(df), p);
}

double t_two_sided_p(double t, double df) {
  if (std::isinf(t)) return 0.0;
  return 2.0 * math::cdf(math::complement(StudentsT(df), std::abs(t)));
}

double chi_squared_quantile(double p, double df) {
  return math::quantile(ChiSquared(df), p);
}

double chi_squared_upper_tail(double x, double df) {
  return math::cdf(math::complement(ChiSquared(df), x));
}

double f_quantile(double p, double df1, double df2) {
  return math::quantile(FisherF(df1, df2), p);
}

double f_upper_tail(double f, double df1, double df2) {
  if (std::isinf(f)) return 0.0;
  return math::cdf(math::complement(FisherF(df1, df2), f));
}

double noncentral_t_quantile(double p, double df, double noncentrality) {
  return math::quantile(NoncentralT(df, noncentrality), p);
}

}  // namespace lintel::reliability
