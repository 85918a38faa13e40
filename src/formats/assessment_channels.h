// Keys and units of the channels in assessment.json. Inside this module.
#pragma once

#include <string>

#include "formats/json_factors.h"
#include "kinematics/measurement.h"

namespace lintel::formats {

struct ChannelUnits {
  std::string key;  // "trunk_inclination_deg"
  double factor = 1;
};

inline ChannelUnits units_of(std::size_t channel) {
  const auto& info = kinematics::channel_info(static_cast<kinematics::Channel>(channel));
  const bool is_angle = info.unit == kinematics::ChannelUnit::Radian;
  return {std::string(info.name) + (is_angle ? "_deg" : "_cm"), is_angle ? kDegrees : kCentimetres};
}

}  // namespace lintel::formats
