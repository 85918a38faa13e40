// The ankle test against the wall: distance to angle and back by the athlete's own foot and shank.
#pragma once

#include "base/units.h"
#include "body/segments.h"

namespace lintel::body {

// sin(angle) = (ankle_to_toe + distance - knee_front) / shank, with ankle_to_toe = Foot -
// HeelToAnkle and knee_front from the kneecap that touches to the knee centre
// (data/mobility/limits.csv; without it the angles come out 8 to 10 degrees above the measured
// pairs). Heel down, foot square to the wall. First-order error propagation over all five. distance
// [m], result [rad]. Errors: Invalid if the wall is out of the shank's reach.
Result<Estimate> dorsiflexion_from_knee_to_wall(const Estimate& distance,
                                                const SegmentLengths& lengths);

// The distance [m] at which the knee touches for a given dorsiflexion [rad].
Estimate knee_to_wall_from_dorsiflexion(const Estimate& dorsiflexion,
                                        const SegmentLengths& lengths);

// Pitch of a foot whose heel stands on a wedge: asin(height / lever), lever = heel to metatarsal
// heads. heel_elevation [m], foot_length [m], result [rad]; 0 <= heel_elevation < lever.
double heel_pitch(double heel_elevation, double foot_length);

}  // namespace lintel::body
