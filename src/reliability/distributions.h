// The few distribution functions that the statistics need. Degrees of freedom > 0, p in (0, 1).
#pragma once

namespace lintel::reliability {

double normal_quantile(double p);
double normal_upper_tail(double z);
double t_quantile(double p, double df);
double t_two_sided_p(double t, double df);
double chi_squared_quantile(double p, double df);
double chi_squared_upper_tail(double x, double df);
double f_quantile(double p, double df1, double df2);
double f_upper_tail(double f, double df1, double df2);
double noncentral_t_quantile(double p, double df, double noncentrality);

}  // namespace lintel::reliability
