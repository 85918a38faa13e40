// Plans for tests of the writers and readers: invented athlete, built-in drills.
#pragma once

#include "formats/drill_json.h"
#include "plan/plan.h"

namespace lintel::test_support {

inline plan::PlanInput example_plan_input() {
  using reasoning::Factor;
  plan::PlanInput input;
  input.athlete_id = "sk-07";
  input.athlete_name = "Runa Vestergaard-Ilk";
  input.from = *Date::create(2026, 11, 30);
  input.planner.targets = {{Factor::Ankle, {0.15, 0.05}, 0.9, 0.8, "ankle", 0.58},
                           {Factor::Habit, {0.12, 0.05}, 0.7, 1.0, "habit", std::nullopt}};
  input.planner.setup_changes = {
      {Factor::Grip, 0.95, 1.02, {0.03, 0.01}, "Grip, between the index knuckles, 102 cm."},
      {Factor::ToeOut, 0.26, 0.40, {0.02, 0.01}, "Toes out 23 degrees."}};
  for (int i = 0; i < plan::kEquipmentCount; ++i) {
    input.planner.equipment.add(static_cast<plan::Equipment>(i));
  }
  input.planner.time_per_session = 1500.0;
  input.trunk_inclination = Estimate{0.79, 0.03};
  plan::FollowedTest distance{
      "knee_to_wall_distance", "Knee to wall, distance", Factor::Ankle, {0.006, 0.0}, true, 0.35};
  plan::FollowedTest angle{
      "knee_to_wall_angle", "Knee to wall, angle", Factor::Ankle, {0.03, 0.0}, false, 1.0};
  input.tests = {distance, angle};
  plan::SeatedHoldPlan hold;
  hold.now.surface_height = 0.41;
  hold.now.on_surface = 33.0;
  hold.now.on_feet = 33.0;
  hold.now.total_weight = 66.0;
  hold.now.moments.knee_extension = 41.5;
  hold.now.lifted.hip_extension = 72.25;
  hold.full_depth_height = 0.2612;
  hold.acceptable_inclination = 0.61;
  hold.ladder = {{1, 0.41, -0.05, 0.6, 33.0, 33.0}, {2, 0.38, -0.03, 0.62, 33.0, 33.0}};
  hold.notes = {"invented"};
  input.seated_hold = hold;
  return input;
}

inline plan::Plan example_plan() {
  return plan::make_plan(formats::built_in_drills(), example_plan_input()).value();
}

inline plan::Plan red_flag_plan() {
  plan::PlanInput input = example_plan_input();
  input.planner.warning_signs = {body::WarningSign::BladderOrBowelChange};
  return plan::make_plan(formats::built_in_drills(), input).value();
}

}  // namespace lintel::test_support
