// Statics in cases that can be done by hand.
#include "posture/statics.h"

#include <gtest/gtest.h>

#include "body/anthropometry.h"
#include "posture/posture.h"
#include "support/posture_population.h"

namespace lintel::posture {
namespace {

Model ordinary(double bar_mass, body::BarPosition position = body::BarPosition::Overhead) {
  const auto lengths = body::estimate_segments(body::Sex::Male, 1.75).value();
  body::Setup setup;
  setup.bar_mass = bar_mass;
  setup.bar_position = position;
  return Model::create(make_body_parameters(body::Sex::Male, 1.75, 80.0, lengths), setup,
                       reference_limits(lengths[body::Segment::Foot].value))
      .value();
}

TEST(Statics, AVerticalStackHasNoShoulderMoment) {
  const Posture p = evaluate_posture(ordinary(100.0), {0.5, 0.0, 0.0, 0.4, 0.0, 0.1, 0.0});
  EXPECT_NEAR(p.moments.shoulder.norm(), 0.0, 1e-12);
  EXPECT_NEAR(p.bar_ahead_of_shoulder, 0.0, 1e-12);
  // Trunk and arm in one line: elevation is exactly a straight line overhead.
  const Posture straight = evaluate_posture(ordinary(100.0), {0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0});
  EXPECT_NEAR(straight.shoulder_elevation, std::numbers::pi, 1e-12);
  EXPECT_NEAR(straight.moments.low_back.norm(), 0.0, 1e-12);
}

TEST(Statics, AMasslessBarIsBodyOnlyBalance) {
  const Coordinates x = {0.6, 0.0, 0.02, 0.5, 0.1, 0.2, 0.05};
  const Posture none = evaluate_posture(ordinary(0.0), x);
  const Posture little = evaluate_posture(ordinary(1e-9), x);
  EXPECT_NEAR(none.ground_force, 80.0 * kGravity, 1e-9);
  EXPECT_NEAR(none.center_of_pressure, little.center_of_pressure, 1e-9);
  // Centre of mass of the parts, weighed by hand from de Leva's fractions for the trunk and legs.
  EXPECT_NEAR(none.p_WCenterOfMass.x(), none.p_WCenterOfPressure.x(), 1e-12);
}

TEST(Statics, KneeAndHipShareTheThighsLever) {
  // The identity of the value list, 5.5: knee + hip extension = (weight above the knee, the thigh
  // counted with what the hip end carries) times the thigh's horizontal length, whatever the trunk.
  const Model model = ordinary(80.0, body::BarPosition::Back);
  const auto part = [&](body::Part q) { return model.body().parts[static_cast<std::size_t>(q)]; };
  for (const double tilt : {0.1, 0.4, 0.8}) {
    const Posture p = evaluate_posture(model, {0.5, 0.0, 0.0, tilt, 0.1, 0.0, 0.0});
    const double g = 80.0 * kGravity;
    const double above =
        0.5 * p.ground_force -
        g * (part(body::Part::Foot).mass_fraction + part(body::Part::Shank).mass_fraction +
             part(body::Part::Thigh).mass_fraction * part(body::Part::Thigh).center_of_mass);
    const double lever = p.p_WKnee.x() - p.p_WHip.x();
    EXPECT_NEAR(p.moments.knee_extension + p.moments.hip_extension, above * lever, 1e-9);
  }
}

TEST(Statics, TheSurfaceTakesItsShare) {
  Model model = ordinary(20.0);
  body::Setup setup = model.setup();
  setup.surface_height = 0.40;
  setup.seat_share = 0.5;
  const Model seated = Model::create(model.body(), setup, model.limits()).value();
  const Posture p = evaluate_posture(seated, {0.3, 0.0, 0.0, 0.3, 0.0, 0.0, 0.0});
  const double weight = 100.0 * kGravity * (80.0 * 1.0000 + 20.0) / 100.0;
  EXPECT_NEAR(p.ground_force + p.seat_force, weight, 1e-3 * weight);
  EXPECT_NEAR(p.seat_force, p.ground_force, 1e-9);
  EXPECT_NEAR(p.hip_height, 0.40 + 0.09, 1e-12);
  // Moments about any point vanish: ground at the centre of pressure and seat under the hips.
  const double about_origin = p.p_WCenterOfMass.x() * (p.ground_force + p.seat_force) -
                              p.p_WCenterOfPressure.x() * p.ground_force -
                              p.p_WHip.x() * p.seat_force;
  EXPECT_NEAR(about_origin, 0.0, 1e-9);
  // Half the weight on the surface lowers the demand on the knees.
  setup.seat_share = 0.0;
  const Model standing = Model::create(model.body(), setup, model.limits()).value();
  const Posture q = evaluate_posture(standing, {0.3, 0.0, 0.0, 0.3, 0.0, 0.0, 0.0});
  EXPECT_NE(p.moments.knee_extension, q.moments.knee_extension);
}

TEST(Statics, ScaleWithSize) {
  // Twice the lengths at the same masses: same angles, twice the moments, twice the offsets.
  const test::PostureCase c = test::random_posture_case(21, 3);
  body::Setup setup;
  setup.bar_position = body::BarPosition::Overhead;
  body::SegmentLengths half = c.body.lengths;
  for (Estimate& length : half.length) length.value *= 0.75;
  const BodyParameters large = c.body;
  BodyParameters small =
      make_body_parameters(c.body.sex, 0.75 * c.body.stature, c.body.body_mass, half);
  setup.stance_width = 0.40;
  setup.grip_width = 1.0;
  body::Setup small_setup = setup;
  small_setup.stance_width = 0.30;
  // The hand's half breadth (4.2 cm) does not scale.
  small_setup.grip_width = 0.75 * (1.0 + 0.084) - 0.084;
  const Coordinates x = {0.5, 0.02, 0.1, 0.4, 0.1, 0.1, 0.03};
  const Posture a = evaluate_posture(Model::create(large, setup, c.limits).value(), x);
  const Posture b = evaluate_posture(Model::create(small, small_setup, c.limits).value(), x);
  EXPECT_NEAR(0.75 * a.p_WCenterOfMass.x(), b.p_WCenterOfMass.x(), 1e-12);
  EXPECT_NEAR(0.75 * a.moments.knee_extension, b.moments.knee_extension, 1e-9);
  EXPECT_NEAR(0.75 * a.moments.low_back_extension, b.moments.low_back_extension, 1e-9);
  EXPECT_NEAR(a.trunk_inclination, b.trunk_inclination, 1e-12);
  EXPECT_NEAR(a.hip_external_rotation, b.hip_external_rotation, 1e-12);
}

}  // namespace
}  // namespace lintel::posture
