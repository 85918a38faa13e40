// Moments and centre of pressure against the 60 constructed cases of
// shared data inverse-dynamics/static-squat.csv (solved there from above, below and by virtual
// work).
#include <cmath>
#include <iostream>

#include <gtest/gtest.h>

#include "body/anthropometry.h"
#include "body/tables.h"
#include "posture/posture.h"
#include "support/csv_rows.h"

namespace lintel::posture {
namespace {

using body::Part;
using body::Segment;

// The body of the data's own model: Winter's fractions, head, arms and trunk in one piece.
BodyParameters winter_body(std::map<std::string, double>& row) {
  BodyParameters b =
      make_body_parameters(body::Sex::Male, row["stature_m"], row["body_mass_kg"],
                           body::estimate_segments(body::Sex::Male, row["stature_m"]).value());
  const auto length = [&b](Segment s) -> double& { return b.lengths[s].value; };
  length(Segment::Shank) = row["shank_m"];
  length(Segment::Thigh) = row["thigh_m"];
  length(Segment::Trunk) = row["trunk_m"];
  length(Segment::Foot) = row["foot_m"];
  length(Segment::AnkleHeight) = row["ankle_height_m"];
  // The arm as one straight rod to the bar.
  length(Segment::UpperArm) = std::hypot(row["bar_dx_m"], row["bar_dz_m"]) - 2e-12;
  length(Segment::Forearm) = 1e-12;
  length(Segment::Grip) = 1e-12;
  b.parts = {};
  b.parts[static_cast<std::size_t>(Part::Foot)] = {
      0.0145, 0.25 + length(Segment::HeelToAnkle) / row["foot_m"], 0.0};
  b.parts[static_cast<std::size_t>(Part::Shank)] = {0.0465, 0.433, 0.0};
  b.parts[static_cast<std::size_t>(Part::Thigh)] = {0.1, 0.433, 0.0};
  b.parts[static_cast<std::size_t>(Part::Pelvis)] = {0.678, 0.0, 0.0};
  b.trunk = {};
  b.trunk.pelvis_length = 0.2;
  b.trunk.lumbar_length = 0.4;
  b.trunk.thorax_length = 0.4;
  b.trunk.pelvis_center = 0.626;
  return b;
}

TEST(StaticSquat, MomentsAndCenterOfPressureAgree) {
  const std::string path =
      std::string(LINTEL_SHARED_DATA_DIR) + "/inverse-dynamics/static-squat.csv";
  auto rows = test::read_numeric_csv(path);
  if (rows.empty()) GTEST_SKIP() << "SKIPPED, no data at " << path;
  ASSERT_EQ(rows.size(), 60u);
  double worst = 0.0;
  for (auto& row : rows) {
    const BodyParameters b = winter_body(row);
    body::Setup setup;
    setup.stance_width = b.lengths[Segment::InterHip].value;
    setup.toe_out = 0.0;
    setup.bar_mass = row["bar_mass_kg"];
    setup.grip_width = b.lengths[Segment::InterShoulder].value -
                       2.0 * body::limit_table().value("grip.hand_half_breadth") + 1e-12;
    const auto model = Model::create(b, setup, reference_limits(row["foot_m"]));
    ASSERT_TRUE(model) << model.error();
    const double degree = kRadiansPerDegree;
    const Posture p = evaluate_posture(
        *model,
        {row["shank_fwd_deg"] * degree, 0.0, -std::cos(row["thigh_back_deg"] * degree),
         row["trunk_fwd_deg"] * degree, 0.0, 0.0, std::atan2(row["bar_dx_m"], row["bar_dz_m"])});
    const auto check = [&](double ours, double theirs) {
      worst = std::max(worst, std::abs(ours - theirs) / std::max(1.0, std::abs(theirs)));
      EXPECT_NEAR(ours, theirs, 1e-7 * std::max(1.0, std::abs(theirs))) << "case " << row["case"];
    };
    check(p.p_WKnee.x(), row["knee_x_m"]);
    check(p.p_WKnee.y(), row["knee_z_m"]);
    check(p.p_WHip.x(), row["hip_x_m"]);
    check(p.p_WHip.y(), row["hip_z_m"]);
    check(p.p_WShoulder.x(), row["shoulder_x_m"]);
    check(p.p_WShoulder.y(), row["shoulder_z_m"]);
    check(p.p_WBar.x(), row["bar_x_m"]);
    check(p.p_WBar.y(), row["bar_z_m"]);
    check(p.p_WCenterOfPressure.x(), row["cop_x_m"]);
    check(p.ground_force, row["grf_n"]);
    check(2.0 * p.moments.hip_extension, row["hip_extension_nm"]);
    check(2.0 * p.moments.knee_extension, row["knee_extension_nm"]);
    check(2.0 * p.moments.ankle_plantarflexion, row["ankle_plantarflexion_nm"]);
  }
  std::cout << rows.size() << " cases, largest relative difference " << worst << "\n";
}

}  // namespace
}  // namespace lintel::posture
