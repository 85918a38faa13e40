#include "body/test_protocol.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "body/tables.h"

namespace lintel::body {

std::string_view protocol_unit_name(ProtocolUnit unit) {
  static constexpr std::array<std::string_view, 3> kNames = {"deg", "cm", "s"};
  return kNames[static_cast<std::size_t>(unit)];
}

double si_per_unit(ProtocolUnit unit) {
  switch (unit) {
    case ProtocolUnit::Degrees:
      return kRadiansPerDegree;
    case ProtocolUnit::Centimetres:
      return 0.01;
    case ProtocolUnit::Seconds:
      break;
  }
  return 1.0;
}

MeasurementError measurement_error(const ProtocolError& error) {
  const double share = std::clamp(error.share_between_tries, 0.0, 1.0);
  return {error.value * std::sqrt(1.0 - share),
          error.value * std::sqrt(share * std::max(error.tries, 1))};
}

Estimate estimate_hand_breadth(Sex sex, double stature) {
  const NumberTable& table = segment_length_table();
  const std::string stem = sex == Sex::Male ? "hand_breadth.male" : "hand_breadth.female";
  const Number& intercept = table[stem + ".intercept"];
  return {table.value(stem + ".slope") * stature + intercept.value, intercept.standard_deviation};
}

Result<Estimate> pass_line_of(const PassLine& line, const Athlete& athlete,
                              const std::optional<Estimate>& hand_breadth) {
  if (line.relative_to == PassReference::Absolute) return Estimate{line.value, 0.0};
  if (line.relative_to == PassReference::HandBreadth && hand_breadth) {
    return Estimate{line.value * hand_breadth->value, line.value * hand_breadth->standard_error};
  }
  if (!(athlete.stature > 0.0)) {
    Error error{ErrorCode::Invalid,
                "the pass line \"" + line.label + "\" needs the stature",
                {},
                "enter the athlete's stature",
                {}};
    error.place.field = "body.stature_cm";
    return fail(std::move(error));
  }
  if (line.relative_to == PassReference::Stature) return Estimate{line.value * athlete.stature, 0};
  const Estimate hand = estimate_hand_breadth(athlete.sex, athlete.stature);
  return Estimate{line.value * hand.value, line.value * hand.standard_error};
}

std::vector<WarningSign> signs_against(const TestProtocol& protocol, const Athlete& athlete) {
  std::vector<WarningSign> signs;
  for (const WarningSign sign : athlete.warning_signs) {
    if (std::find(protocol.not_with.begin(), protocol.not_with.end(), sign) !=
        protocol.not_with.end()) {
      signs.push_back(sign);
    }
  }
  return signs;
}

const TestProtocol* find_protocol(const std::vector<TestProtocol>& protocols, std::string_view id) {
  const auto found =
      std::find_if(protocols.begin(), protocols.end(), [&](const auto& p) { return p.id == id; });
  return found == protocols.end() ? nullptr : &*found;
}

const TestProtocol* protocol_for(const std::vector<TestProtocol>& protocols, MobilityTest test) {
  const auto found = std::find_if(protocols.begin(), protocols.end(), [&](const auto& p) {
    return p.informs.test == test && !p.archived;
  });
  return found == protocols.end() ? nullptr : &*found;
}

}  // namespace lintel::body
