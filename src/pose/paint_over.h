// Hides other people from a network that answers for one.
#pragma once

#include <optional>

#include "base/image.h"
#include "pose/region.h"

namespace lintel::pose {

// Columns of the picture [px], from left to right.
struct Columns {
  float left = 0;
  float right = 0;
};

// Greys out an upright strip about a person, a little wider than a body with its arms down, but
// nothing of the columns that are kept (where the athlete is).
void paint_over(Image& picture, const Region& region, const std::optional<Columns>& kept);

}  // namespace lintel::pose
