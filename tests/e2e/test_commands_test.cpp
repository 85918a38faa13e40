// `lintel tests ...` as a user runs it: texts, files, errors with their line and field.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <array>
#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

#include "base/units.h"
#include "e2e/program.h"
#include "support/photographs.h"

namespace lintel::test {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr const char* kAthlete = R"({"schema": "lintel-athlete-1", "id": "skarnholm-03",
 "name": "Runa", "sex": "female", "body": {"stature_cm": 168, "mass_kg": 66}})";

constexpr const char* kVisit = R"({"schema": "lintel-tests-1", "athlete": "skarnholm-03",
 "date": "2026-11-25", "tester": "Ilka", "results": [
 {"protocol": "knee_to_wall_distance", "side": "left", "tries_cm": [9.5, 10, 10.5]},
 {"protocol": "knee_to_wall_distance", "side": "right", "tries_cm": [6, 6.5, 6]},
 {"protocol": "arms_to_wall_turned_out", "side": "left", "reached": false}]})";

class TestsCommand : public Cli {
 protected:
  static std::string lunge() { return lunge_photograph(); }
};

TEST_F(TestsCommand, ListsAndShowsWithCautions) {
  const Execution list = run("tests list");
  ASSERT_EQ(list.status, 0) << list.errors;
  EXPECT_THAT(list.output, HasSubstr("knee_to_wall_distance"));
  EXPECT_THAT(list.output, HasSubstr("licensed"));
  const json listed = json::parse(run("tests list --json").output);
  EXPECT_GE(listed.at("protocols").size(), 18u);
  EXPECT_FALSE(listed.at("cautions").empty());

  const Execution card = run("tests show arms_to_wall_turned_out --svg card.svg");
  ASSERT_EQ(card.status, 0) << card.errors;
  EXPECT_THAT(card.output, HasSubstr("common practice, no source"));
  EXPECT_THAT(card.output, HasSubstr("Not with"));
  EXPECT_THAT(card.output, HasSubstr("licensed"));
  EXPECT_THAT(read(folder_ / "card.svg"), HasSubstr("<svg"));
  const json shown = json::parse(run("tests show arms_to_wall_turned_out --json").output);
  EXPECT_EQ(shown.at("protocol").at("unit"), "deg");

  const Execution wrong = run("tests show arms_to_wall_turned_oot");
  EXPECT_NE(wrong.status, 0);
  EXPECT_THAT(wrong.errors, HasSubstr("did you mean \"arms_to_wall_turned_out\"?"));
}

TEST_F(TestsCommand, OwnProtocolsAreCheckedWithLineAndField) {
  fs::create_directory(folder_ / "own");
  std::string file = read(fs::path(LINTEL_SOURCE_DIR) / "data/protocols/pass-through-pipe.json");
  const auto swap = [&](const std::string& from, const std::string& to) {
    const std::size_t at = file.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    file.replace(at, from.size(), to);
  };
  swap("\"pass_through_pipe\"", "\"pass_through_strap\"");
  write("own/strap.json", file);
  const Execution good = run("tests check own");
  ASSERT_EQ(good.status, 0) << good.errors;
  EXPECT_THAT(good.output, HasSubstr("1 protocol is good"));
  EXPECT_THAT(run("tests list --protocols own").output, HasSubstr("pass_through_strap"));
  EXPECT_THAT(run("tests list").output, Not(HasSubstr("pass_through_strap")));

  swap("\"unit\": \"cm\"", "\"unit\": \"inch\"");
  write("own/strap.json", file);
  const auto line =
      1 +
      std::count(file.begin(), file.begin() + static_cast<std::ptrdiff_t>(file.find("inch")), '\n');
  const Execution bad = run("tests check own");
  EXPECT_NE(bad.status, 0);
  EXPECT_THAT(bad.errors, HasSubstr("strap.json:" + std::to_string(line)));
  EXPECT_THAT(bad.errors, HasSubstr("unit"));
  EXPECT_NE(run("tests list --protocols own").status, 0);

  write("own/strap.json",
        read(fs::path(LINTEL_SOURCE_DIR) / "data/protocols/pass-through-pipe.json"));
  EXPECT_THAT(run("tests check own").errors, HasSubstr("built-in"));
  EXPECT_THAT(run("tests check nowhere").errors, HasSubstr("no such folder"));
}

