#include "formats/observation_json.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <random>

#include "formats/curves_json.h"
#include "support/demo_measurement.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using kinematics::KeptObservation;
using test_support::read_schema;
using test_support::schema_complaints;

KeptObservation an_observation() {
  std::mt19937 random(7);
  std::uniform_real_distribution<float> pixel(-5.0F, 725.0F);
  std::uniform_real_distribution<float> share(0.0F, 1.0F);
  KeptObservation kept;
  kept.clip.width_px = 720;
  kept.clip.height_px = 1280;
  kept.clip.nominal_rate = 30000.0 / 1001.0;
  kept.film.codec = "h264";
  kept.film.container = "mov,mp4 \"größer\"";
  kept.film.duration = 1.0 / 3.0;
  kept.film.mean_brightness = 0.1;
  kept.film.ended_early = true;
  kept.people = 2;
  kept.chosen_person = 1;
  kept.turn_from_disc_pair = Estimate{0.1, 1.0 / 7.0};
  for (int i = 0; i < 40; ++i) {
    kinematics::FrameObservation frame;
    frame.index = 2 * i;
    frame.time = i / 29.97;
    if (i % 5 != 3) {
      frame.body.emplace();
      frame.body->presence = share(random);
      for (auto& landmark : frame.body->landmarks) {
        landmark.position_px = {pixel(random), pixel(random)};
        landmark.regressed_px = {pixel(random), pixel(random)};
        landmark.depth_px = -pixel(random);
        landmark.confidence = share(random);
        landmark.visibility = share(random);
        landmark.refined = share(random) > 0.5F;
      }
    }
    if (i % 3 == 0) {
      frame.disc = kinematics::DiscObservation{
          {pixel(random), pixel(random)}, 31.1F, 30.9F, -0.3F, share(random), share(random), 0.7F};
    }
    kept.clip.frames.push_back(std::move(frame));
  }
  return kept;
}

TEST(ObservationJson, GivesBackEveryBit) {
  const KeptObservation kept = an_observation();
  const auto again = read_observation_json(write_observation_json(kept), "points.json");
  ASSERT_TRUE(again) << again.error();
  EXPECT_EQ(again->clip.nominal_rate, kept.clip.nominal_rate);
  EXPECT_EQ(again->film.container, kept.film.container);
  EXPECT_EQ(again->film.duration, kept.film.duration);
  EXPECT_TRUE(again->film.ended_early);
  EXPECT_EQ(again->turn_from_disc_pair->standard_error, kept.turn_from_disc_pair->standard_error);
  ASSERT_EQ(again->clip.frames.size(), kept.clip.frames.size());
  for (std::size_t f = 0; f < kept.clip.frames.size(); ++f) {
    const auto& a = kept.clip.frames[f];
    const auto& b = again->clip.frames[f];
    EXPECT_EQ(a.index, b.index);
    EXPECT_EQ(a.time, b.time);
    ASSERT_EQ(a.body.has_value(), b.body.has_value());
    ASSERT_EQ(a.disc.has_value(), b.disc.has_value());
    if (a.body) {
      EXPECT_EQ(a.body->presence, b.body->presence);
      for (std::size_t i = 0; i < a.body->landmarks.size(); ++i) {
        EXPECT_EQ(a.body->landmarks[i].position_px, b.body->landmarks[i].position_px);
        EXPECT_EQ(a.body->landmarks[i].regressed_px, b.body->landmarks[i].regressed_px);
        EXPECT_EQ(a.body->landmarks[i].depth_px, b.body->landmarks[i].depth_px);
        EXPECT_EQ(a.body->landmarks[i].confidence, b.body->landmarks[i].confidence);
        EXPECT_EQ(a.body->landmarks[i].visibility, b.body->landmarks[i].visibility);
        EXPECT_EQ(a.body->landmarks[i].refined, b.body->landmarks[i].refined);
      }
    }
    if (a.disc) {
      EXPECT_EQ(a.disc->center_px, b.disc->center_px);
      EXPECT_EQ(a.disc->major_axis_angle, b.disc->major_axis_angle);
      EXPECT_EQ(a.disc->support, b.disc->support);
    }
  }
}

