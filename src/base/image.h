// A plain 8-bit colour picture: what decoders produce, networks read and reports draw on.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace lintel {

// Row-major, 3 bytes a pixel in the order blue, green, red (what OpenCV computes on), no padding
// between rows. Pixel (0, 0) is top left; the centre of pixel (i, j) is at (i + 0.5, j + 0.5) px.
class Image {
 public:
  Image() = default;
  Image(int width, int height);  // black

  int width() const { return width_; }
  int height() const { return height_; }
  bool empty() const { return width_ == 0 || height_ == 0; }
  std::size_t stride() const { return static_cast<std::size_t>(width_) * 3; }
  std::uint8_t* row(int y) { return data_.data() + static_cast<std::size_t>(y) * stride(); }
  const std::uint8_t* row(int y) const {
    return data_.data() + static_cast<std::size_t>(y) * stride();
  }
  std::uint8_t* pixel(int x, int y) { return row(y) + static_cast<std::size_t>(x) * 3; }
  const std::uint8_t* pixel(int x, int y) const { return row(y) + static_cast<std::size_t>(x) * 3; }
  std::span<std::uint8_t> bytes() { return data_; }
  std::span<const std::uint8_t> bytes() const { return data_; }

 private:
  int width_ = 0;
  int height_ = 0;
  std::vector<std::uint8_t> data_;
};

}  // namespace lintel
