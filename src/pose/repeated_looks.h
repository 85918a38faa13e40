// One picture looked at several times over, for photos: no neighbouring frame evens the network's
// errors out there.
#pragma once

#include "base/image.h"
#include "base/result.h"
#include "pose/body_tracker.h"

namespace lintel::pose {

// Looks at the region twice, until it settles on the body, then through regions that are a little
// shifted, turned and sized, and through the mirror images of these. Each landmark lies at the
// median of the looks; where the looks differ by 0.5 % of the region's side (12 mm of an adult) its
// confidence is half. `first` is what one look has found already. Looks that do not see the body
// are left out; with fewer than half of them `first` is given back. Errors: those of the networks.
Result<LandmarkResult> look_repeatedly(const PoseSource& source, const Image& picture,
                                       const LandmarkResult& first);

}  // namespace lintel::pose
