#include "formats/c3d_parameters.h"

#include <bit>
#include <cstdlib>

#include "formats/utf8.h"

namespace lintel::formats {
namespace {

constexpr std::size_t kMostRecords = 20'000;

std::string upper(std::string text) {
  for (char& c : text) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  }
  return text;
}

}  // namespace

tl::unexpected<Error> c3d_fault(ErrorCode code, std::size_t byte, std::string message,
                                std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = "byte " + std::to_string(byte);
  return fail(std::move(error));
}

int C3dBytes::word(std::size_t at) const {
  const int first = bytes_[at];
  const int second = bytes_[at + 1];
  return processor_ == C3dProcessor::Mips ? first << 8 | second : second << 8 | first;
}

float C3dBytes::real(std::size_t at) const {
  const auto b = [&](std::size_t i) { return static_cast<std::uint32_t>(bytes_[at + i]); };
  switch (processor_) {
    case C3dProcessor::Mips:
      return std::bit_cast<float>(b(0) << 24 | b(1) << 16 | b(2) << 8 | b(3));
    case C3dProcessor::Dec: {
      // VAX F: 16-bit words swapped; exponent excess 128 and fraction 0.1f against IEEE's excess
      // 127 and 1.f, hence a quarter of what the bits mean in IEEE 754. Exponent 0 is zero.
      const std::uint32_t bits = b(1) << 24 | b(0) << 16 | b(3) << 8 | b(2);
      const std::uint32_t exponent = bits >> 23 & 0xFF;
      if (exponent == 0) return 0.0F;
      // The largest exponents have no room in IEEE 754 before the division.
      if (exponent > 2) return std::bit_cast<float>(bits - (2u << 23));
      return std::bit_cast<float>(bits) / 4.0F;
    }
    case C3dProcessor::Intel:
      break;
  }
  return std::bit_cast<float>(b(3) << 24 | b(2) << 16 | b(1) << 8 | b(0));
}

std::string C3dBytes::text(std::size_t at, std::size_t length) const {
  std::string out;
  for (std::size_t i = at; i < at + length; ++i) {
    const std::uint8_t c = bytes_[i];
    out += c < 0x20 || c == 0x7F ? ' ' : static_cast<char>(c);
  }
  const std::size_t first = out.find_first_not_of(' ');
  if (first == std::string::npos) return {};
  return valid_utf8(out.substr(first, out.find_last_not_of(' ') - first + 1));
}

Result<C3dParameters> C3dParameters::read(const C3dBytes& bytes, std::size_t start,
                                          std::size_t end) {
  C3dParameters out(bytes);
  std::size_t at = start + 4;
  for (std::size_t i = 0; i < kMostRecords; ++i) {
    const std::size_t next = LINTEL_TRY(out.read_record(at, end));
    if (next == 0) return out;
    at = next;
  }
  return c3d_fault(ErrorCode::Limit, at, "more than 20000 parameters", "is this a C3D file?");
}

// Length of the name (negative: locked), id (negative: a group), name, offset of the next record
// from where the offset itself stands (0: the last one).
Result<std::size_t> C3dParameters::read_record(std::size_t at, std::size_t end) {
  const auto leaves = [&](std::size_t where) {
    return c3d_fault(ErrorCode::Invalid, where, "a parameter leaves the parameter section",
                     "export the file again");
  };
  if (at + 2 > end) return leaves(at);
  const auto length = static_cast<std::size_t>(std::abs(bytes_.signed_byte(at)));
  const int id = bytes_.signed_byte(at + 1);
  if (length == 0) return 0;
  const std::size_t offset_at = at + 2 + length;
  if (offset_at + 2 > end) return leaves(at);
  if (id == 0) {
    return c3d_fault(ErrorCode::Invalid, at + 1, "a parameter has the group 0",
                     "export the file again");
  }
  const auto offset = static_cast<std::size_t>(bytes_.word(offset_at));
  const std::size_t next = offset == 0 ? end : offset_at + offset;
  if (offset == 1 || next > end) return leaves(offset_at);
  std::string name = upper(bytes_.text(at + 2, length));
  if (id < 0) {
    groups_.emplace(std::move(name), -id);
  } else {
    LINTEL_TRY_VOID(read_parameter(id, std::move(name), offset_at + 2, next));
  }
  return offset == 0 ? 0 : next;
}

Result<void> C3dParameters::read_parameter(int group, std::string name, std::size_t at,
                                           std::size_t end) {
  C3dParameter parameter{group, std::move(name), 0, {}, 0, 1};
  const auto leaves = [&] {
    return c3d_fault(ErrorCode::Invalid, at, parameter.name + " is longer than its record",
                     "export the file again");
  };
  if (at + 2 > end) return leaves();
  parameter.type = bytes_.signed_byte(at);
  const auto dimensions = static_cast<std::size_t>(bytes_.byte(at + 1));
  if (parameter.type != -1 && parameter.type != 1 && parameter.type != 2 && parameter.type != 4) {
    return c3d_fault(ErrorCode::Invalid, at,
                     parameter.name + " has the type " + std::to_string(parameter.type) +
                         "; there are -1, 1, 2 and 4",
                     "export the file again");
  }
  if (dimensions > 7 || at + 2 + dimensions > end) return leaves();
  parameter.at = at + 2 + dimensions;
  for (std::size_t i = 0; i < dimensions; ++i) {
    const int size = bytes_.byte(at + 2 + i);
    parameter.dimensions.push_back(size);
    parameter.count *= static_cast<std::size_t>(size);  // 255^7 at most: fits
  }
  const auto width = static_cast<std::size_t>(std::abs(parameter.type));
  if (parameter.count > (end - parameter.at) / width) return leaves();
  parameters_.push_back(std::move(parameter));
  return {};
}

const C3dParameter* C3dParameters::find(std::string_view group, std::string_view name) const {
  const auto id = groups_.find(group);
  if (id == groups_.end()) return nullptr;
  for (const C3dParameter& parameter : parameters_) {
    if (parameter.group == id->second && parameter.name == name) return &parameter;
  }
  return nullptr;
}

std::optional<double> C3dParameters::number(std::string_view group, std::string_view name,
                                            std::size_t element) const {
  const C3dParameter* parameter = find(group, name);
  if (parameter == nullptr || parameter->type == -1 || element >= parameter->count) {
    return std::nullopt;
  }
  const std::size_t at = parameter->at + element * static_cast<std::size_t>(parameter->type);
  if (parameter->type == 4) return bytes_.real(at);
  return parameter->type == 2 ? bytes_.word(at) : bytes_.byte(at);
}

std::vector<std::string> C3dParameters::texts(std::string_view group, std::string_view name) const {
  const C3dParameter* parameter = find(group, name);
  std::vector<std::string> out;
  if (parameter == nullptr || parameter->type != -1 || parameter->count == 0) return out;
  const std::size_t width = parameter->dimensions.empty()
                                ? std::size_t{1}
                                : static_cast<std::size_t>(parameter->dimensions.front());
  for (std::size_t i = 0; i < parameter->count; i += width) {
    out.push_back(bytes_.text(parameter->at + i, width));
  }
  return out;
}

std::string C3dParameters::text(std::string_view group, std::string_view name) const {
  const std::vector<std::string> rows = texts(group, name);
  return rows.empty() ? std::string() : rows.front();
}

}  // namespace lintel::formats
