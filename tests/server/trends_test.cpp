// Values over time: only clips of one setup are compared, and what was typed in stands apart.
#include "formats/assessment_json.h"
#include "support/demo_measurement.h"
#include "support/kept_trial.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Role;
using ::testing::HasSubstr;

// What differs from the setup of the example athlete.
struct Filmed {
  double heels = 0.0;   // [m]
  double grip = 0.0;    // [m] wider
  double trunk = 40.0;  // [deg]
};

class Trends : public RecordsTest {
 protected:
  void SetUp() override {
    const Json made = add_athlete();
    athlete_ = made["id"];
    setup_ = made["document"]["athlete"]["setup"];
  }

  // A clip that was measured in a setup, as a worker leaves it.
  std::string film(const std::string& visit, const std::string& date, const Filmed& filmed) {
    const auto measurement = test_support::demo_measurement({});
    view::Assessment assessment = test_support::demo_assessment(measurement);
    assessment.setup.bar_mass = setup_["bar_mass_kg"].get<double>();
    assessment.setup.stance_width = setup_["stance_width_cm"].get<double>() / 100;
    assessment.setup.toe_out = setup_["toe_out_deg"].get<double>() * kRadiansPerDegree;
    assessment.setup.heel_elevation = setup_.value("heel_elevation_cm", 0.0) / 100 + filmed.heels;
    assessment.setup.grip_width = setup_["grip_width_cm"].get<double>() / 100 + filmed.grip;
    assessment.setup.bar_position = "overhead";
    const auto media =
        value_of(server_.practice().media->add_bytes(formats::write_assessment_json(assessment)));
    const formats::StoredFile file{"assessment.json", media.sha256, "application/json",
                                   media.bytes};
    return keep(visit, date, measured_trial({file}), filmed.trunk);
  }

  std::string keep(const std::string& visit, const std::string& date,
                   const formats::TrialDocument& trial, double trunk) {
    store::IndexRows index;
    index.date = date;
    index.measures = {{"trunk_inclination", date, "deg", trunk, 2.0}};
    return keep_trial(server_, athlete_, visit, trial, std::move(index));
  }

  std::vector<Json> trunk() {
    std::vector<Json> out;
    const Json all = expect_json(client_.get("/api/v1/athletes/" + athlete_ + "/trends"), 200);
    for (const Json& one : all["series"]) {
      if (one["name"] == "trunk_inclination") out.push_back(one);
    }
    return out;
  }

  std::string athlete_;
  Json setup_;
};

TEST_F(Trends, AnotherSetupIsNeitherProgressNorRegress) {
  const std::string before = add_visit(athlete_, "2026-08-03")["id"];
  const std::string after = add_visit(athlete_, "2026-09-28")["id"];
  film(before, "2026-08-03", {0.0, 0.0, 44});
  film(after, "2026-09-28", {0.0, 0.0, 43});
  // Raised heels make up 9 degrees, on the second day alone and filmed first.
  const std::string raised = film(after, "2026-09-28", {0.025, 0.0, 34});

  const std::vector<Json> series = trunk();
  ASSERT_EQ(series.size(), 2u);
  EXPECT_EQ(series[0]["setup"], (Json{{"own", true}, {"differs", Json::array()}}));
  EXPECT_EQ(series[0]["source"], "clip");
  EXPECT_EQ(series[0]["points"].size(), 2u);
  EXPECT_NEAR(series[0]["change"], -1.0, 1e-9);
  EXPECT_EQ(series[0]["verdict"], "no_detectable_change");
  EXPECT_EQ(series[0]["forecast"].size(), 13u);

  EXPECT_EQ(series[1]["setup"]["own"], false);
  ASSERT_EQ(series[1]["setup"]["differs"].size(), 1u);
  EXPECT_EQ(series[1]["setup"]["differs"][0]["key"], "heel_elevation_cm");
  EXPECT_NEAR(series[1]["setup"]["differs"][0]["value"].get<double>() -
                  series[1]["setup"]["differs"][0]["own"].get<double>(),
              2.5, 1e-6);
  ASSERT_EQ(series[1]["points"].size(), 1u);
  EXPECT_EQ(series[1]["points"][0]["record"], raised);
  EXPECT_EQ(series[1]["verdict"], "one_session");
  EXPECT_TRUE(series[1]["forecast"].empty());
  EXPECT_TRUE(series[1]["target"].is_null());
}

