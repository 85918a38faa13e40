// What repeated measurements say about a test and about the person who does it, as plain data.
// Numbers in the unit of the measurements; reliability/ computes them.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lintel::view {

struct Bounds {
  double lower = 0.0;
  double upper = 0.0;
};

struct AnovaRow {
  double degrees_of_freedom = 0.0;
  double sum_of_squares = 0.0;
  double mean_square = 0.0;
};

// Two-way layout without repetition. within = raters + residual.
struct Anova {
  int subjects = 0;  // n
  int raters = 0;    // k
  double grand_mean = 0.0;
  AnovaRow between_subjects, between_raters, residual, within;
};

// The six forms of Shrout and Fleiss 1979, in the order of their table. One: each subject has its
// own raters; two: the same raters, drawn from many; three: these raters and no others.
enum class IccForm : std::uint8_t {
  OneSingle,
  TwoSingle,
  ThreeSingle,
  OneMean,
  TwoMean,
  ThreeMean
};
inline constexpr int kIccFormCount = 6;

struct Icc {
  double value = 0.0;
  double f = 0.0;  // test against 0; infinite when the raters agree perfectly
  double df1 = 0.0, df2 = 0.0;
  double p = 0.0;
  Bounds interval95;
};

// Standard error of measurement by the definitions in use, and what follows from it.
struct ErrorOfMeasurement {
  double from_residual = 0.0;  // sqrt(residual mean square): steady shifts between raters left out
  Bounds from_residual_95;     // by chi-square
  double agreement = 0.0;      // sqrt(within mean square): shifts count as error
  double from_icc21 = 0.0;     // SD of all values * sqrt(1 - ICC(2,1))
  double from_icc31 = 0.0;     // pooled SD of the columns * sqrt(1 - ICC(3,1))
  double sd_all = 0.0;         // of all values, n k - 1
  double sd_pooled = 0.0;      // root of the mean variance of the columns, n - 1
  double mdc95 = 0.0;          // 1.96 sqrt(2) from_residual
  double mdc95_exact = 0.0;    // with the exact normal quantile
  double mdc90 = 0.0;          // exact normal quantile of 0.95
  double mdc95_agreement = 0.0;                    // 1.96 sqrt(2) agreement
  std::optional<double> coefficient_of_variation;  // from_residual / grand mean; mean above 0 only
};

// Two measurements of the same subjects; differences are second less first.
struct Agreement {
  int pairs = 0;
  double mean_difference = 0.0;  // bias
  double sd_difference = 0.0;    // n - 1
  double se_mean_difference = 0.0;
  Bounds mean_difference_95;  // by t
  Bounds limits;              // mean -+ z(0.975) SD
  Bounds limits_1_96;
  double se_limit_approx = 0.0;  // sqrt(3 / n) SD (Bland and Altman 1986)
  double se_limit = 0.0;         // SD sqrt(1/n + z^2 / (2 (n - 1))) (Bland and Altman 1999)
  Bounds lower_limit_95, upper_limit_95;              // approximate: se_limit and t
  Bounds lower_limit_95_exact, upper_limit_95_exact;  // by the noncentral t distribution
  double sem_from_differences = 0.0;                  // SD / sqrt(2)
  double t = 0.0, t_p = 0.0;                          // paired t test of no bias
  // Regression of the difference on the pair's mean; nothing when the means do not differ or there
  // are fewer than three pairs.
  std::optional<double> proportional_bias, proportional_bias_p;
  std::optional<double> correlation;  // Pearson; nothing when one column is constant
};

// The standard error of one tester: what was published, and this person's own repeats.
struct TesterError {
  double published = 0.0;     // standard error before
  double published_df = 0.0;  // how many degrees of freedom it is given
  double own = 0.0;           // from the repeats alone
  double own_df = 0.0;
  Bounds own_95;         // by chi-square
  double updated = 0.0;  // to be used from now on
  double updated_df = 0.0;
  Bounds updated_95;               // scaled inverse chi-square
  double mdc95 = 0.0;              // 1.96 sqrt(2) updated
  double own_share = 0.0;          // own_df / updated_df
  double probability_worse = 0.0;  // that this tester's error exceeds the published one
};

struct ReliabilityReport {
  std::vector<std::string> columns;  // as headed in the file
  Anova anova;
  std::array<Icc, kIccFormCount> icc;
  ErrorOfMeasurement error;
  std::optional<Agreement> agreement;  // of two columns
  std::optional<TesterError> tester;   // when a published error was given
  std::string unit;                    // may be empty
  std::string protocol;                // id, may be empty
  int tries_per_value = 1;             // every number of the table is the mean of so many tries
  double share_between_tries = 0.5;    // of the tester's variance; of the protocol
};

constexpr std::string_view icc_form_name(IccForm form) {
  constexpr std::array<std::string_view, kIccFormCount> kNames = {"icc_1_1", "icc_2_1", "icc_3_1",
                                                                  "icc_1_k", "icc_2_k", "icc_3_k"};
  return kNames[static_cast<std::size_t>(form)];
}

}  // namespace lintel::view
