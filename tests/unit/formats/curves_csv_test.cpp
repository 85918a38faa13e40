#include "formats/curves_csv.h"

#include <gtest/gtest.h>
#include <cmath>
#include <sstream>

#include "base/cautions.h"
#include "formats/csv.h"
#include "support/demo_measurement.h"

namespace lintel::formats {
namespace {

using kinematics::Channel;

TEST(CurvesCsv, CarriesEveryChannelWithItsUnitAndComesBackToTheData) {
  test_support::DemoOptions options;
  options.bar_seen = false;
  const auto m = test_support::demo_measurement(options);
  const std::string csv = write_curves_csv(m);
  auto reader = CsvReader::create(csv, {});
  std::vector<CsvCell> header;
  ASSERT_TRUE(reader->next(header));
  ASSERT_EQ(header.size(), 2u + 5u * kinematics::kChannelCount);
  const auto column = [&](const std::string& name) {
    for (std::size_t i = 0; i < header.size(); ++i) {
      if (header[i].text == name) return i;
    }
    ADD_FAILURE() << name;
    return std::size_t{0};
  };
  const std::size_t trunk = column("trunk_inclination_fitted_deg");
  const std::size_t error = column("trunk_inclination_standard_error_deg");
  const std::size_t rate = column("knee_flexion_rate_deg_per_s");
  const std::size_t depth = column("depth_fitted_cm");
  const std::size_t bar = column("bar_y_fitted_cm");
  std::vector<CsvCell> cells;
  for (std::size_t i = 0; i < m.time.size(); ++i) {
    ASSERT_TRUE(reader->next(cells));
    ASSERT_EQ(cells.size(), header.size());
    const auto number = [&](std::size_t c) { return std::stod(cells[c].text); };
    EXPECT_NEAR(number(0), m.time[i], 1e-6);
    EXPECT_EQ(cells[1].text, std::to_string(m.frame_index[i]));
    EXPECT_NEAR(number(trunk), m[Channel::TrunkInclination].fitted[i] * 180 / M_PI, 1e-4);
    EXPECT_NEAR(number(error), 1.8, 1e-5);
    EXPECT_NEAR(number(depth), m[Channel::Depth].fitted[i] * 100, 1e-4);
    EXPECT_TRUE(cells[bar].text.empty());
    if (i > 0) {
      EXPECT_NEAR(number(rate), m[Channel::KneeFlexion].rate[i] * 180 / M_PI, 1e-3);
    }
  }
  EXPECT_TRUE(reader->at_end());
  EXPECT_EQ(csv.substr(csv.size() - 2), "\r\n");
}

TEST(CurvesCsv, OfNoFrameIsAHeaderAlone) {
  const std::string csv = write_curves_csv({});
  EXPECT_EQ(csv.find("\r\n"), csv.size() - 2);
}

TEST(OutputReadme, NamesTheFilesAndCarriesTheCautions) {
  const std::vector<OutputFile> files = {{"curves.csv", "every curve"}};
  const std::string text = write_output_readme("Squat of Runa Fjellgard", files);
  EXPECT_NE(text.find("curves.csv: every curve"), std::string::npos);
  for (const Caution& caution : cautions()) {
    EXPECT_NE(text.find(caution.text), std::string::npos) << caution.code;
  }
}

}  // namespace
}  // namespace lintel::formats
