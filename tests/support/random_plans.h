// Invented drill libraries and planner inputs for tests of the planner, from a seed.
#pragma once

#include <string>
#include <vector>

#include "base/random.h"
#include "plan/plan.h"

namespace lintel::test_support {

inline int random_int(Random& random, int low, int high) {
  return low + static_cast<int>(random.next() % static_cast<std::uint64_t>(high - low + 1));
}

inline plan::Drill random_drill(Random& random, int index) {
  plan::Drill drill;
  drill.id = "drill-" + std::to_string(index);
  drill.name = drill.id;
  drill.mode = static_cast<plan::Mode>(random_int(random, 0, plan::kModeCount - 1));
  drill.loaded = random.uniform() < 0.2;
  const int targets = random_int(random, 1, 2);
  for (int t = 0; t < targets; ++t) {
    plan::Target target;
    target.part = static_cast<reasoning::Factor>(random_int(random, 0, 4) * 2 + t);
    target.gain.per_week = random.uniform(0.0, 0.03);
    target.gain.standard_deviation = random.uniform(0.001, 0.03);
    target.gain.reference_time = random.uniform(300.0, 1200.0);
    target.gain.weeks = random_int(random, 2, 8);
    target.gain.source = "invented for a test";
    drill.targets.push_back(target);
  }
  const int doses = random_int(random, 1, 3);
  for (int d = 0; d < doses; ++d) {
    plan::Dose dose;
    dose.sets = random_int(random, 1, 3);
    dose.hold = drill.mode == plan::Mode::StaticStretch ? 30.0 : 0.0;
    dose.repetitions = dose.hold > 0.0 ? 0 : 8;
    dose.times_per_week = random_int(random, 1, 7);
    dose.time_per_session = 30.0 * random_int(random, 4, 16);
    drill.doses.push_back(dose);
  }
  const int needs = random_int(random, 0, 2);
  for (int n = 0; n < needs; ++n) {
    plan::EquipmentSet any;
    any.add(static_cast<plan::Equipment>(random_int(random, 0, 5)));
    if (random.uniform() < 0.5) any.add(static_cast<plan::Equipment>(random_int(random, 0, 5)));
    drill.needs.push_back(any);
  }
  if (random.uniform() < 0.3) drill.not_with.push_back(body::WarningSign::Pain);
  drill.ladder.resize(static_cast<std::size_t>(random_int(random, 1, 3)));
  drill.cautions = {"invented"};
  drill.cues = {"invented"};
  return drill;
}

inline std::vector<plan::Drill> random_library(Random& random, int drills) {
  std::vector<plan::Drill> library;
  for (int i = 0; i < drills; ++i) {
    library.push_back(random_drill(random, i));
    if (i > 0 && random.uniform() < 0.15) library.back().prerequisites = {{"drill-0", 0}};
  }
  return library;
}

inline plan::PlannerInput random_planner_input(Random& random) {
  plan::PlannerInput input;
  for (int part = 0; part < reasoning::kFactorCount; ++part) {
    const auto factor = static_cast<reasoning::Factor>(part);
    if (random.uniform() < 0.4) continue;
    if (reasoning::is_lever(factor) && random.uniform() < 0.5) {
      input.setup_changes.push_back({factor, 0.3, 0.4, {random.uniform(0.0, 0.1), 0.01}, "change"});
      continue;
    }
    plan::TargetPart target;
    target.part = factor;
    target.size = {random.uniform(0.0, 0.2),
                   random.uniform() < 0.3 ? 0.0 : random.uniform(0.0, 0.1)};
    target.probability = random.uniform();
    target.lean_per_gain = random.uniform(0.2, 1.5);
    input.targets.push_back(target);
  }
  if (random.uniform() < 0.3) {
    input.responses.push_back({reasoning::Factor::Ankle, {random.uniform(0.0, 2.0), 0.2}});
  }
  if (random.uniform() < 0.3) input.passed.push_back({"drill-0", random_int(random, -1, 2)});
  if (random.uniform() < 0.3) {
    input.warning_signs.push_back(static_cast<body::WarningSign>(random_int(random, 0, 10)));
  }
  for (int e = 0; e < 6; ++e) {
    if (random.uniform() < 0.7) input.equipment.add(static_cast<plan::Equipment>(e));
  }
  input.time_per_session = 60.0 * random_int(random, 5, 30);
  input.sessions_per_week = random_int(random, 1, 7);
  input.weeks = random_int(random, 1, 16);
  input.most_drills = random_int(random, 1, 6);
  return input;
}

}  // namespace lintel::test_support
