#include "body/setup_likeness.h"

#include <gtest/gtest.h>

namespace lintel::body {
namespace {

std::vector<std::string> keys(const body::Setup& setup, const body::Setup& own = {}) {
  std::vector<std::string> out;
  for (const SetupDifference& one : setup_differences(setup, own)) out.push_back(one.key);
  return out;
}
using Keys = std::vector<std::string>;

TEST(SetupLikeness, WhatTheHandVariesIsTheSame) {
  body::Setup setup;
  EXPECT_EQ(keys(setup), Keys{});
  setup.heel_elevation += 0.005;
  setup.stance_width -= 0.03;
  setup.toe_out += 5 * kRadiansPerDegree;
  setup.grip_width += 0.05;
  setup.bar_mass += 10;
  setup.disc_diameter = 0.35;
  EXPECT_EQ(keys(setup), Keys{});
}

TEST(SetupLikeness, EachSettingCountsByItself) {
  const auto with = [](auto change) {
    body::Setup setup;
    change(setup);
    return keys(setup);
  };
  EXPECT_EQ(with([](body::Setup& s) { s.heel_elevation = 0.02; }), Keys{"heel_elevation_cm"});
  EXPECT_EQ(with([](body::Setup& s) { s.stance_width += 0.04; }), Keys{"stance_width_cm"});
  EXPECT_EQ(with([](body::Setup& s) { s.toe_out -= 6 * kRadiansPerDegree; }), Keys{"toe_out_deg"});
  EXPECT_EQ(with([](body::Setup& s) { s.grip_width -= 0.06; }), Keys{"grip_width_cm"});
  EXPECT_EQ(with([](body::Setup& s) { s.bar_mass = 0; }), Keys{"bar_mass_kg"});
  EXPECT_EQ(with([](body::Setup& s) { s.surface_height = 0.4; }), Keys{"surface_height_cm"});
  EXPECT_EQ(with([](body::Setup& s) { s.bar_position = BarPosition::Front; }),
            Keys{"bar_position"});
}

TEST(SetupLikeness, TellsBothValuesInTheUnitOfTheKey) {
  body::Setup setup;
  setup.heel_elevation = 0.025;
  setup.surface_height = 0.4;
  setup.bar_position = BarPosition::Back;
  const auto found = setup_differences(setup, body::Setup{});
  ASSERT_EQ(found.size(), 3u);
  EXPECT_NEAR(*found[0].value, 2.5, 1e-12);
  EXPECT_NEAR(*found[0].own, 0.0, 1e-12);
  EXPECT_NEAR(*found[1].value, 40.0, 1e-12);
  EXPECT_FALSE(found[1].own);
  EXPECT_EQ(found[2].word, "back");
  EXPECT_EQ(found[2].own_word, "overhead");
}

}  // namespace
}  // namespace lintel::body
