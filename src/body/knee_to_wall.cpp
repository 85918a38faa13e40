#include "body/knee_to_wall.h"

#include <cmath>

#include "body/tables.h"

namespace lintel::body {

Result<Estimate> dorsiflexion_from_knee_to_wall(const Estimate& distance,
                                                const SegmentLengths& lengths) {
  const Estimate& shank = lengths[Segment::Shank];
  const Estimate& foot = lengths[Segment::Foot];
  const Estimate& heel = lengths[Segment::HeelToAnkle];
  const Number& knee = limit_table()["knee_to_wall.knee_front"];
  const double reach = foot.value - heel.value + distance.value - knee.value;
  const double sine = reach / shank.value;
  if (!(sine > 0.0 && sine < 0.95)) {
    Error error{ErrorCode::Invalid,
                "a knee-to-wall distance that this shank cannot reach",
                {},
                "check the distance, the foot length and the shank length",
                {}};
    error.place.field = "tests.knee_to_wall";
    return fail(std::move(error));
  }
  const double slope = 1.0 / (shank.value * std::sqrt(1.0 - sine * sine));
  const double variance =
      slope * slope *
      (distance.standard_error * distance.standard_error +
       foot.standard_error * foot.standard_error + heel.standard_error * heel.standard_error +
       knee.standard_deviation * knee.standard_deviation +
       sine * sine * shank.standard_error * shank.standard_error);
  return Estimate{std::asin(sine), std::sqrt(variance)};
}

Estimate knee_to_wall_from_dorsiflexion(const Estimate& dorsiflexion,
                                        const SegmentLengths& lengths) {
  const Estimate& shank = lengths[Segment::Shank];
  const Estimate& foot = lengths[Segment::Foot];
  const Estimate& heel = lengths[Segment::HeelToAnkle];
  const Number& knee = limit_table()["knee_to_wall.knee_front"];
  const double sine = std::sin(dorsiflexion.value);
  const double by_angle = shank.value * std::cos(dorsiflexion.value) * dorsiflexion.standard_error;
  const double by_shank = sine * shank.standard_error;
  return Estimate{shank.value * sine - foot.value + heel.value + knee.value,
                  std::sqrt(by_angle * by_angle + by_shank * by_shank +
                            foot.standard_error * foot.standard_error +
                            heel.standard_error * heel.standard_error +
                            knee.standard_deviation * knee.standard_deviation)};
}

double heel_pitch(double heel_elevation, double foot_length) {
  const double lever = segment_length_table().value("ball_lever.of_foot") * foot_length;
  return std::asin(heel_elevation / lever);
}

}  // namespace lintel::body