TEST_F(TestsCommand, EntersAVisitIntoTheAthlete) {
  write("athlete.json", kAthlete);
  write("visit.json", kVisit);
  const Execution result = run("tests enter visit.json --athlete athlete.json --out new.json");
  ASSERT_EQ(result.status, 0) << result.errors;
  EXPECT_THAT(result.output, HasSubstr("10.0 +/- 0.6 cm (tries 9.5, 10.0, 10.5, SD 0.5)"));
  EXPECT_THAT(joined(result.output), HasSubstr("one hand's breadth, here 8.0 cm"));
  EXPECT_THAT(result.output, HasSubstr("does not pass"));
  EXPECT_THAT(result.output, HasSubstr("left less right 3.8 +/- 0.8 cm: more than"));
  EXPECT_THAT(result.output, HasSubstr("by this athlete's own foot and shank"));
  EXPECT_THAT(result.output, HasSubstr("licensed"));
  const json athlete = json::parse(read(folder_ / "new.json"));
  EXPECT_NEAR(athlete.at("tests").at("knee_to_wall_left_cm").at("value"), 10, 1e-9);
  EXPECT_TRUE(athlete.at("tests").contains("arm_to_wall_turned_out_left_deg"));
  EXPECT_FALSE(athlete.at("tests").contains("ankle_dorsiflexion_left_deg"));
  // The model takes the file.
  EXPECT_EQ(run("explain new.json --draws 20 --quiet").status, 0);

  const Execution again = run("tests enter visit.json --athlete athlete.json --out new.json");
  EXPECT_NE(again.status, 0);
  EXPECT_THAT(again.errors, HasSubstr("--overwrite"));
  EXPECT_EQ(run("tests enter visit.json --athlete athlete.json --out new.json --overwrite").status,
            0);
  const json outcome =
      json::parse(run("tests enter visit.json --athlete athlete.json --json").output);
  EXPECT_EQ(outcome.at("schema"), "lintel-tests-outcome-1");
  EXPECT_EQ(outcome.at("results").at(1).at("pass").at("passes"), false);
  EXPECT_EQ(outcome.at("sides").at(0).at("beyond_error"), true);
  EXPECT_FALSE(outcome.at("cautions").empty());
}

TEST_F(TestsCommand, OwnRepeatsTakeThePlaceOfThePublishedError) {
  write("athlete.json", kAthlete);
  write("visit.json", kVisit);
  write("repeats.csv",
        "athlete,day 1,day 2\na,10.0,10.1\nb,7.5,7.4\nc,12.0,12.1\nd,9.1,9.0\ne,11.2,11.1\n");
  const Execution report =
      run("tests reliability repeats.csv --protocol knee_to_wall_distance --tries 3 --json");
  ASSERT_EQ(report.status, 0) << report.errors;
  write("repeats.json", report.output);
  const double own = json::parse(report.output).at("own_error").at("value_cm");
  EXPECT_LT(own, 0.6);
  const std::string enter = "tests enter visit.json --athlete athlete.json --json";
  const json before = json::parse(run(enter).output);
  const Execution entered = run(enter + " --own-error repeats.json");
  ASSERT_EQ(entered.status, 0) << entered.errors;
  const json after = json::parse(entered.output);
  EXPECT_EQ(after.at("results").at(0).at("own_error"), true);
  const auto error_of = [](const json& outcome) {
    return outcome.at("results").at(0).at("result_cm").at("standard_error").get<double>();
  };
  EXPECT_LT(error_of(after), error_of(before));
  write("repeats.json", "{\"schema\": \"lintel-reliability-1\"}");
  EXPECT_THAT(run(enter + " --own-error repeats.json").errors, HasSubstr("own_error"));
}

TEST_F(TestsCommand, AWarningSignIsNotPassedOver) {
  std::string athlete = kAthlete;
  athlete.insert(athlete.rfind('}'), ", \"warning_signs\": [\"shoulder_instability\"]");
  write("athlete.json", athlete);
  write("visit.json", kVisit);
  const Execution result = run("tests enter visit.json --athlete athlete.json");
  ASSERT_EQ(result.status, 0) << result.errors;
  EXPECT_THAT(result.output, HasSubstr("This test is not done with: shoulder instability"));
}

