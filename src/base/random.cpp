#include "base/random.h"

#include <cmath>
#include <numbers>

namespace lintel {
namespace {

std::uint64_t mix(std::uint64_t z) {
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

}  // namespace

Random::Random(std::uint64_t seed, std::uint64_t stream)
    : state_(mix(seed + 0x9e3779b97f4a7c15ULL) ^ mix(stream * 0xd1b54a32d192ed03ULL + 1)) {}

std::uint64_t Random::next() {
  state_ += 0x9e3779b97f4a7c15ULL;
  return mix(state_);
}

double Random::uniform() {
  return static_cast<double>(next() >> 11) * 0x1.0p-53;
}

double Random::uniform(double low, double high) {
  return low + (high - low) * uniform();
}

double Random::normal() {
  if (has_spare_) {
    has_spare_ = false;
    return spare_;
  }
  const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
  const double angle = 2.0 * std::numbers::pi * uniform();
  spare_ = radius * std::sin(angle);
  has_spare_ = true;
  return radius * std::cos(angle);
}

double Random::normal(double mean, double standard_deviation) {
  return mean + standard_deviation * normal();
}

}  // namespace lintel
