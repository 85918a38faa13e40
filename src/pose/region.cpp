#include "pose/region.h"

#include <cmath>
#include <numbers>

namespace lintel::pose {

Eigen::Vector2f Region::to_picture(const Eigen::Vector2f& crop_point) const {
  const float c = std::cos(angle) * scale();
  const float s = std::sin(angle) * scale();
  const Eigen::Vector2f d = crop_point.array() - kCropSide * 0.5F;
  return center_px + Eigen::Vector2f(c * d.x() - s * d.y(), s * d.x() + c * d.y());
}

Eigen::Vector2f Region::to_crop(const Eigen::Vector2f& picture_point) const {
  const float c = std::cos(angle) / scale();
  const float s = std::sin(angle) / scale();
  const Eigen::Vector2f d = picture_point - center_px;
  return Eigen::Vector2f(c * d.x() + s * d.y(), -s * d.x() + c * d.y()).array() + kCropSide * 0.5F;
}

bool Region::valid() const {
  return center_px.allFinite() && std::isfinite(angle) && std::isfinite(side_px) && side_px >= 4;
}

Region region_from(const Eigen::Vector2f& center_px, const Eigen::Vector2f& size_point_px) {
  constexpr float kMargin = 1.25F;
  constexpr float kPi = std::numbers::pi_v<float>;
  const Eigen::Vector2f d = size_point_px - center_px;
  Region region;
  region.center_px = center_px;
  region.side_px = 2 * d.norm() * kMargin;
  region.angle = kPi / 2 - std::atan2(-d.y(), d.x());
  if (region.angle > kPi) region.angle -= 2 * kPi;
  if (region.angle <= -kPi) region.angle += 2 * kPi;
  return region;
}

}  // namespace lintel::pose