TEST_F(TestsCommand, FaultsOfARecordNameLineAndField) {
  write("athlete.json", kAthlete);
  write("visit.json",
        "{\"schema\": \"lintel-tests-1\", \"athlete\": \"skarnholm-03\",\n"
        "\"date\": \"2026-11-25\", \"results\": [\n"
        "{\"protocol\": \"knee_to_wall_distance\", \"side\": \"left\", \"tries_cm\": [95]}]}");
  const Execution result = run("tests enter visit.json --athlete athlete.json");
  EXPECT_NE(result.status, 0);
  EXPECT_THAT(result.errors, HasSubstr("visit.json:3"));
  EXPECT_THAT(result.errors, HasSubstr("results[0].tries_cm[0]"));
  EXPECT_THAT(result.errors, HasSubstr("-5 to 25 cm"));
  EXPECT_THAT(run("tests enter none.json --athlete athlete.json").errors, HasSubstr("none.json"));
}

TEST_F(TestsCommand, ReadsAnAngleOffAPhotographNearTheNotedJoints) {
  const std::string photo = lunge();
  LINTEL_NEED(photo);
  const Execution result = run("tests photo '" + photo +
                               "' --protocol active_straight_leg_raise --side left --out photo");
  ASSERT_EQ(result.status, 0) << result.errors;
  EXPECT_THAT(result.output, HasSubstr("licensed"));
  EXPECT_TRUE(fs::exists(folder_ / "photo/marked.png"));
  const json document = json::parse(read(folder_ / "photo/photo.json"));
  // Noted by hand: hip (285, 235), shoulder (275, 125), ankle (423, 270).
  const double noted = 180 - kDegreesPerRadian * std::abs(std::atan2(275.0 - 285, 235.0 - 125) -
                                                          std::atan2(423.0 - 285, 235.0 - 270));
  const double value = document.at("result_deg").at("value");
  EXPECT_NEAR(value, noted, 12);  // joints under clothes were noted to some 10 px, 5 deg each
  EXPECT_LT(std::abs(value - noted),
            2 * document.at("result_deg").at("standard_error").get<double>());
  EXPECT_EQ(document.at("record_entry").at("photo").at("network"), "full");
}

TEST_F(TestsCommand, PointsMovedByHandRuleAndTheOriginalsAreKept) {
  const std::string photo = lunge();
  LINTEL_NEED(photo);
  write("points.json", R"({"hip": [285, 235], "shoulder": [275, 125], "ankle": [423, 270]})");
  const Execution result =
      run("tests photo '" + photo +
          "' --protocol active_straight_leg_raise --side left --points points.json --json");
  ASSERT_EQ(result.status, 0) << result.errors;
  const json document = json::parse(result.output);
  const double noted = 180 - kDegreesPerRadian * std::abs(std::atan2(275.0 - 285, 235.0 - 125) -
                                                          std::atan2(423.0 - 285, 235.0 - 270));
  EXPECT_NEAR(document.at("result_deg").at("value").get<double>(), noted, 1e-3);
  EXPECT_EQ(document.at("originals").size(), 3u);
  EXPECT_EQ(document.at("points").at("hip").at("placed_by"), "hand");
  EXPECT_EQ(document.at("originals").at("hip").at("placed_by"), "network");
  EXPECT_EQ(document.at("record_entry").at("photo").at("moved").size(), 3u);
  // The entry goes into a record as it is.
  json visit = json::parse(kVisit);
  visit["results"].push_back(document.at("record_entry"));
  write("athlete.json", kAthlete);
  write("visit.json", visit.dump());
  const Execution entered = run("tests enter visit.json --athlete athlete.json");
  EXPECT_EQ(entered.status, 0) << entered.errors;
  EXPECT_THAT(entered.output, HasSubstr("Active straight-leg raise"));
}

