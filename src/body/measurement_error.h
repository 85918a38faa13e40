// How well a test measures: the error of one session, and the smallest change that it can show.
#pragma once

#include <cstdint>

namespace lintel::body {

// Standard error of a test [rad, m, s or whatever the test is measured in], in two parts.
struct MeasurementError {
  double session = 0.0;  // from day to day and tester to tester: stays however often one repeats
  double trial = 0.0;    // from try to try within a session: shrinks with the number of tries
};

// Standard error of the mean of `trials` tries of one session: sqrt(session^2 + trial^2 / trials).
// trials >= 1.
double error_of_mean(const MeasurementError& error, int trials);

// Standard normal factors: 1.96 for 95 %, as the literature writes it (Weir 2005), and 1.644854
// (printed as 1.645) for 90 %.
enum class Confidence : std::uint8_t { Percent90, Percent95 };
double normal_factor(Confidence confidence);

// Minimal detectable change between two sessions with standard errors a and b:
// factor * sqrt(a^2 + b^2); for a = b the usual factor * sqrt(2) * SEM (Weir 2005).
double minimal_detectable_change(double error_a, double error_b,
                                 Confidence confidence = Confidence::Percent95);

// Backwards: the standard error of measurement behind a published minimal detectable change.
double error_from_detectable_change(double change, Confidence confidence = Confidence::Percent95);

}  // namespace lintel::body
