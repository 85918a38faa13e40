// Against R 4.2.2 with psych 2.2.9; tests/data/reliability/README.md says how each file was made.
#include <gtest/gtest.h>

#include "reliability/bland_altman.h"
#include "reliability/distributions.h"
#include "reliability/icc.h"
#include "reliability/measurement_error.h"
#include "tables.h"

namespace lintel::reliability {
namespace {

using test::expect_close;
using test::read_keyed_rows;
using test::read_ratings;

struct Case {
  const char* ratings;
  const char* anova;
  const char* icc;
};

class AgainstR : public testing::TestWithParam<Case> {};

TEST_P(AgainstR, AnalysisOfVarianceIsTheSame) {
  const auto expected = read_keyed_rows(GetParam().anova);
  const auto anova = analyse_variance(read_ratings(GetParam().ratings));
  ASSERT_TRUE(anova) << anova.error();
  const std::pair<const char*, view::AnovaRow> rows[] = {
      {"subjects", anova->between_subjects},
      {"raters", anova->between_raters},
      {"residual", anova->residual},
      {"within", anova->within},
  };
  for (const auto& [name, row] : rows) {
    expect_close(row.degrees_of_freedom, expected.at(name).at("df"), name);
    expect_close(row.sum_of_squares, expected.at(name).at("ss"), name);
    expect_close(row.mean_square, expected.at(name).at("ms"), name);
  }
}

TEST_P(AgainstR, AllSixIntraclassCorrelationsAreTheSame) {
  const auto expected = read_keyed_rows(GetParam().icc);
  const auto anova = analyse_variance(read_ratings(GetParam().ratings));
  ASSERT_TRUE(anova) << anova.error();
  const auto icc = intraclass_correlations(*anova);
  const char* names[] = {"ICC1", "ICC2", "ICC3", "ICC1k", "ICC2k", "ICC3k"};
  for (std::size_t i = 0; i < icc.size(); ++i) {
    const auto& row = expected.at(names[i]);
    expect_close(icc[i].value, row.at("icc"), names[i]);
    expect_close(icc[i].f, row.at("f"), names[i]);
    expect_close(icc[i].df1, row.at("df1"), names[i]);
    expect_close(icc[i].df2, row.at("df2"), names[i]);
    expect_close(icc[i].p, row.at("p"), names[i]);
    expect_close(icc[i].interval95.lower, row.at("lower95"), names[i]);
    expect_close(icc[i].interval95.upper, row.at("upper95"), names[i]);
  }
}

INSTANTIATE_TEST_SUITE_P(
    Tables, AgainstR,
    testing::Values(Case{"shrout-fleiss-1979-ratings.csv", "shrout-fleiss-1979-anova.csv",
                         "shrout-fleiss-1979-icc.csv"},
                    Case{"test-retest.csv", "test-retest-anova.csv", "test-retest-icc.csv"}),
    [](const auto& test_case) { return test_case.index == 0 ? "ShroutFleiss1979" : "TestRetest"; });

TEST(AgainstR, AgreementErrorAndDetectableChangeAreTheSame) {
  auto expected = read_keyed_rows("test-retest-agreement.csv");
  const Eigen::MatrixXd ratings = read_ratings("test-retest.csv");
  const std::vector<double> day1(ratings.col(0).begin(), ratings.col(0).end());
  const std::vector<double> day2(ratings.col(1).begin(), ratings.col(1).end());
  const auto anova = analyse_variance(ratings);
  ASSERT_TRUE(anova) << anova.error();
  const auto error = error_of_measurement(ratings, *anova);
  const auto found = agreement_of(day1, day2);
  ASSERT_TRUE(found) << found.error();
  const view::Agreement& a = *found;
  const std::map<std::string, double> ours = {
      {"n", a.pairs},
      {"mean_difference", a.mean_difference},
      {"sd_difference", a.sd_difference},
      {"se_mean_difference", a.se_mean_difference},
      {"mean_diff_lower95", a.mean_difference_95.lower},
      {"mean_diff_upper95", a.mean_difference_95.upper},
      {"loa_lower", a.limits.lower},
      {"loa_upper", a.limits.upper},
      {"loa_lower_1_96", a.limits_1_96.lower},
      {"loa_upper_1_96", a.limits_1_96.upper},
      {"loa_se_approx", a.se_limit_approx},
      {"loa_se_bland_altman_1999", a.se_limit},
      {"loa_upper_lower95_approx", a.upper_limit_95.lower},
      {"loa_upper_upper95_approx", a.upper_limit_95.upper},
      {"loa_upper_lower95_exact", a.upper_limit_95_exact.lower},
      {"loa_upper_upper95_exact", a.upper_limit_95_exact.upper},
      {"paired_t", a.t},
      {"paired_p", a.t_p},
      {"proportional_bias_slope", a.proportional_bias.value()},
      {"proportional_bias_p", a.proportional_bias_p.value()},
      {"pearson_r", a.correlation.value()},
      {"sd_all", error.sd_all},
      {"sd_pooled_days", error.sd_pooled},
      {"sem_from_mse", error.from_residual},
      {"sem_from_sdd", a.sem_from_differences},
      {"sem_agreement_msw", error.agreement},
      {"sem_sd_all_icc21", error.from_icc21},
      {"sem_sd_pooled_icc31", error.from_icc31},
      {"mdc95_from_mse", error.mdc95},
      {"mdc95_exact_z_from_mse", error.mdc95_exact},
      {"mdc90_from_mse", error.mdc90},
      {"mdc95_agreement", error.mdc95_agreement},
      {"cv_percent", 100 * error.coefficient_of_variation.value()},
      {"sem_from_mse_lower95", error.from_residual_95.lower},
      {"sem_from_mse_upper95", error.from_residual_95.upper},
  };
  EXPECT_EQ(ours.size(), expected.size());
  for (const auto& [name, row] : expected) {
    ASSERT_TRUE(ours.count(name)) << name;
    expect_close(ours.at(name), row.at("value"), name);
  }
}

TEST(AgainstR, QuantilesAreTheSame) {
  std::ifstream t_chi2(test::reliability_file("quantiles-t-chi2.csv"));
  std::string line;
  std::getline(t_chi2, line);
  int rows = 0;
  for (; std::getline(t_chi2, line); ++rows) {
    double df = 0, p = 0, t = 0, chi2 = 0;
    ASSERT_EQ(std::sscanf(line.c_str(), "%lf,%lf,%lf,%lf", &df, &p, &t, &chi2), 4) << line;
    expect_close(t_quantile(p, df), t, line);
    expect_close(chi_squared_quantile(p, df), chi2, line);
    expect_close(chi_squared_upper_tail(chi2, df), 1 - p, line);
    expect_close(t_two_sided_p(t, df), 2 * (1 - p), line);
  }
  EXPECT_EQ(rows, 84);
  std::ifstream f_file(test::reliability_file("quantiles-f.csv"));
  std::getline(f_file, line);
  for (rows = 0; std::getline(f_file, line); ++rows) {
    double p = 0, df1 = 0, df2 = 0, f = 0;
    ASSERT_EQ(std::sscanf(line.c_str(), "%lf,%lf,%lf,%lf", &p, &df1, &df2, &f), 4) << line;
    expect_close(f_quantile(p, df1, df2), f, line);
    expect_close(f_upper_tail(f, df1, df2), 1 - p, line);
  }
  EXPECT_EQ(rows, 75);
}

}  // namespace
}  // namespace lintel::reliability