TEST_F(TestsCommand, ADistanceNeedsAKnownLengthAndAWall) {
  const std::string photo = lunge();
  LINTEL_NEED(photo);
  const std::string command = "tests photo '" + photo + "' --protocol knee_to_wall_distance";
  EXPECT_THAT(run(command + " --side left").errors, HasSubstr("wall"));
  write("points.json", R"({"wall": [470, 280]})");
  const std::string with_wall = command + " --side left --points points.json";
  EXPECT_THAT(run(with_wall).errors, HasSubstr("--known-length-cm"));
  const Execution result =
      run(with_wall + " --known-length-cm 40 --between 358,250,423,270 --json");
  ASSERT_EQ(result.status, 0) << result.errors;
  const json document = json::parse(result.output);
  const double toe = document.at("points").at("toe").at("position_px").at(0);
  EXPECT_NEAR(document.at("result_cm").at("value").get<double>(),
              std::abs(470 - toe) * 40 / std::hypot(65.0, 20.0), 1e-3);
  EXPECT_GT(document.at("error_parts_cm").at("length"), 0.0);
  EXPECT_THAT(run(command).errors, HasSubstr("--side"));
  write("points.json", R"({"wal": [470, 280]})");
  EXPECT_THAT(run(with_wall).errors, HasSubstr("did you mean \"wall\"?"));
  EXPECT_THAT(run("tests photo '" + photo + "' --protocol single_leg_balance --side left").errors,
              HasSubstr("cannot be read off a photo"));
  EXPECT_THAT(run("tests photo none.jpg --protocol knee_to_wall_angle --side left").errors,
              HasSubstr("none.jpg"));
}

// A rendered lifter whose joints are exactly known (demo/): the middle of the bottom pause as a
// photo.
TEST_F(TestsCommand, RenderedJointAnglesComeOutWithinTheirErrors) {
  const fs::path clips = LINTEL_CLIPS_DIR;
  const json truth = json::parse(read(clips / "side-30.truth.json"));
  const std::size_t frame = truth.at("repetitions").at(0).at("bottom_frame");
  ASSERT_TRUE(ffmpeg("-i " + clip("side-30.mp4") + " -vf 'select=eq(n\\," + std::to_string(frame) +
                     ")' -frames:v 1 '" + (folder_ / "bottom.png").string() + "'"));
  const json& joints = truth.at("frames").at(frame).at("joints_px");
  const std::string side = truth.at("camera").at("near_side");
  const auto direction = [&](const char* from, const char* to) {
    const json& a = joints.at(side + "_" + from);
    const json& b = joints.at(side + "_" + to);
    return std::array<double, 2>{b.at(0).get<double>() - a.at(0).get<double>(),
                                 b.at(1).get<double>() - a.at(1).get<double>()};
  };
  const auto between = [](const std::array<double, 2>& a, const std::array<double, 2>& b) {
    return kDegreesPerRadian *
           std::abs(std::atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]));
  };
  const auto measured = [&](const char* protocol) {
    const Execution result = run(std::string("tests photo bottom.png --json --protocol ") +
                                 protocol + " --side " + side);
    EXPECT_EQ(result.status, 0) << result.errors;
    return result.status == 0 ? json::parse(result.output).at("result_deg") : json();
  };
  const double knee = between(direction("hip", "knee"), direction("knee", "ankle"));
  const json knee_reading = measured("knee_flexion_deep_squat");
  ASSERT_FALSE(knee_reading.is_null());
  std::cout << "knee " << knee_reading << " true " << knee << "\n";
  EXPECT_NEAR(knee_reading.at("value").get<double>(), knee,
              2 * knee_reading.at("standard_error").get<double>());
  const double shank = between({0, -1}, direction("ankle", "knee"));
  const json shank_reading = measured("knee_to_wall_angle");
  ASSERT_FALSE(shank_reading.is_null());
  std::cout << "shank " << shank_reading << " true " << shank << "\n";
  EXPECT_NEAR(shank_reading.at("value").get<double>(), shank,
              2 * shank_reading.at("standard_error").get<double>());
}

TEST_F(TestsCommand, ReliabilityIsAmongTheTests) {
  EXPECT_THAT(run("tests --help").output, HasSubstr("reliability"));
}

}  // namespace
}  // namespace lintel::test
