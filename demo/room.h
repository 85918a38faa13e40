// The training room of the invented club: floor, platform, walls. Closed-form, drawn once a clip.
#pragma once

#include <vector>

#include "demo/camera.h"
#include "demo/vec.h"

namespace lintel::demo {

struct RoomSpec {
  Color wall_low = srgb(92, 112, 122);
  Color wall_high = srgb(206, 208, 200);
  Color band = srgb(214, 160, 84);
  Color floor = srgb(74, 78, 84);
  Color platform = srgb(176, 132, 88);
};

// Linear light of the empty room in each pixel, row by row.
std::vector<Color> render_room(const RoomSpec& spec, const Camera& camera);

}  // namespace lintel::demo
