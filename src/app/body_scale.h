// What the body says about where the bar is: its size in the picture, shoulders, hips and wrists.
#pragma once

#include "bar/disc_tracker.h"
#include "kinematics/observation.h"

namespace lintel::app {

// Body size in the picture from the chain ankle - knee - hip - shoulder, which bending does not
// shorten when seen from the side; running maximum of both sides, slowly forgetting.
class BodyScale {
 public:
  explicit BodyScale(double stature);  // [m]
  void update(const kinematics::BodyObservation& body);
  double pixels_per_metre() const { return chain_px_ / chain_length_; }

 private:
  double chain_length_;
  double chain_px_ = 0;
};

bar::DiscHint disc_hint(const kinematics::BodyObservation& body, const BodyScale& scale,
                        double disc_diameter);

}  // namespace lintel::app
