#include "formats/athlete_fields.h"

#include <array>

#include "base/units.h"

namespace lintel::formats {
namespace {

using body::Athlete;
using body::MobilityTest;
using body::Segment;
using body::Setup;

constexpr double kCentimetre = 0.01;
constexpr double kMillimetre = 0.001;
constexpr double kPercent = 0.01;

AthleteField size_field(std::string key, std::string unit, double si_per_unit,
                        std::string range_key, double Athlete::*member) {
  AthleteField field{"body",
                     std::move(key),
                     std::move(unit),
                     si_per_unit,
                     std::move(range_key),
                     Presence::Required,
                     ErrorOfValue::NotAllowed,
                     {},
                     {}};
  field.set = [member](Athlete& athlete, const Estimate& e) { athlete.*member = e.value; };
  field.get = [member](const Athlete& athlete) -> std::optional<Estimate> {
    if (athlete.*member == 0) return {};  // not entered
    return Estimate{athlete.*member, 0};
  };
  return field;
}

AthleteField setup_field(std::string key, std::string unit, double si_per_unit,
                         std::string range_key, double Setup::*member) {
  AthleteField field{"setup",
                     std::move(key),
                     std::move(unit),
                     si_per_unit,
                     std::move(range_key),
                     Presence::Optional,
                     ErrorOfValue::NotAllowed,
                     {},
                     {}};
  field.set = [member](Athlete& athlete, const Estimate& e) { athlete.setup.*member = e.value; };
  field.get = [member](const Athlete& athlete) -> std::optional<Estimate> {
    return Estimate{athlete.setup.*member, 0};
  };
  return field;
}

AthleteField segment_field(Segment segment) {
  const std::string name(body::segment_name(segment));
  const auto index = static_cast<std::size_t>(segment);
  AthleteField field{"body",
                     name + "_cm",
                     "cm",
                     kCentimetre,
                     "segment." + name,
                     Presence::Optional,
                     ErrorOfValue::Allowed,
                     {},
                     {}};
  field.set = [index](Athlete& athlete, const Estimate& e) { athlete.measured_lengths[index] = e; };
  field.get = [index](const Athlete& athlete) { return athlete.measured_lengths[index]; };
  return field;
}

bool has_sides(MobilityTest test) {
  return test != MobilityTest::ThoracicExtension && test != MobilityTest::LumbarFlexion;
}

AthleteField test_field(MobilityTest test, std::size_t slot) {
  const bool is_length = test == MobilityTest::KneeToWall;
  const bool sided = has_sides(test);
  std::string key(body::mobility_test_name(test));
  if (sided) key += slot == 0 ? "_left" : "_right";
  key += is_length ? "_cm" : "_deg";
  AthleteField field{"tests",
                     key,
                     is_length ? "cm" : "deg",
                     is_length ? kCentimetre : kRadiansPerDegree,
                     body::mobility_range_key(test),
                     Presence::Optional,
                     ErrorOfValue::Allowed,
                     {},
                     {}};
  field.set = [test, slot](Athlete& athlete, const Estimate& e) { athlete.tests[test][slot] = e; };
  field.get = [test, slot, sided](const Athlete& athlete) -> std::optional<Estimate> {
    const auto& result = athlete.tests[test];
    if (!sided && !result[0]) return result[1];  // either slot may hold a test without a side
    return result[slot];
  };
  return field;
}

std::vector<AthleteField> make_fields() {
  std::vector<AthleteField> fields;
  fields.push_back(size_field("stature_cm", "cm", kCentimetre, "stature", &Athlete::stature));
  fields.push_back(size_field("mass_kg", "kg", 1, "body_mass", &Athlete::body_mass));
  for (int i = 0; i < body::kSegmentCount; ++i) {
    fields.push_back(segment_field(static_cast<Segment>(i)));
  }
  fields.push_back(setup_field("bar_mass_kg", "kg", 1, "bar_mass", &Setup::bar_mass));
  fields.push_back(
      setup_field("disc_diameter_mm", "mm", kMillimetre, "disc_diameter", &Setup::disc_diameter));
  fields.push_back(
      setup_field("stance_width_cm", "cm", kCentimetre, "stance_width", &Setup::stance_width));
  fields.push_back(
      setup_field("toe_out_deg", "deg", kRadiansPerDegree, "toe_out", &Setup::toe_out));
  fields.push_back(setup_field("heel_elevation_cm", "cm", kCentimetre, "heel_elevation",
                               &Setup::heel_elevation));
  fields.push_back(
      setup_field("grip_width_cm", "cm", kCentimetre, "grip_width", &Setup::grip_width));
  AthleteField surface{"setup",
                       "surface_height_cm",
                       "cm",
                       kCentimetre,
                       "surface_height",
                       Presence::Optional,
                       ErrorOfValue::NotAllowed,
                       {},
                       {}};
  surface.set = [](Athlete& a, const Estimate& e) { a.setup.surface_height = e.value; };
  surface.get = [](const Athlete& a) -> std::optional<Estimate> {
    if (!a.setup.surface_height) return {};
    return Estimate{*a.setup.surface_height, 0};
  };
  fields.push_back(surface);
  fields.push_back(
      setup_field("seat_share_percent", "percent", kPercent, "seat_share", &Setup::seat_share));
  fields.push_back(setup_field("depth_cm", "cm", kCentimetre, "depth", &Setup::depth));
  fields.push_back(setup_field("center_of_pressure_target_cm", "cm", kCentimetre,
                               "center_of_pressure_target", &Setup::center_of_pressure_target));
  for (int i = 0; i < body::kMobilityTestCount; ++i) {
    const auto test = static_cast<MobilityTest>(i);
    fields.push_back(test_field(test, 0));
    if (has_sides(test)) fields.push_back(test_field(test, 1));
  }
  return fields;
}

}  // namespace

const std::vector<AthleteField>& athlete_fields() {
  static const std::vector<AthleteField> fields = make_fields();
  return fields;
}

}  // namespace lintel::formats
