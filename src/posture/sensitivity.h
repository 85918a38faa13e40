// How the sensitivities are computed; the face is in posture.h.
//
// At a solution the stationarity of the Lagrangian and the active hard stops hold:
//   r(x, y, t) = grad_x L(x, y, t) = 0,   c_A(x, t) = 0.
// The implicit function theorem gives dx/dt from
//   [ H   A' ] [dx/dt]     [ dr/dt   ]
//   [ A   0  ] [dy/dt] = - [ dc_A/dt ]
// with dr/dt and dc/dt exact: the problem is evaluated once more with Jet scalars (Fiacco 1983).
#pragma once

#include "posture/posture.h"

namespace lintel::posture {

// Parameters: edges of the limits, then levers, then segment lengths.
inline constexpr int kParameterCount = kLimitCount + kLeverCount + body::kSegmentCount;

}  // namespace lintel::posture
