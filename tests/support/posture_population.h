// Random athletes, limits and setups over the whole plausible range, for tests and benchmarks.
#pragma once

#include <algorithm>

#include "base/random.h"
#include "base/units.h"
#include "body/anthropometry.h"
#include "body/tables.h"
#include "posture/posture.h"

namespace lintel::test {

struct PostureCase {
  posture::BodyParameters body;
  body::Setup setup;
  posture::Limits limits;
};

inline double clamped(Random& random, double mean, double sd, double low, double high) {
  return std::clamp(random.normal(mean, sd), low, high);
}

// One case of stream `index`; the same on every machine.
inline PostureCase random_posture_case(std::uint64_t seed, std::uint64_t index) {
  using body::Segment;
  Random random(seed, index);
  PostureCase c;
  const auto sex = random.uniform() < 0.5 ? body::Sex::Female : body::Sex::Male;
  const double mean = sex == body::Sex::Male ? 1.756 : 1.629;  // ANSUR II 2012
  const double stature = clamped(random, mean, 0.09, 1.40, 2.10);
  const double mass = random.uniform(19.0, 34.0) * stature * stature;
  auto lengths = body::estimate_segments(sex, stature).value();
  for (auto& length : lengths.length) {
    length.value += std::clamp(random.normal(), -2.5, 2.5) * length.standard_error;
  }
  c.body = posture::make_body_parameters(sex, stature, mass, lengths);
  const double degree = kRadiansPerDegree;
  c.setup.stance_width = random.uniform(0.15, 0.65);
  c.setup.toe_out = random.uniform(0.0, 45.0) * degree;
  c.setup.heel_elevation = random.uniform() < 0.5 ? 0.0 : random.uniform(0.0, 0.05);
  c.setup.bar_mass = random.uniform() < 0.3 ? 20.0 : random.uniform(0.0, 200.0);
  c.setup.depth = random.uniform(-0.15, 0.12);
  c.setup.center_of_pressure_target = random.uniform(-0.02, 0.02);
  const double position = random.uniform();
  c.setup.bar_position = position < 0.70   ? body::BarPosition::Overhead
                         : position < 0.82 ? body::BarPosition::Back
                         : position < 0.94 ? body::BarPosition::Front
                                           : body::BarPosition::None;
  const double shoulders = lengths[Segment::InterShoulder].value;
  const double arm = lengths[Segment::UpperArm].value + lengths[Segment::Forearm].value;
  c.setup.grip_width = shoulders + random.uniform(0.0, 1.2) * arm;
  if (random.uniform() < 0.2) {
    c.setup.surface_height = random.uniform(0.25, 0.55);
    c.setup.seat_share = random.uniform(0.0, 0.8);
  }
  const double foot = lengths[Segment::Foot].value;
  c.limits =
      random.uniform() < 0.5 ? posture::average_limits(foot) : posture::reference_limits(foot);
  using posture::Limit;
  const auto vary = [&](Limit limit, double low, double high) {
    c.limits[limit].edge = random.uniform(low, high) * degree;
  };
  vary(Limit::AnkleDorsiflexion, 20.0, 50.0);
  vary(Limit::KneeFlexion, 125.0, 160.0);
  vary(Limit::HipFlexion, 100.0, 145.0);
  vary(Limit::HipAbduction, 25.0, 60.0);
  vary(Limit::HipExternalRotation, 20.0, 60.0);
  vary(Limit::HipInternalRotation, 20.0, 50.0);
  vary(Limit::LumbarFlexion, 5.0, 45.0);
  vary(Limit::LumbarExtension, 2.0, 20.0);
  vary(Limit::ThoracicExtension, 2.0, 35.0);
  vary(Limit::ShoulderElevation, 150.0, 190.0);
  vary(Limit::LatissimusLength, 155.0, 200.0);
  vary(Limit::ArmTiltForward, 2.0, 10.0);
  vary(Limit::ArmTiltBackward, 2.0, 10.0);
  return c;
}

// The model of case `index`, or of the next one after it that the model accepts.
inline posture::Model random_posture_model(std::uint64_t seed, std::uint64_t index) {
  for (std::uint64_t attempt = 0;; ++attempt) {
    const PostureCase c = random_posture_case(seed, index + attempt * 1000003u);
    auto model = posture::Model::create(c.body, c.setup, c.limits);
    if (model) return std::move(model).value();
  }
}

}  // namespace lintel::test
