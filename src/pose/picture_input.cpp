#include "pose/picture_input.h"

#include <array>
#include <cstdint>

namespace lintel::pose {

cv::Mat view_of(const Image& picture) {
  // OpenCV has no read-only matrix; nothing in this module writes through it.
  return {picture.height(), picture.width(), CV_8UC3, const_cast<std::uint8_t*>(picture.row(0)),
          picture.stride()};
}

void fill_planes(const cv::Mat& bgr, float factor, float shift, cv::Mat& planes) {
  std::array<float, 256> table;
  for (std::size_t i = 0; i < table.size(); ++i) {
    table[i] = static_cast<float>(i) * factor + shift;
  }
  const auto plane = static_cast<std::ptrdiff_t>(bgr.total());
  float* red = planes.ptr<float>();
  for (int y = 0; y < bgr.rows; ++y) {
    const std::uint8_t* pixel = bgr.ptr<std::uint8_t>(y);
    for (int x = 0; x < bgr.cols; ++x, pixel += 3, ++red) {
      red[0] = table[pixel[2]];
      red[plane] = table[pixel[1]];
      red[2 * plane] = table[pixel[0]];
    }
  }
}

cv::Mat make_planes(int side) {
  const std::array<int, 4> shape = {1, 3, side, side};
  return {4, shape.data(), CV_32F, cv::Scalar(0)};
}

}  // namespace lintel::pose
