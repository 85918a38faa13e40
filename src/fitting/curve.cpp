#include "fitting/curve.h"

#include <algorithm>
#include <cmath>

namespace lintel::fitting {

KnotGrid KnotGrid::covering(double start, double end, double spacing) {
  const int spans = std::max(1, static_cast<int>(std::ceil((end - start) / spacing - 1e-9)));
  return KnotGrid{start, spacing, spans + 3};
}

KnotGrid::Weights KnotGrid::weights(double time) const {
  const int spans = control_points - 3;
  const double x = std::clamp((time - origin) / spacing, 0.0, static_cast<double>(spans));
  const int span = std::min(static_cast<int>(x), spans - 1);
  const double u = x - span;
  const double v = 1.0 - u;
  Weights w;
  w.first = span;
  w.value = {v * v * v / 6.0, (3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0,
             (3.0 * v * v * v - 6.0 * v * v + 4.0) / 6.0, u * u * u / 6.0};
  w.rate = {-0.5 * v * v, 1.5 * u * u - 2.0 * u, -1.5 * v * v + 2.0 * v, 0.5 * u * u};
  for (double& rate : w.rate) rate /= spacing;
  return w;
}

}  // namespace lintel::fitting
