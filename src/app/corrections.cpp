#include "app/corrections.h"

namespace lintel::app {

Result<Observation> corrected(const Observation& kept, const kinematics::Corrections& corrections) {
  Observation moved = kept;
  moved.clip = LINTEL_TRY(kinematics::with_moved_points(kept.clip, corrections.points));
  return moved;
}

}  // namespace lintel::app
