// A posture of the model as a figure to draw.
#pragma once

#include "posture/posture.h"
#include "view/figure.h"

namespace lintel::app {

// disc_diameter [m], 0 = no disc (bar not in the hands).
view::Figure figure_of(const posture::Posture& posture, double disc_diameter);

}  // namespace lintel::app
