// Pictures into network inputs. Inside this module: shows OpenCV.
#pragma once

#include <opencv2/core/mat.hpp>

#include "base/image.h"

namespace lintel::pose {

// The picture's own memory, to be read only.
cv::Mat view_of(const Image& picture);

// Blue-green-red bytes (n x n) to three planes red, green, blue: value * factor + shift. planes: 1
// x 3 x n x n floats.
void fill_planes(const cv::Mat& bgr, float factor, float shift, cv::Mat& planes);

cv::Mat make_planes(int side);  // 1 x 3 x side x side floats

}  // namespace lintel::pose
