// What-if for sliders: figures that lean as the numbers say, ends of sliders, refusals.
#include "base/units.h"
#include "support/records_client.h"

namespace lintel::test {
namespace {

using app::Role;
using ::testing::HasSubstr;

class WhatIf : public RecordsTest {
 protected:
  WhatIf() {
    athlete_ = example("athlete.json");
    athlete_["tests"] = {{"knee_to_wall_left_cm", 6}, {"knee_to_wall_right_cm", 6}};
  }
  HttpReply ask(const Json& changes, const Json& more = Json::object()) {
    Json question = {{"athlete", athlete_}, {"changes", changes}};
    question.update(more);
    return client_.post("/api/v1/questions/what-if", question.dump());
  }
  static double length(const Json& a, const Json& b) {
    return std::hypot(a[0].get<double>() - b[0].get<double>(),
                      a[1].get<double>() - b[1].get<double>());
  }

  Json athlete_;
};

TEST_F(WhatIf, ARaisedHeelMakesAStiffAnkleStandMoreUpright) {
  const Json answer = expect_json(ask({{{"lever", "heel"}, {"to", 1.2}, {"unit", "cm"}}}), 200);
  EXPECT_LT(answer["trunk_change_deg"], -0.5);
  EXPECT_NEAR(
      answer["after"]["trunk_deg"].get<double>() - answer["today"]["trunk_deg"].get<double>(),
      answer["trunk_change_deg"], 0.6);
  EXPECT_THAT(answer["words"].get<std::string>(), HasSubstr("Heels up to 1.2 cm"));
  EXPECT_EQ(answer["costs"][0]["code"], "raised_heel");
  EXPECT_GE(answer["cautions"].size(), 6u);
  // The heel of the figure stands 12 mm higher or so, and the bar over the base.
  const double lift = answer["after"]["joints"]["heel"][1].get<double>() -
                      answer["today"]["joints"]["heel"][1].get<double>();
  EXPECT_NEAR(lift, 0.012, 0.005);
  for (const char* when : {"today", "after"}) {
    const Json& figure = answer[when];
    EXPECT_GE(figure["plumb_x_m"], figure["base_m"][0]) << when;
    EXPECT_LE(figure["plumb_x_m"], figure["base_m"][1]) << when;
    // Trunk from hip to shoulder against the vertical, read off the drawing.
    const Json& hip = figure["joints"]["hip"];
    const Json& shoulder = figure["joints"]["shoulder"];
    const double lean = std::atan2(shoulder[0].get<double>() - hip[0].get<double>(),
                                   shoulder[1].get<double>() - hip[1].get<double>());
    EXPECT_NEAR(lean * kDegreesPerRadian, figure["trunk_deg"].get<double>(), 0.1) << when;
  }
  // Bones in the plane of the picture keep their length.
  EXPECT_NEAR(length(answer["today"]["joints"]["hip"], answer["today"]["joints"]["lumbar"]),
              length(answer["after"]["joints"]["hip"], answer["after"]["joints"]["lumbar"]), 1e-3);
}

// Every number has its error: the lean's is that of what was seen and of the change together, the
// change's that of one body before and after.
TEST_F(WhatIf, SaysHowSureLeanAndChangeAre) {
  const Json heel = {{{"lever", "heel"}, {"to", 1.2}, {"unit", "cm"}}};
  const Json seen =
      expect_json(ask(heel, {{"observed_deg", 45}, {"observed_error_deg", 1.5}}), 200);
  const double change = seen["trunk_change_error_deg"];
  EXPECT_GT(change, 0.2);
  EXPECT_LT(change, 2.0);
  EXPECT_NEAR(seen["today_trunk_error_deg"], 1.5, 1e-9);
  EXPECT_NEAR(seen["after_trunk_error_deg"], std::hypot(1.5, change), 1e-6);
  EXPECT_EQ(seen["distinguishable"],
            std::abs(seen["trunk_change_deg"].get<double>()) > 1.96 * change);
  EXPECT_EQ(seen["draws"], 60);
  ASSERT_FALSE(seen["error_parts"].empty());
  double squares = 0.0;
  for (const Json& part : seen["error_parts"]) {
    squares += std::pow(part["error_deg"].get<double>(), 2.0);
    EXPECT_EQ(part["limit"].is_null(),
              part["source"] == "lengths" || part["source"] == "couplings");
  }
  EXPECT_LE(squares, 1.001 * change * change);
  // The page says "by eye" where nothing says how well it was seen.
  EXPECT_NEAR(expect_json(ask(heel, {{"observed_deg", 45}}), 200)["today_trunk_error_deg"], 3.0,
              1e-9);
  // Without a lean that was seen the model's own is far less sure than the change is.
  const Json model = expect_json(ask(heel), 200);
  EXPECT_GT(model["after_trunk_error_deg"], 2.0 * change);
  EXPECT_EQ(model["trunk_change_error_deg"], seen["trunk_change_error_deg"]);
  // Without a test the ankle is known by the population alone.
  athlete_["tests"] = Json::object();
  const Json untested = expect_json(ask(heel), 200);
  EXPECT_GT(untested["trunk_change_error_deg"], 1.2 * change);
  EXPECT_EQ(untested["error_parts"][0]["source"], "population");
  EXPECT_EQ(untested["error_parts"][0]["limit"], "ankle_dorsiflexion");
}

TEST_F(WhatIf, NoChangeChangesNothing) {
  const Json answer = expect_json(ask(Json::array(), {{"observed_deg", 45}}), 200);
  EXPECT_EQ(answer["trunk_change_error_deg"], 0.0);
  EXPECT_FALSE(answer["distinguishable"]);
  EXPECT_NEAR(answer["trunk_change_deg"], 0.0, 1e-6);
  EXPECT_EQ(answer["today"], answer["after"]);
  EXPECT_NEAR(answer["today"]["trunk_deg"], 45.0, 0.01);
}

// What is known of today is kept between two moves of a slider, for this athlete alone.
TEST_F(WhatIf, KeepsNobodysTodayForAnother) {
  const Json change = {{{"lever", "heel"}, {"to", 1.2}, {"unit", "cm"}}};
  const Json first = expect_json(ask(change), 200);
  const Json seen = expect_json(ask(change, {{"observed_deg", 50}}), 200);
  EXPECT_NEAR(seen["today"]["trunk_deg"], 50.0, 0.01);
  EXPECT_EQ(seen["trunk_change_deg"], first["trunk_change_deg"]);
  const Json stiff = athlete_;
  athlete_["tests"] = {{"knee_to_wall_left_cm", 12}, {"knee_to_wall_right_cm", 12}};
  const Json other = expect_json(ask(change), 200);
  EXPECT_LT(other["today"]["trunk_deg"], first["today"]["trunk_deg"].get<double>() - 1.0);
  EXPECT_NE(other["trunk_change_deg"], first["trunk_change_deg"]);
  athlete_ = stiff;
  EXPECT_EQ(expect_json(ask(change), 200), first);
}

TEST_F(WhatIf, EverySliderCanBeMovedToBothEnds) {
  const Json levers = expect_json(ask(Json::array()), 200)["levers"];
  ASSERT_EQ(levers.size(), 12u);
  for (const Json& lever : levers) {
    EXPECT_LE(lever["low"], lever["high"]) << lever["lever"];
    for (const char* end : {"low", "high"}) {
      const HttpReply reply =
          ask({{{"lever", lever["lever"]}, {"to", lever[end]}, {"unit", lever["unit"]}}});
      EXPECT_EQ(reply.status, 200) << lever["lever"] << " " << end << " " << reply.body;
    }
    const double beyond = lever["high"].get<double>() + 200.0;
    const HttpReply reply =
        ask({{{"lever", lever["lever"]}, {"to", beyond}, {"unit", lever["unit"]}}});
    EXPECT_EQ(reply.status, 422) << lever["lever"];
    EXPECT_EQ(json_of(reply)["place"]["field"], "changes[0].to");
  }
}

TEST_F(WhatIf, WithoutABarOverheadTheArmsHaveNoSliders) {
  athlete_["setup"]["bar_position"] = "back";
  const Json levers = expect_json(ask(Json::array()), 200)["levers"];
  for (const Json& lever : levers) EXPECT_NE(lever["lever"], "grip");
  EXPECT_EQ(ask({{{"lever", "grip"}, {"to", 80}, {"unit", "cm"}}}).status, 422);
}

TEST_F(WhatIf, IsForWhoeverMayCompute) {
  const Json question = {{"athlete", athlete_}, {"changes", Json::array()}};
  const std::string path = "/api/v1/questions/what-if";
  EXPECT_EQ(server_.as(Role::Assistant).post(path, question.dump()).status, 200);
  EXPECT_EQ(server_.as(Role::Athlete).post(path, question.dump()).status, 403);
  EXPECT_EQ(server_.client().post(path, question.dump()).status, 401);
  const HttpReply bad = client_.post(path, R"({"athlete":{},"changes":[]})");
  EXPECT_EQ(bad.status, 422);
  EXPECT_GT(json_of(bad)["faults"].size(), 2u);
}

}  // namespace
}  // namespace lintel::test
