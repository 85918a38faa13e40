// Hand breadth from stature against the people of ANSUR II (2012).
#include <cmath>
#include <filesystem>
#include <iostream>

#include <gtest/gtest.h>

#include "body/test_protocol.h"
#include "support/csv_rows.h"

namespace lintel::body {
namespace {

TEST(HandBreadthOfAnsur, NinetyPercentLieWithin1645StandardDeviations) {
  const std::string path = std::string(LINTEL_SHARED_DATA_DIR) + "/anthropometry/ansur2.csv";
  if (!std::filesystem::exists(path)) GTEST_SKIP() << "SKIPPED, no data at " << path;
  for (const Sex sex : {Sex::Female, Sex::Male}) {
    double gap = 0;
    int count = 0, within = 0;
    for (const auto& row : test::read_text_csv(path)) {
      if ((row.at("sex") == "M") != (sex == Sex::Male)) continue;
      const Estimate e = estimate_hand_breadth(sex, std::stod(row.at("stature")) * 0.001);
      const double error = std::stod(row.at("hand_breadth")) * 0.001 - e.value;
      gap += error;
      within += std::abs(error) < 1.645 * e.standard_error ? 1 : 0;
      ++count;
    }
    std::cout << (sex == Sex::Male ? "men" : "women") << ": mean gap " << 1000 * gap / count
              << " mm, " << 100.0 * within / count << " % within 1.645 SD\n";
    EXPECT_NEAR(gap / count, 0.0, 1e-5);
    EXPECT_NEAR(100.0 * within / count, 90.0, 1.5);
  }
}

}  // namespace
}  // namespace lintel::body
