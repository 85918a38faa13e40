// Recovery of a known limiter, and whether the stated probabilities are true. The outside truth is
// the cohort itself: the answer is computed from noisy tests, the truth from the body behind them.
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include <gtest/gtest.h>

#include "jobs/thread_pool.h"
#include "support/cohort.h"

namespace lintel::test {
namespace {

using reasoning::Factor;

constexpr std::uint64_t kSeed = 20261125;
constexpr int kDraws = 160;

const std::vector<CohortOutcome>& outcomes() {
  static const std::vector<CohortOutcome> kOutcomes = [] {
    const char* size = std::getenv("LINTEL_COHORT");
    const std::size_t count = size != nullptr ? std::strtoul(size, nullptr, 10) : 500;
    std::vector<CohortOutcome> all(count);
    jobs::ThreadPool pool(2);
    pool.parallel_for(count, [&](std::size_t i) {
      const auto athlete = cohort_athlete(kSeed, i);
      if (athlete) all[i] = examine(*athlete, kDraws, kSeed + 31 * i);
    });
    std::erase_if(all, [](const CohortOutcome& o) { return !o.valid; });
    std::printf("cohort of %zu athletes, %zu with a setup that fits\n", count, all.size());
    EXPECT_GT(all.size(), count * 9 / 10);
    return all;
  }();
  return kOutcomes;
}

TEST(Cohort, TheRightLimiterIsOnTopWhereItsPartIsFourDegreesOrMore) {
  struct Count {
    int all = 0, right = 0, truly = 0;
  };
  std::array<Count, reasoning::kFactorCount> by_factor{};
  Count total;
  for (const CohortOutcome& o : outcomes()) {
    if (o.injected_part < 4.0 * kRadiansPerDegree) continue;
    // Where chance made another part larger still, that one is the right answer.
    const bool right = o.named == o.truly_largest;
    Count& c = by_factor[reasoning::index_of(o.injected)];
    for (Count* count : {&c, &total}) {
      ++count->all;
      count->right += o.named == o.injected ? 1 : 0;
      count->truly += right ? 1 : 0;
    }
  }
  std::printf("%-12s %8s %18s %22s\n", "injected", "athletes", "injected on top", "largest on top");
  for (std::size_t i = 0; i < by_factor.size(); ++i) {
    const Count& c = by_factor[i];
    if (c.all == 0) continue;
    std::printf("%-12s %8d %16.1f %% %20.1f %%\n",
                std::string(reasoning::factor_name(static_cast<Factor>(i))).c_str(), c.all,
                100.0 * c.right / c.all, 100.0 * c.truly / c.all);
  }
  ASSERT_GT(total.all, static_cast<int>(outcomes().size() / 5));
  std::printf("%-12s %8d %16.1f %% %20.1f %%\n", "all", total.all, 100.0 * total.right / total.all,
              100.0 * total.truly / total.all);
  EXPECT_GE(total.right, 0.90 * total.all);
}

TEST(Cohort, StatedProbabilitiesAreTrue) {
  // Every stated probability of every factor; expected calibration error over ten bins.
  struct Bin {
    double count = 0, stated = 0, true_share = 0;
  };
  const auto table_of = [](bool top_only) {
    std::array<Bin, 10> bins{};
    for (const CohortOutcome& o : outcomes()) {
      for (std::size_t i = 0; i < reasoning::kFactorCount; ++i) {
        if (top_only && static_cast<Factor>(i) != o.named) continue;
        const double p = o.probability[i];
        Bin& bin = bins[std::min<std::size_t>(9, static_cast<std::size_t>(p * 10.0))];
        bin.count += 1;
        bin.stated += p;
        bin.true_share += static_cast<Factor>(i) == o.truly_largest ? 1 : 0;
      }
    }
    return bins;
  };
  const auto error_of = [](const std::array<Bin, 10>& bins, const char* name) {
    double count = 0, error = 0;
    std::printf("%s\n  %-12s %8s %8s %8s\n", name, "stated", "cases", "mean", "true");
    for (std::size_t i = 0; i < bins.size(); ++i) {
      const Bin& bin = bins[i];
      if (bin.count == 0) continue;
      std::printf("  %3zu to %3zu %% %8.0f %7.1f %% %6.1f %%\n", 10 * i, 10 * i + 10, bin.count,
                  100 * bin.stated / bin.count, 100 * bin.true_share / bin.count);
      count += bin.count;
      error += std::abs(bin.stated - bin.true_share);
    }
    std::printf("  expected calibration error %.3f\n", error / count);
    return error / count;
  };
  EXPECT_LE(error_of(table_of(false), "all factors"), 0.05);
  EXPECT_LE(error_of(table_of(true), "the factor named first"), 0.05);
}

TEST(Cohort, IntervalsHoldTheTruth) {
  double covered = 0, count = 0;
  for (const CohortOutcome& o : outcomes()) {
    for (std::size_t i = 0; i < reasoning::kFactorCount; ++i) {
      if (std::abs(o.true_part[i]) < 0.5 * kRadiansPerDegree) continue;
      count += 1;
      covered += o.covered[i] ? 1 : 0;
    }
  }
  std::printf("95 %% intervals hold the true part in %.1f %% of %.0f parts\n",
              100 * covered / count, count);
  EXPECT_GT(covered / count, 0.88);
}

}  // namespace
}  // namespace lintel::test
