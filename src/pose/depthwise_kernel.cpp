// The arithmetic of depthwise_layer.h. Compiled with more optimisation than the rest (see
// CMakeLists.txt) and, where the compiler can, for several processors at once.
#include <algorithm>
#include <cstddef>
#include <cstring>

#include "pose/depthwise_layer.h"

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_THREAD__) && !defined(__SANITIZE_ADDRESS__)
#define LINTEL_CLONES \
  __attribute__((target_clones("arch=skylake-avx512", "arch=haswell", "default")))
#else
#define LINTEL_CLONES
#endif

namespace lintel::pose {
namespace {

// A padded row: with stride 1 as it is, with stride 2 its even columns, then its odd ones, so that
// neighbouring results read neighbouring floats.
struct RowLayout {
  std::size_t half;   // floats of one part
  std::size_t total;  // floats of a row
};

RowLayout row_layout(const DepthwisePlane& plane) {
  const auto width = static_cast<std::size_t>(plane.width + plane.pads[1] + plane.pads[3] + 1);
  const std::size_t half = plane.stride == 2 ? (width + 1) / 2 : width;
  return {half, plane.stride == 2 ? 2 * half : half};
}

void fill_scratch(const DepthwisePlane& plane, const RowLayout& layout, const float* input,
                  float* scratch) {
  const auto rows = static_cast<std::size_t>(plane.height + plane.pads[0] + plane.pads[2]);
  std::fill_n(scratch, rows * layout.total, 0.0F);
  const auto left = static_cast<std::size_t>(plane.pads[1]);
  const auto width = static_cast<std::size_t>(plane.width);
  for (int y = 0; y < plane.height; ++y) {
    float* row = scratch + static_cast<std::size_t>(y + plane.pads[0]) * layout.total;
    const float* in = input + static_cast<std::size_t>(y) * width;
    if (plane.stride == 1) {
      std::memcpy(row + left, in, width * sizeof(float));
    } else {
      for (std::size_t x = 0; x < width; ++x) {
        const std::size_t column = x + left;
        row[(column % 2) * layout.half + column / 2] = in[x];
      }
    }
  }
}

// One row of results; the loop over x is what the compiler turns into vector instructions.
template <int K, int S>
[[gnu::always_inline]] inline void convolve_row(const float* __restrict rows, std::size_t total,
                                                std::size_t half, const float* __restrict weights,
                                                float bias, float low, float high,
                                                std::size_t width, float* __restrict out) {
  for (std::size_t x = 0; x < width; ++x) {
    float sum = bias;
    for (int ky = 0; ky < K; ++ky) {
      const float* row = rows + static_cast<std::size_t>(ky) * total + x;
      for (int kx = 0; kx < K; ++kx) {
        const auto at =
            S == 1 ? static_cast<std::size_t>(kx)
                   : static_cast<std::size_t>(kx % 2) * half + static_cast<std::size_t>(kx / 2);
        sum += weights[ky * K + kx] * row[at];
      }
    }
    sum = sum < low ? low : sum;
    out[x] = sum > high ? high : sum;
  }
}

template <int K, int S>
[[gnu::always_inline]] inline void convolve(const DepthwisePlane& plane, const RowLayout& layout,
                                            const float* scratch, const float* weights, float bias,
                                            float* output) {
  const float huge = 3.4e38F;
  const float low = plane.limit < 0 ? -huge : 0.0F;
  const float high = plane.limit < 0 ? huge : plane.limit;
  const auto width = static_cast<std::size_t>(plane.out_width());
  for (int y = 0; y < plane.out_height(); ++y) {
    convolve_row<K, S>(scratch + static_cast<std::size_t>(y * S) * layout.total, layout.total,
                       layout.half, weights, bias, low, high, width,
                       output + static_cast<std::size_t>(y) * width);
  }
}

LINTEL_CLONES void convolve_any(const DepthwisePlane& plane, const RowLayout& layout,
                                const float* scratch, const float* weights, float bias,
                                float* output) {
  if (plane.filter == 3 && plane.stride == 1) {
    convolve<3, 1>(plane, layout, scratch, weights, bias, output);
  } else if (plane.filter == 3) {
    convolve<3, 2>(plane, layout, scratch, weights, bias, output);
  } else if (plane.stride == 1) {
    convolve<5, 1>(plane, layout, scratch, weights, bias, output);
  } else {
    convolve<5, 2>(plane, layout, scratch, weights, bias, output);
  }
}

}  // namespace

std::size_t depthwise_scratch(const DepthwisePlane& plane) {
  return static_cast<std::size_t>(plane.height + plane.pads[0] + plane.pads[2]) *
         row_layout(plane).total;
}

void depthwise_channel(const DepthwisePlane& plane, const float* input, const float* weights,
                       float bias, float* scratch, float* output) {
  const RowLayout layout = row_layout(plane);
  fill_scratch(plane, layout, input, scratch);
  convolve_any(plane, layout, scratch, weights, bias, output);
}

}  // namespace lintel::pose
