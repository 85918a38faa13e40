#include "body/athlete.h"

#include <cmath>
#include <cstdio>

#include "body/anthropometry.h"
#include "body/tables.h"

namespace lintel::body {
namespace {

constexpr std::array<std::string_view, kMobilityTestCount> kTestNames = {
    "ankle_dorsiflexion",    "knee_to_wall",     "knee_flexion",          "hip_flexion",
    "hip_external_rotation", "hip_abduction",    "lumbar_flexion",        "thoracic_rotation",
    "thoracic_extension",    "shoulder_flexion", "arm_to_wall_turned_in", "arm_to_wall_turned_out",
    "hip_internal_rotation"};

std::string text(double si, std::string_view unit) {
  double value = si;
  if (unit == "deg") value = si * kDegreesPerRadian;
  if (unit == "cm" || unit == "%") value = si * 100.0;
  if (unit == "mm") value = si * 1000.0;
  char buffer[40];
  std::snprintf(buffer, sizeof buffer, "%.6g %.*s", value, static_cast<int>(unit.size()),
                unit.data());
  return buffer;
}

void check(std::vector<Error>& faults, std::string_view key, std::string field, double value) {
  const Number& range = range_table()[key];
  if (std::isfinite(value) && value >= range.low && value <= range.high) return;
  Error error{ErrorCode::Invalid, "", {}, "", {}};
  error.place.field = std::move(field);
  error.message = std::isfinite(value)
                      ? text(value, range.unit) + " is outside of the allowed range " +
                            text(range.low, range.unit) + " to " + text(range.high, range.unit)
                      : "not a number; allowed is " + text(range.low, range.unit) + " to " +
                            text(range.high, range.unit);
  error.mend = "measure again or correct the entry";
  faults.push_back(std::move(error));
}

Error missing(std::string field, std::string_view key) {
  const Number& range = range_table()[key];
  Error error{ErrorCode::Invalid, "missing", {}, "", {}};
  error.place.field = std::move(field);
  error.mend =
      "enter a value from " + text(range.low, range.unit) + " to " + text(range.high, range.unit);
  return error;
}

void check_error(std::vector<Error>& faults, std::string field, double standard_error) {
  if (std::isfinite(standard_error) && standard_error >= 0.0) return;
  Error error{ErrorCode::Invalid, "a standard error must be 0 or more", {}, "", {}};
  error.place.field = std::move(field) + ".standard_error";
  faults.push_back(std::move(error));
}

}  // namespace

std::string_view bar_position_name(BarPosition position) {
  static constexpr std::array<std::string_view, 4> kNames = {"overhead", "back", "front", "none"};
  return kNames[static_cast<std::size_t>(position)];
}

std::string_view mobility_test_name(MobilityTest test) {
  return kTestNames[static_cast<std::size_t>(test)];
}

std::string mobility_range_key(MobilityTest test) {
  if (test == MobilityTest::ArmToWallTurnedIn || test == MobilityTest::ArmToWallTurnedOut) {
    return "test.latissimus_short_of_wall";
  }
  return "test." + std::string(mobility_test_name(test));
}

std::string_view warning_sign_name(WarningSign sign) {
  static constexpr std::array<std::string_view, 11> kNames = {"pain",
                                                              "numbness",
                                                              "dizziness",
                                                              "shoulder_instability",
                                                              "recent_surgery",
                                                              "recent_fracture",
                                                              "nerve_root_signs",
                                                              "uncontrolled_blood_pressure",
                                                              "pregnancy",
                                                              "fever",
                                                              "bladder_or_bowel_change"};
  return kNames[static_cast<std::size_t>(sign)];
}

std::vector<Error> find_faults(const Setup& setup, double inter_shoulder) {
  std::vector<Error> faults;
  check(faults, "stance_width", "setup.stance_width", setup.stance_width);
  check(faults, "toe_out", "setup.toe_out", setup.toe_out);
  check(faults, "heel_elevation", "setup.heel_elevation", setup.heel_elevation);
  check(faults, "bar_mass", "setup.bar_mass", setup.bar_mass);
  check(faults, "disc_diameter", "setup.disc_diameter", setup.disc_diameter);
  check(faults, "depth", "setup.depth", setup.depth);
  check(faults, "center_of_pressure_target", "setup.center_of_pressure_target",
        setup.center_of_pressure_target);
  check(faults, "seat_share", "setup.seat_share", setup.seat_share);
  if (setup.surface_height) {
    check(faults, "surface_height", "setup.surface_height", *setup.surface_height);
  } else if (setup.seat_share > 0.0) {
    Error error{ErrorCode::Invalid,
                "a share of the weight on a surface needs a surface",
                {},
                "enter setup.surface_height or set the share to 0",
                {}};
    error.place.field = "setup.seat_share";
    faults.push_back(std::move(error));
  }
  const std::size_t before = faults.size();
  check(faults, "grip_width", "setup.grip_width", setup.grip_width);
  const double hands = setup.grip_width + 2.0 * limit_table().value("grip.hand_half_breadth");
  if (faults.size() == before && std::isfinite(inter_shoulder) && hands < inter_shoulder) {
    const double low = inter_shoulder - 2.0 * limit_table().value("grip.hand_half_breadth");
    Error error{ErrorCode::Invalid,
                "a grip of " + text(setup.grip_width, "m") + " is narrower than the shoulders; " +
                    "allowed is " + text(low, "m") + " to " +
                    text(range_table()["grip_width"].high, "m"),
                {},
                "measure between the index knuckles",
                {}};
    error.place.field = "setup.grip_width";
    faults.push_back(std::move(error));
  }
  return faults;
}

std::vector<Error> find_faults(const Athlete& athlete) {
  std::vector<Error> faults;
  if (athlete.stature == 0.0) {
    faults.push_back(missing("athlete.stature", "stature"));
  } else {
    check(faults, "stature", "athlete.stature", athlete.stature);
  }
  if (athlete.body_mass == 0.0) {
    faults.push_back(missing("athlete.body_mass", "body_mass"));
  } else {
    check(faults, "body_mass", "athlete.body_mass", athlete.body_mass);
  }
  for (int i = 0; i < kSegmentCount; ++i) {
    const auto& length = athlete.measured_lengths[static_cast<std::size_t>(i)];
    if (!length) continue;
    const std::string name(segment_name(static_cast<Segment>(i)));
    check(faults, "segment." + name, "measured_lengths." + name, length->value);
    check_error(faults, "measured_lengths." + name, length->standard_error);
  }
  for (int i = 0; i < kMobilityTestCount; ++i) {
    const auto test = static_cast<MobilityTest>(i);
    for (std::size_t side = 0; side < 2; ++side) {
      const auto& result = athlete.tests[test][side];
      if (!result) continue;
      const std::string field =
          "tests." + std::string(mobility_test_name(test)) + (side == 0 ? ".left" : ".right");
      check(faults, mobility_range_key(test), field, result->value);
      check_error(faults, field, result->standard_error);
    }
  }
  double inter_shoulder = std::nan("");
  if (faults.empty()) {
    const auto lengths = estimate_segments(athlete.sex, athlete.stature, athlete.measured_lengths);
    if (lengths) inter_shoulder = (*lengths)[Segment::InterShoulder].value;
  }
  auto setup_faults = find_faults(athlete.setup, inter_shoulder);
  faults.insert(faults.end(), std::make_move_iterator(setup_faults.begin()),
                std::make_move_iterator(setup_faults.end()));
  return faults;
}

Result<void> validate(const Athlete& athlete) {
  auto faults = find_faults(athlete);
  if (!faults.empty()) return fail(std::move(faults.front()));
  return {};
}

}  // namespace lintel::body
