#include "reasoning/change_text.h"

#include <cctype>

#include "base/text.h"

namespace lintel::reasoning {

std::string describe_change(const Change& c) {
  const double to = 100.0 * c.to;  // for people: centimetres ...
  const double from = 100.0 * c.from;
  const double angle = c.to * kDegreesPerRadian;  // ... and degrees
  const double more = (c.to - c.from) * kDegreesPerRadian;
  switch (c.lever) {
    case Lever::Stance:
      return text("Feet %s: ankles %.0f cm apart", c.to > c.from ? "wider" : "narrower", to);
    case Lever::ToeOut:
      return text("Toes turned %s to %.0f degrees", c.to > c.from ? "out" : "in", angle);
    case Lever::Heel:
      if (c.to <= 0.0005) return "Heels flat on the floor";
      return text("Heels %s to %.1f cm", c.to > c.from ? "up" : "down", to);
    case Lever::Grip:
      return text("Grip %s: %.0f cm between the index knuckles",
                  c.to > c.from ? "wider" : "narrower", to);
    case Lever::BarMass:
      return text("Bar of %.0f kg instead of %.0f kg", c.to, c.from);
    case Lever::Depth:
      return text("Bottom %.0f cm higher", from - to);
    case Lever::Surface:
      return text("Sitting at the bottom on %.0f cm, half of the weight on the seat", to);
    default:
      return text("%.0f degrees more %s", more, std::string(lever_label(c.lever)).c_str());
  }
}

std::string describe_changes(const std::vector<Change>& changes) {
  std::string out;
  for (const Change& change : changes) {
    std::string one = describe_change(change);
    if (!out.empty()) {
      one.front() = static_cast<char>(std::tolower(static_cast<unsigned char>(one.front())));
      out += "; ";
    }
    out += one;
  }
  return out.empty() ? "No change" : out;
}

}  // namespace lintel::reasoning
