// The words of drill and plan files, in the order of the enumerations. Inside this module.
#pragma once

#include <string>
#include <vector>

#include "plan/history.h"
#include "plan/plan.h"

namespace lintel::formats::words {

template <typename Enum, typename Name>
std::vector<std::string> list_words(int count, Name name) {
  std::vector<std::string> words;
  for (int i = 0; i < count; ++i) words.emplace_back(name(static_cast<Enum>(i)));
  return words;
}

inline std::vector<std::string> parts() {
  return list_words<reasoning::Factor>(reasoning::kFactorCount, reasoning::factor_name);
}
inline std::vector<std::string> levers() {
  return list_words<reasoning::Factor>(reasoning::kLeverFactorCount, reasoning::factor_name);
}
inline std::vector<std::string> modes() {
  return list_words<plan::Mode>(plan::kModeCount, plan::mode_name);
}
inline std::vector<std::string> equipment() {
  return list_words<plan::Equipment>(plan::kEquipmentCount, plan::equipment_name);
}
inline std::vector<std::string> lifts() {
  return list_words<plan::Lift>(plan::kLiftCount, plan::lift_name);
}
inline std::vector<std::string> clearances() {
  return list_words<plan::Clearance>(3, plan::clearance_name);
}

}  // namespace lintel::formats::words
