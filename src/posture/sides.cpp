#include "posture/posture.h"

namespace lintel::posture {

Result<SideCost> solve_sides(const BodyParameters& body, const body::Setup& setup,
                             const AthleteLimits& limits, const Options& options) {
  SideCost out;
  const Model both = LINTEL_TRY(Model::create(body, setup, limits.limits));
  const Model left = LINTEL_TRY(Model::create(body, setup, limits.side[0]));
  const Model right = LINTEL_TRY(Model::create(body, setup, limits.side[1]));
  out.worse_of_both = solve_most_upright(both, options);
  out.left_on_both = solve_most_upright(left, options, &out.worse_of_both.warm_start);
  out.right_on_both = solve_most_upright(right, options, &out.worse_of_both.warm_start);
  const double worse = out.worse_of_both.posture.trunk_inclination;
  out.cost_of_left = worse - out.right_on_both.posture.trunk_inclination;
  out.cost_of_right = worse - out.left_on_both.posture.trunk_inclination;
  return out;
}

}  // namespace lintel::posture
