#include "body/body_segments.h"

#include <string>

#include "body/tables.h"

namespace lintel::body {
namespace {

constexpr std::array<std::string_view, kPartCount> kPartNames = {
    "head", "thorax", "lumbar", "pelvis", "upper_arm", "forearm", "hand", "thigh", "shank", "foot"};

std::string key(Part part, Sex sex, std::string_view quantity) {
  return std::string(part_name(part)) + (sex == Sex::Male ? ".male." : ".female.") +
         std::string(quantity);
}

}  // namespace

std::string_view part_name(Part part) {
  return kPartNames[static_cast<std::size_t>(part)];
}

PartParameters part_parameters(Sex sex, Part part) {
  const NumberTable& table = body_segment_table();
  return {table.value(key(part, sex, "mass")), table.value(key(part, sex, "center_of_mass")),
          table.value(key(part, sex, "radius_of_gyration_transverse"))};
}

TrunkDivision trunk_division(Sex sex) {
  const NumberTable& table = body_segment_table();
  TrunkDivision d;
  d.pelvis_length = table.value(key(Part::Pelvis, sex, "length_of_trunk"));
  d.lumbar_length = table.value(key(Part::Lumbar, sex, "length_of_trunk"));
  d.thorax_length = table.value(key(Part::Thorax, sex, "length_of_trunk"));
  // The source measures from the upper end of each part: omphalion, xiphion, suprasternale.
  d.pelvis_center = (1.0 - table.value(key(Part::Pelvis, sex, "center_of_mass"))) * d.pelvis_length;
  d.lumbar_center = (1.0 - table.value(key(Part::Lumbar, sex, "center_of_mass"))) * d.lumbar_length;
  const double thorax_whole =
      d.thorax_length +
      table.value(key(Part::Thorax, sex, "suprasternale_above_shoulder_of_trunk"));
  d.thorax_center = (1.0 - table.value(key(Part::Thorax, sex, "center_of_mass"))) * thorax_whole;
  d.head_center_below_vertex = table.value(key(Part::Head, sex, "center_of_mass")) *
                               table.value(key(Part::Head, sex, "length_of_stature"));
  d.hand_center_from_wrist = table.value(key(Part::Hand, sex, "center_of_mass")) *
                             table.value(key(Part::Hand, sex, "length_of_stature"));
  return d;
}

}  // namespace lintel::body
