#include "app/reliability_report.h"

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "formats/history_json.h"
#include "formats/protocol_json.h"
#include "support/schema_check.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using ::testing::HasSubstr;

class ReliabilityReport : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("lintel-reliability-" + std::to_string(::getpid()));
    fs::create_directories(folder_);
    request_.ratings = fs::path(LINTEL_SOURCE_DIR) / "tests/data/reliability/test-retest.csv";
  }
  void TearDown() override { fs::remove_all(folder_); }
  void use(const std::string& csv) {
    request_.ratings = folder_ / "ratings.csv";
    std::ofstream(request_.ratings, std::ios::binary) << csv;
  }

  fs::path folder_;
  ReliabilityRequest request_;
};

TEST_F(ReliabilityReport, TwoColumnsGiveCoefficientsErrorAndAgreement) {
  const auto outcome = report_reliability(request_);
  ASSERT_TRUE(outcome) << outcome.error();
  EXPECT_THAT(outcome->text, HasSubstr("20 people, 2 columns (day1, day2)"));
  EXPECT_THAT(outcome->text, HasSubstr("limits of agreement"));
  EXPECT_THAT(outcome->text, HasSubstr("does not diagnose"));
  const json j = json::parse(outcome->json);
  // R 4.2.2, psych 2.2.9: tests/data/reliability/test-retest-icc.csv, test-retest-agreement.csv.
  EXPECT_NEAR(j["icc"]["icc_2_1"]["value"].get<double>(), 0.923685944871859, 1e-9);
  EXPECT_NEAR(j["agreement"]["limits"]["upper"].get<double>(), 5.62672017734682, 1e-8);
  EXPECT_TRUE(j["tester"].is_null());
  EXPECT_TRUE(j["own_error"].is_null());
}

TEST_F(ReliabilityReport, FourColumnsHaveNoAgreement) {
  request_.ratings = request_.ratings.parent_path() / "shrout-fleiss-1979-ratings.csv";
  const auto outcome = report_reliability(request_);
  ASSERT_TRUE(outcome) << outcome.error();
  EXPECT_TRUE(json::parse(outcome->json)["agreement"].is_null());
}

// What comes out must go in where it is meant to: into the log of lintel progress.
TEST_F(ReliabilityReport, TheTestersErrorFitsTheLog) {
  request_.protocol = "thoracic_rotation_heel_sit";
  const auto outcome = report_reliability(request_);
  ASSERT_TRUE(outcome) << outcome.error();
  const json j = json::parse(outcome->json);
  const double updated = j["tester"]["updated"].get<double>();
  EXPECT_NEAR(j["own_error"]["value_deg"].get<double>(), updated, 1e-9);
  const json history = {{"schema", "lintel-history-1"},
                        {"athlete", "a"},
                        {"standard_errors", json::array({j["own_error"]})}};
  const auto reading =
      formats::read_history_json(history.dump(), "h.json", formats::built_in_protocols(), {});
  ASSERT_TRUE(reading.history) << reading.faults.front();
  EXPECT_NEAR(reading.history->standard_errors[0].error.value, updated * kRadiansPerDegree, 1e-9);
}

TEST_F(ReliabilityReport, MoreTriesAValueLowerThePublishedError) {
  request_.protocol = "thoracic_rotation_heel_sit";
  const double one = json::parse(report_reliability(request_)->json)["tester"]["published"];
  request_.tries_per_value = 3;
  const double three = json::parse(report_reliability(request_)->json)["tester"]["published"];
  EXPECT_LT(three, one);
}

TEST_F(ReliabilityReport, EveryDocumentKeepsToItsSchema) {
  const json schema = test_support::read_schema("reliability.schema.json");
  const auto complaints = [&] {
    const auto outcome = report_reliability(request_);
    return outcome ? test_support::schema_complaints(schema, json::parse(outcome->json))
                   : describe(outcome.error());
  };
  EXPECT_EQ(complaints(), "");
  request_.protocol = "thoracic_rotation_heel_sit";
  EXPECT_EQ(complaints(), "");
  use("id,a,b,c\n1,2,2,2\n2,5,5,5\n");  // agree perfectly
  EXPECT_EQ(complaints(), "");
  use("id,a,b\n1,2,3\n2,5,6\n3,8,9\n");  // differ by a constant: no limits
  EXPECT_EQ(complaints(), "");
}

TEST_F(ReliabilityReport, UnusableTablesAreRefusedWithPlaceAndMend) {
  const auto fault = [&](const std::string& csv) {
    use(csv);
    const auto outcome = report_reliability(request_);
    EXPECT_FALSE(outcome) << csv;
    const Error error = outcome ? Error{} : outcome.error();
    EXPECT_EQ(error.place.file, "ratings.csv");
    EXPECT_FALSE(error.mend.empty()) << error.message;
    return error;
  };
  EXPECT_THAT(fault("id,a\n1,2\n2,3\n").message, HasSubstr("one column"));
  EXPECT_THAT(fault("id,a,b\n1,2,2\n2,2,2\n").message, HasSubstr("equal"));
  EXPECT_THAT(fault("id,a,b\n1,2,2\n").message, HasSubstr("1 subject"));
  EXPECT_THAT(fault("id,a,b\n").message, HasSubstr("0 subjects"));
  EXPECT_EQ(fault("id,a,b\n1,2,3\n2,,2\n").place.line, 3);
}

TEST_F(ReliabilityReport, UnusableRequestsAreRefused) {
  request_.protocol = "thoracic_rotation";
  EXPECT_EQ(report_reliability(request_).error().place.field, "protocol");
  request_.protocol = "thoracic_rotation_heel_sit";
  request_.published = 2.0;
  EXPECT_EQ(report_reliability(request_).error().place.field, "published");
  request_.protocol.reset();
  request_.tries_per_value = 0;
  EXPECT_EQ(report_reliability(request_).error().place.field, "tries_per_value");
  request_.tries_per_value = 1;
  request_.ratings = folder_ / "nothing.csv";
  EXPECT_EQ(report_reliability(request_).error().code, ErrorCode::NotFound);
}

}  // namespace
}  // namespace lintel::app
