#include "formats/assessment_json.h"

#include <gtest/gtest.h>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/cautions.h"
#include "support/demo_measurement.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::json;

TEST(AssessmentJson, WritesDegreesAndCentimetresWithTheirErrors) {
  const auto m = test_support::demo_measurement({});
  const Json json = Json::parse(write_assessment_json(test_support::demo_assessment(m)));
  EXPECT_EQ(json["schema"], "lintel-assessment-1");
  EXPECT_EQ(json["athlete"]["id"], "skarnholm-07");
  ASSERT_EQ(json["repetitions"].size(), 5u);
  const Json& bottom = json["repetitions"][0]["channels"]["trunk_inclination_deg"]["bottom"];
  EXPECT_NEAR(bottom["value"].get<double>(), 38.0, 1e-4);  // 8 + 30 by construction
  EXPECT_NEAR(bottom["standard_error"].get<double>(), 1.8, 1e-5);
  const Json& depth = json["repetitions"][0]["channels"]["depth_cm"]["bottom"];
  EXPECT_NEAR(depth["standard_error"].get<double>(), 0.6, 1e-5);
  EXPECT_EQ(json["repetitions"][0]["bottom"]["frame"], 105);  // 0.5 x 3.5 s x 60 frames/s
  EXPECT_NEAR(json["repetitions"][0]["bottom"]["time_s"].get<double>(), 1.75, 1e-6);
  EXPECT_NEAR(json["curves"]["trunk_inclination_deg"]["lowest"]["value"].get<double>(), 8, 0.01);
  EXPECT_NEAR(json["explanation"]["parts"][0]["share_deg"].get<double>(), 8.4, 1e-5);
  EXPECT_EQ(json["setup"]["stance_width_cm"], 36.0);
}

TEST(AssessmentJson, WritesNullForWhatIsNotKnown) {
  test_support::DemoOptions options;
  options.bar_seen = false;
  const auto m = test_support::demo_measurement(options);
  view::Assessment a = test_support::demo_assessment(m);
  a.athlete_name.clear();
  a.setup.bar_mass.reset();
  const std::string text = write_assessment_json(a);
  const Json json = Json::parse(text);  // a strict parser: nan and inf are not JSON
  EXPECT_TRUE(json["athlete"]["name"].is_null());
  EXPECT_TRUE(json["setup"]["bar_mass_kg"].is_null());
  EXPECT_TRUE(json["front"].is_null());
  EXPECT_TRUE(json["repetitions"][0]["channels"]["bar_x_cm"]["bottom"]["value"].is_null());
  EXPECT_TRUE(json["curves"]["bar_y_cm"]["lowest"].is_null());
  EXPECT_EQ(json["curves"]["bar_y_cm"]["frames_with_value"], 0);
}

TEST(AssessmentJson, CarriesEveryCaution) {
  for (const bool has_side : {true, false}) {
    const auto m = test_support::demo_measurement({});
    view::Assessment a = test_support::demo_assessment(m);
    if (!has_side) a.side = nullptr;
    const std::string text = write_assessment_json(a);
    for (const Caution& caution : cautions()) {
      EXPECT_NE(text.find(caution.text), std::string::npos) << caution.code;
    }
  }
}

TEST(AssessmentJson, SurvivesBrokenText) {
  view::Assessment a;
  a.athlete_name = "\xff\xfe broken \"quote\" \n";
  EXPECT_NO_THROW({ EXPECT_TRUE(Json::parse(write_assessment_json(a)).is_object()); });
}

}  // namespace
}  // namespace lintel::formats
