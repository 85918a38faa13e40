// Changes of the setup as every JSON document has them. Inside this module; includes the JSON
// library.
#pragma once

#include <string>
#include <vector>

#include "formats/json_numbers.h"
#include "reasoning/what_if.h"

namespace lintel::formats {

struct LeverUnit {
  const char* suffix;
  double factor;
};
inline LeverUnit unit_of(reasoning::Lever lever) {
  switch (lever) {
    case reasoning::Lever::Stance:
    case reasoning::Lever::Heel:
    case reasoning::Lever::Grip:
    case reasoning::Lever::Depth:
    case reasoning::Lever::Surface:
      return {"_cm", kCentimetres};
    case reasoning::Lever::BarMass:
      return {"_kg", 1.0};
    default:
      return {"_deg", kDegrees};
  }
}

inline Json changes_json(const std::vector<reasoning::Change>& changes) {
  Json list = Json::array();
  for (const reasoning::Change& change : changes) {
    const LeverUnit unit = unit_of(change.lever);
    list.push_back({{"lever", reasoning::lever_name(change.lever)},
                    {std::string("from") + unit.suffix, change.lever == reasoning::Lever::Surface
                                                            ? Json(nullptr)
                                                            : number(change.from * unit.factor)},
                    {std::string("to") + unit.suffix, number(change.to * unit.factor)}});
  }
  return list;
}

inline Json costs_json(const std::vector<reasoning::Cost>& costs) {
  Json list = Json::array();
  for (const reasoning::Cost cost : costs) {
    list.push_back(
        {{"code", reasoning::cost_name(cost)}, {"text", reasoning::cost_sentence(cost)}});
  }
  return list;
}

}  // namespace lintel::formats
