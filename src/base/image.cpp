#include "base/image.h"

#include "base/result.h"

namespace lintel {

Image::Image(int width, int height) : width_(width), height_(height) {
  LINTEL_CHECK(width >= 0 && height >= 0);
  data_.assign(static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * 3, 0);
}

}  // namespace lintel
