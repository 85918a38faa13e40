// Protocols and drills of a workplace's own for tests: built-in ones under another id.
#pragma once

#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

namespace lintel::test {

inline nlohmann::json data_file(const std::string& name) {
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/data/" + name);
  if (!file) throw std::runtime_error("no file data/" + name);
  return nlohmann::json::parse(file);
}

// The angle of the shin in the lunge, as the quay measures it: fills the model's ankle.
inline nlohmann::json own_protocol(const std::string& id = "quay_ankle") {
  nlohmann::json protocol = data_file("protocols/knee-to-wall-angle.json");
  protocol["id"] = id;
  protocol["name"] = "Ankle on the quay";
  return protocol;
}

// Needs nothing, takes four minutes, gains more than any built-in drill of the ankle.
inline nlohmann::json own_drill(const std::string& id = "quay-calf") {
  nlohmann::json drill = data_file("drills/calf-rolling.json");
  drill["id"] = id;
  drill["name"] = "Calf on the bollard";
  drill["equipment"] = nlohmann::json::array();
  drill["targets"][0]["gain_deg_per_week"] = 6;
  drill["targets"][0]["gain_sd_deg_per_week"] = 3;
  return drill;
}

}  // namespace lintel::test
