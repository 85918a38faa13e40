// Draws one frame: sphere-traced figure, closed-form bar and discs, over the drawn room.
#pragma once

#include <vector>

#include "base/image.h"
#include "demo/camera.h"
#include "demo/figure.h"

namespace lintel::demo {

struct Light {
  float gain = 1.0F;      // exposure
  float ambient = 0.42F;  // share of light from everywhere
  Color tint{1, 1, 1};
  float noise = 1.6F;  // sensor noise, standard deviation in 8-bit steps
};

struct Scene {
  Field field;
  std::vector<Cylinder> cylinders;
  std::vector<FloorShade> shades;
};

// `room` is the picture of render_room for the same camera. The same arguments give the same bytes.
Image render_frame(const Scene& scene, const Camera& camera, const std::vector<Color>& room,
                   const Light& light, std::uint64_t noise_seed);

}  // namespace lintel::demo
