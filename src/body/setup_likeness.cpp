#include "body/setup_likeness.h"

#include <cmath>

#include "base/units.h"

namespace lintel::body {
namespace {

constexpr double kHeels = 0.005;                   // [m]
constexpr double kStance = 0.03;                   // [m]
constexpr double kToes = 5.0 * kRadiansPerDegree;  // [rad]
constexpr double kGrip = 0.05;                     // [m]
constexpr double kLoad = 10.0;                     // [kg]
constexpr double kSurface = 0.03;                  // [m]
constexpr double kCentimetres = 100.0;             // in a metre
constexpr double kRounding = 1e-9;                 // of numbers read from a file

bool differ(const std::optional<double>& a, const std::optional<double>& b, double room) {
  if (a.has_value() != b.has_value()) return true;
  return a && std::abs(*a - *b) > room + kRounding;
}

std::optional<double> times(const std::optional<double>& value, double factor) {
  if (!value) return {};
  return *value * factor;
}

}  // namespace

std::vector<SetupDifference> setup_differences(const Setup& setup, const Setup& own) {
  std::vector<SetupDifference> out;
  const auto compare = [&](const char* key, const std::optional<double>& value,
                           const std::optional<double>& other, double room, double unit) {
    if (differ(value, other, room))
      out.push_back({key, times(value, unit), times(other, unit), "", ""});
  };
  compare("heel_elevation_cm", setup.heel_elevation, own.heel_elevation, kHeels, kCentimetres);
  compare("stance_width_cm", setup.stance_width, own.stance_width, kStance, kCentimetres);
  compare("toe_out_deg", setup.toe_out, own.toe_out, kToes, kDegreesPerRadian);
  compare("grip_width_cm", setup.grip_width, own.grip_width, kGrip, kCentimetres);
  compare("bar_mass_kg", setup.bar_mass, own.bar_mass, kLoad, 1.0);
  compare("surface_height_cm", setup.surface_height, own.surface_height, kSurface, kCentimetres);
  if (setup.bar_position != own.bar_position) {
    out.push_back({"bar_position",
                   {},
                   {},
                   std::string(bar_position_name(setup.bar_position)),
                   std::string(bar_position_name(own.bar_position))});
  }
  return out;
}

}  // namespace lintel::body
