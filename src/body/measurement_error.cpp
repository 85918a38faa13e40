#include "body/measurement_error.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lintel::body {

double error_of_mean(const MeasurementError& error, int trials) {
  const double n = std::max(trials, 1);
  return std::sqrt(error.session * error.session + error.trial * error.trial / n);
}

double normal_factor(Confidence confidence) {
  return confidence == Confidence::Percent95 ? 1.96 : 1.6448536269514722;
}

double minimal_detectable_change(double error_a, double error_b, Confidence confidence) {
  return normal_factor(confidence) * std::hypot(error_a, error_b);
}

double error_from_detectable_change(double change, Confidence confidence) {
  return change / (normal_factor(confidence) * std::numbers::sqrt2);
}

}  // namespace lintel::body