TEST_F(Trends, AChangeIsToldWithinASetupOtherThanTheOwnToo) {
  const std::string before = add_visit(athlete_, "2026-08-03")["id"];
  const std::string after = add_visit(athlete_, "2026-09-28")["id"];
  film(before, "2026-08-03", {0.025, 0.0, 44});
  film(after, "2026-09-28", {0.022, 0.01, 34});  // as far as the hand varies: the same
  film(after, "2026-09-28", {0.0, 0.12, 50});
  // A clip without an assessment: what the trial says of its setup.
  formats::TrialDocument bare = measured_trial();
  const double own = setup_.value("heel_elevation_cm", 0.0);
  bare.edit.setup = Json{{"heel_elevation_cm", own + 2.5}}.dump();
  keep(after, "2026-10-01", bare, 33);

  const std::vector<Json> series = trunk();
  ASSERT_EQ(series.size(), 2u);
  EXPECT_EQ(series[0]["points"].size(), 3u) << series[0].dump();
  EXPECT_NEAR(series[0]["change"], -11.0, 1e-9);
  EXPECT_EQ(series[0]["verdict"], "improved");
  EXPECT_EQ(series[0]["setup"]["differs"][0]["key"], "heel_elevation_cm");
  EXPECT_EQ(series[1]["setup"]["differs"][0]["key"], "grip_width_cm");
}

TEST_F(Trends, WhatWasTypedInIsASeriesOfItsOwn) {
  const std::string filmed = add_visit(athlete_, "2026-08-03")["id"];
  film(filmed, "2026-08-03", {0.0, 0.0, 44});
  const auto type = [&](const char* date, double degrees, const char* method) {
    const Json visit = add_visit(athlete_, date);
    Json document = visit["document"];
    document["trunk"] = {
        {"inclination_deg", degrees}, {"standard_error_deg", 3.0}, {"method", method}};
    expect_json(client_.put("/api/v1/visits/" + visit["id"].get<std::string>(), document.dump(),
                            if_version(1)),
                200);
    return visit["id"].get<std::string>();
  };
  const std::string last = type("2026-09-28", 32, "eye");
  const std::string first = type("2026-08-10", 45, "inclinometer");

  const std::vector<Json> series = trunk();
  ASSERT_EQ(series.size(), 2u);
  EXPECT_EQ(series[0]["source"], "clip");
  EXPECT_EQ(series[0]["points"].size(), 1u) << "nothing that was typed is among the films";
  EXPECT_EQ(series[0]["verdict"], "one_session");
  const Json& typed = series[1];
  EXPECT_EQ(typed["source"], "typed");
  EXPECT_TRUE(typed["setup"].is_null());
  EXPECT_EQ(typed["label"], series[0]["label"]);
  ASSERT_EQ(typed["points"].size(), 2u);
  EXPECT_EQ(typed["points"][0]["record"], first);
  EXPECT_EQ(typed["points"][0]["method"], "inclinometer");
  EXPECT_EQ(typed["points"][1]["record"], last);
  EXPECT_NEAR(typed["points"][1]["error"], 3.0, 1e-9);
  EXPECT_NEAR(typed["change"], -13.0, 1e-9);
  EXPECT_NEAR(typed["detectable_change"], 1.96 * std::hypot(3, 3), 1e-6);
  EXPECT_EQ(typed["verdict"], "improved");

  const std::string table = client_.get("/api/v1/athletes/" + athlete_ + "/trends?format=csv").body;
  EXPECT_THAT(table, HasSubstr(",source,setup\r\n"));
  EXPECT_THAT(table, HasSubstr(",clip,own\r\n"));
  EXPECT_THAT(table, HasSubstr("\"typed, eye\",\r\n"));
}

TEST_F(Trends, WhatWasTypedInGoesOutAsFhirAndSaysSo) {
  const Json visit = add_visit(athlete_, "2026-09-28");
  Json document = visit["document"];
  document["trunk"] = {{"inclination_deg", 41.0}, {"standard_error_deg", 4.0}, {"method", "still"}};
  expect_json(client_.put("/api/v1/visits/" + visit["id"].get<std::string>(), document.dump(),
                          if_version(1)),
              200);
  const Json bundle = expect_json(
      client_.get("/api/v1/athletes/" + athlete_ + "/fhir?visit=" + visit["id"].get<std::string>()),
      200);
  std::vector<Json> typed;
  for (const Json& entry : bundle["entry"]) {
    const Json& one = entry["resource"];
    if (one["resourceType"] == "Observation" && one.contains("method") &&
        one["method"]["coding"][0]["code"] == "method_still") {
      typed.push_back(one);
    }
  }
  ASSERT_EQ(typed.size(), 1u);
  EXPECT_NEAR(typed[0]["valueQuantity"]["value"], 41.0, 1e-6);
  EXPECT_NEAR(typed[0]["component"][0]["valueQuantity"]["value"], 4.0, 1e-6);
  EXPECT_THAT(typed[0]["note"][0]["text"].get<std::string>(), HasSubstr("not measured in a clip"));
}

}  // namespace
}  // namespace lintel::test
