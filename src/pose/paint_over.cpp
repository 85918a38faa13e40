#include "pose/paint_over.h"

#include <algorithm>

namespace lintel::pose {
namespace {

constexpr float kHalfWidth = 0.16F;  // of the region's side
constexpr float kHalfHeight = 0.5F;
constexpr std::uint8_t kGrey = 128;

int clamped(float value, int limit) {
  return static_cast<int>(std::clamp(value, 0.0F, static_cast<float>(limit)));
}

void grey_out(Image& picture, float left, float right, float top, float bottom) {
  const int x0 = clamped(left, picture.width());
  const int x1 = clamped(right, picture.width());
  if (x1 <= x0) return;
  const int y1 = clamped(bottom, picture.height());
  for (int y = clamped(top, picture.height()); y < y1; ++y) {
    std::fill(picture.row(y) + 3 * x0, picture.row(y) + 3 * x1, kGrey);
  }
}

}  // namespace

void paint_over(Image& picture, const Region& region, const std::optional<Columns>& kept) {
  const float left = region.center_px.x() - kHalfWidth * region.side_px;
  const float right = region.center_px.x() + kHalfWidth * region.side_px;
  const float top = region.center_px.y() - kHalfHeight * region.side_px;
  const float bottom = region.center_px.y() + kHalfHeight * region.side_px;
  if (!kept) return grey_out(picture, left, right, top, bottom);
  grey_out(picture, left, std::min(right, kept->left), top, bottom);
  grey_out(picture, std::max(left, kept->right), right, top, bottom);
}

}  // namespace lintel::pose