TEST(ObservationJson, FitsItsSchemaAndAnotherReader) {
  const std::string text = write_observation_json(an_observation());
  const auto json = nlohmann::json::parse(text);
  EXPECT_EQ(schema_complaints(read_schema("points.schema.json"), json), "");
  EXPECT_EQ(json.at("frames").size(), 40u);
  EXPECT_EQ(json.at("landmarks").at(25), "left_knee");
  EXPECT_FALSE(json.at("frames").at(3).contains("body"));
}

TEST(ObservationJson, KeepsWhatWasNotSeenAsNull) {
  KeptObservation kept = an_observation();
  kept.clip.frames[0].body->landmarks[4].position_px.x() = std::numeric_limits<float>::quiet_NaN();
  const auto again = read_observation_json(write_observation_json(kept), "points.json");
  ASSERT_TRUE(again) << again.error();
  EXPECT_TRUE(std::isnan(again->clip.frames[0].body->landmarks[4].position_px.x()));
}

TEST(ObservationJson, SaysWhereAFaultIs) {
  const auto field_of = [](auto change) {
    auto json = nlohmann::json::parse(write_observation_json(an_observation()));
    change(json);
    const auto read = read_observation_json(json.dump(), "points.json");
    return read ? std::string("no fault") : read.error().place.field;
  };
  EXPECT_EQ(field_of([](auto& j) { j["frames"][12]["body"][3][0] = "x"; }), "frames[12].body[3]");
  EXPECT_EQ(field_of([](auto& j) { j["frames"][12]["body"].erase(3); }), "frames[12].body");
  EXPECT_EQ(field_of([](auto& j) { j["frames"][2]["frame"] = 0; }), "frames[2].frame");
  EXPECT_EQ(field_of([](auto& j) { j["frames"][2]["colour"] = 1; }), "frames[2].colour");
  EXPECT_EQ(field_of([](auto& j) { j["frames"][0]["disc"]["support"] = 2; }),
            "frames[0].disc.support");
  EXPECT_EQ(field_of([](auto& j) { j["landmarks"][0] = "chin"; }), "landmarks[0]");
  EXPECT_EQ(field_of([](auto& j) { j["schema"] = "lintel-points-2"; }), "schema");
  EXPECT_EQ(field_of([](auto& j) { j.erase("film"); }), "film");
  EXPECT_EQ(field_of([](auto& j) { j["frames"] = 5; }), "frames");
  EXPECT_EQ(field_of([](auto& j) { j["frames"].push_back(7); }), "frames");
  EXPECT_EQ(field_of([](auto&) {}), "no fault");
}

TEST(ObservationJson, RefusesWhatIsNoJson) {
  for (const char* text : {"", "{", "[]", "{\"frames\":[{]}", "\xff\xfe"}) {
    const auto read = read_observation_json(text, "points.json");
    ASSERT_FALSE(read) << text;
    EXPECT_EQ(read.error().place.file, "points.json");
  }
}

TEST(CurvesJson, FitsItsSchemaAndHasOneValueAFrame) {
  const kinematics::Measurement measurement = test_support::demo_measurement({});
  const auto json = nlohmann::json::parse(write_curves_json(measurement));
  EXPECT_EQ(schema_complaints(read_schema("curves.schema.json"), json), "");
  ASSERT_EQ(json.at("time_s").size(), measurement.time.size());
  const auto& trunk = json.at("channels").at("trunk_inclination");
  EXPECT_EQ(trunk.at("unit"), "deg");
  ASSERT_EQ(trunk.at("fitted").size(), measurement.time.size());
  const std::size_t i = measurement.time.size() / 2;
  EXPECT_NEAR(trunk.at("fitted").at(i).get<double>(),
              measurement[kinematics::Channel::TrunkInclination].fitted[i] * kDegreesPerRadian,
              1e-4);
}

}  // namespace
}  // namespace lintel::formats
