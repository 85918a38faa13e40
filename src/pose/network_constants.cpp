#include "pose/network_constants.h"

#include <bit>
#include <cstring>
#include <utility>

namespace lintel::pose {

float half_to_float(std::uint16_t half) {
  const std::uint32_t sign = static_cast<std::uint32_t>(half & 0x8000U) << 16;
  const std::uint32_t exponent = (half >> 10) & 0x1FU;
  const std::uint32_t mantissa = half & 0x3FFU;
  if (exponent == 0) {  // zero and subnormal: mantissa * 2^-24
    const float magnitude = static_cast<float>(mantissa) * 0x1p-24F;
    return sign != 0 ? -magnitude : magnitude;
  }
  if (exponent == 31) return std::bit_cast<float>(sign | 0x7F800000U | (mantissa << 13));
  return std::bit_cast<float>(sign | ((exponent + 112) << 23) | (mantissa << 13));
}

// Bounds what a small hostile file can unpack to.
Result<void> Constants::spend(std::size_t elements) {
  constexpr std::size_t kMaxUnpacked = std::size_t{1} << 27;
  spent_ += elements;
  if (spent_ > kMaxUnpacked) {
    return fail(ErrorCode::Limit, "the network's weights unpack to more than 512 MiB");
  }
  return {};
}

Result<std::vector<float>> Constants::read_floats(const TfliteTensor& source) {
  const std::size_t count = source.data.size() / element_size(source.type);
  LINTEL_TRY_VOID(spend(count));
  std::vector<float> values(count);
  if (source.type == ElementType::Float32) {
    std::memcpy(values.data(), source.data.data(), count * 4);
  } else if (source.type == ElementType::Float16) {
    for (std::size_t i = 0; i < count; ++i) {
      std::uint16_t half = 0;
      std::memcpy(&half, source.data.data() + 2 * i, 2);
      values[i] = half_to_float(half);
    }
  } else {
    return fail(ErrorCode::Unsupported, "a weight is neither 32-bit nor 16-bit floating point");
  }
  return values;
}

bool Constants::contains(int index) const {
  return index >= 0 && (tensor(index).constant() || folded_.contains(index));
}

Result<std::vector<float>> Constants::floats(int index) {
  if (index < 0) return fail(ErrorCode::Invalid, "an operator lacks an input");
  if (const auto found = folded_.find(index); found != folded_.end()) {
    LINTEL_TRY_VOID(spend(found->second.size()));
    return found->second;
  }
  if (!tensor(index).constant() || tensor(index).sparse) {
    return fail(ErrorCode::Unsupported, "a weight of the network is not a constant");
  }
  return read_floats(tensor(index));
}

Result<std::vector<std::int64_t>> Constants::integers(int index) const {
  if (index < 0 || !tensor(index).constant() || tensor(index).type != ElementType::Int32) {
    return fail(ErrorCode::Unsupported, "an option of the network is not an integer constant");
  }
  std::vector<std::int64_t> values(tensor(index).data.size() / 4);
  for (std::size_t i = 0; i < values.size(); ++i) {
    std::int32_t value = 0;
    std::memcpy(&value, tensor(index).data.data() + 4 * i, 4);
    values[i] = value;
  }
  return values;
}

Result<void> Constants::fold(const TfliteOperator& entry) {
  const int input = entry.inputs.front();
  const int output = entry.outputs.front();
  if (input < 0 || tensor(input).shape != tensor(output).shape) {
    return fail(ErrorCode::Invalid, "an unpacked weight changes its shape");
  }
  if (!tensor(input).constant() || !tensor(input).sparse) {
    folded_[output] = LINTEL_TRY(floats(input));
    return {};
  }
  if (entry.code != OperatorCode::Densify) {
    return fail(ErrorCode::Unsupported, "a sparse weight is used without being unpacked");
  }
  const std::vector<float> packed = LINTEL_TRY(read_floats(tensor(input)));
  const SparseRows& rows = *tensor(input).sparse;
  const auto width = static_cast<std::size_t>(tensor(input).shape[3]);
  LINTEL_TRY_VOID(spend(tensor(input).element_count()));
  std::vector<float> dense(tensor(input).element_count(), 0.0F);
  for (std::size_t r = 0; r + 1 < rows.segments.size(); ++r) {
    for (auto k = static_cast<std::size_t>(rows.segments[r]);
         k < static_cast<std::size_t>(rows.segments[r + 1]); ++k) {
      dense[r * width + static_cast<std::size_t>(rows.indices[k])] = packed[k];
    }
  }
  folded_[output] = std::move(dense);
  return {};
}

}  // namespace lintel::pose
