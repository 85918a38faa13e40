#include "app/plan_targets.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "body/tables.h"
#include "reasoning/defaults.h"

namespace lintel::app {
namespace {

using reasoning::Factor;

constexpr double kInterval = 2.0 * 1.96;  // width of a 95 % interval in standard deviations
constexpr double kLeastDeficit = 1.0 * kRadiansPerDegree;
constexpr double kLeastRate = 0.05, kMostRate = 2.0;  // lean per range

posture::Limit main_limit(Factor part) {
  switch (part) {
    case Factor::Hip:
      return posture::Limit::HipFlexion;
    case Factor::Thorax:
      return posture::Limit::ThoracicExtension;
    case Factor::Shoulder:
      return posture::Limit::ShoulderElevation;
    case Factor::Latissimus:
      return posture::Limit::LatissimusLength;
    default:
      return posture::Limit::AnkleDorsiflexion;
  }
}

double lean_per_gain(Factor part, double size, const reasoning::ExplainResult& explained) {
  const posture::Limits reference =
      reasoning::reference_mobility(explained.fitted_limits, explained.fitted_body.lengths);
  double deficit = 0.0;
  for (const posture::Limit limit : reasoning::limits_of(part)) {
    deficit = std::max(deficit, reference[limit].edge - explained.fitted_limits[limit].edge);
  }
  if (deficit < kLeastDeficit) return 1.0;
  return std::clamp(size / deficit, kLeastRate, kMostRate);
}

void reduce_to_what_is_left(std::vector<plan::TargetPart>& parts,
                            const std::vector<plan::SetupChange>& setup_changes,
                            const reasoning::ExplainResult& explained) {
  double by_setup = 0.0, by_parts = 0.0;
  for (const plan::SetupChange& change : setup_changes) by_setup += change.lean_gain.value;
  for (const plan::TargetPart& part : parts) by_parts += part.size.value;
  const double left = std::max(0.0, explained.shares.whole - by_setup);
  if (by_parts <= left || by_setup <= 0.0) return;
  const double share = left / by_parts;
  for (plan::TargetPart& part : parts) {
    part.size.value *= share;
    part.size.standard_error *= share;
    part.lean_per_gain *= share;
  }
}

std::string costs_text(const reasoning::WhatIf& row, reasoning::Lever lever) {
  using reasoning::Cost;
  std::string out;
  for (const Cost cost : row.costs) {
    const bool of_stance = lever == reasoning::Lever::Stance || lever == reasoning::Lever::ToeOut;
    const bool of_grip = lever == reasoning::Lever::Grip;
    const bool concerns = (cost == Cost::OutOfCompetitionStance && of_stance) ||
                          (cost == Cost::RaisedHeel && lever == reasoning::Lever::Heel) ||
                          (cost == Cost::BarLeavesHipCrease && of_grip) ||
                          (cost == Cost::MoreShoulderDemand && of_grip);
    if (concerns) out += " " + std::string(reasoning::cost_sentence(cost));
  }
  return out;
}

std::string change_text(const reasoning::Change& change) {
  if (change.lever == reasoning::Lever::ToeOut) {
    return text("Toes out %.0f degrees (today %.0f).", change.to * kDegreesPerRadian,
                change.from * kDegreesPerRadian);
  }
  const char* what = change.lever == reasoning::Lever::Heel   ? "Heels raised by"
                     : change.lever == reasoning::Lever::Grip ? "Grip, between the index knuckles,"
                                                              : "Stance, between the ankles,";
  return text("%s %.1f cm (today %.1f cm).", what, change.to * 100.0, change.from * 100.0);
}

// How much the test moves per radian of the range it watches; 0 = cannot be said.
double test_per_range(body::MobilityTest test, const reasoning::ExplainResult& explained) {
  if (test == body::MobilityTest::ThoracicRotation) {
    return 1.0 / body::limit_table().value("thoracic_extension.per_rotation");
  }
  if (test != body::MobilityTest::KneeToWall) return 1.0;
  // distance = shank sin(angle) + ..., see body/knee_to_wall.h
  const double shank = explained.fitted_body.lengths[body::Segment::Shank].value;
  const double angle = explained.fitted_limits[posture::Limit::AnkleDorsiflexion].edge;
  return shank * std::cos(angle);
}

// The protocol by which this test was done, so that the next one can be held against it; else the
// usual one.
const body::TestProtocol* done_protocol(const std::vector<body::TestProtocol>& protocols,
                                        const std::optional<body::TestRecord>& record,
                                        body::MobilityTest test) {
  if (record) {
    for (const body::TestEntry& entry : record->results) {
      const body::TestProtocol* done = body::find_protocol(protocols, entry.protocol);
      if (done != nullptr && done->informs.test == test && !done->archived) return done;
    }
  }
  return body::protocol_for(protocols, test);
}

}  // namespace

std::vector<plan::TargetPart> planner_targets(const std::vector<reasoning::Target>& targets,
                                              const std::vector<plan::SetupChange>& setup_changes,
                                              const reasoning::ExplainResult& explained) {
  std::vector<plan::TargetPart> out;
  for (const reasoning::Target& target : targets) {
    if (reasoning::is_lever(target.part) || target.size.value <= 0.0) continue;
    const bool known = std::any_of(out.begin(), out.end(), [&target](const plan::TargetPart& t) {
      return t.part == target.part;
    });
    if (known) continue;
    plan::TargetPart part;
    part.part = target.part;
    part.size = {target.size.value, std::max(0.0, target.size.high - target.size.low) / kInterval};
    part.probability = std::clamp(target.probability, 0.0, 1.0);
    part.finding = target.finding;
    if (target.part != Factor::Habit) {
      part.lean_per_gain = lean_per_gain(target.part, target.size.value, explained);
      part.range_now = explained.fitted_limits[main_limit(target.part)].edge;
    }
    out.push_back(std::move(part));
  }
  reduce_to_what_is_left(out, setup_changes, explained);
  return out;
}

std::vector<plan::SetupChange> planner_setup_changes(const reasoning::ExplainResult& explained) {
  std::vector<plan::SetupChange> out;
  if (!explained.best_change || !explained.what_if) return out;
  const reasoning::WhatIf& best = *explained.best_change;
  std::vector<double> alone;  // what each change buys by itself
  double sum = 0.0;
  for (const reasoning::Change& change : best.changes) {
    if (static_cast<int>(change.lever) >= reasoning::kLeverFactorCount) continue;
    double gain = 0.0;
    for (const reasoning::WhatIf& row : explained.what_if->single) {
      if (row.changes.front().lever == change.lever) gain = std::max(0.0, -row.trunk_change);
    }
    plan::SetupChange entry;
    entry.lever = static_cast<Factor>(change.lever);  // both lists begin with the setup levers
    entry.from = change.from;
    entry.to = change.to;
    entry.text = change_text(change) + costs_text(best, change.lever);
    out.push_back(std::move(entry));
    alone.push_back(gain);
    sum += gain;
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double share = sum > 0.0 ? alone[i] / sum : 1.0 / static_cast<double>(out.size());
    out[i].lean_gain = {std::max(0.0, -best.trunk_change) * share, best.trunk_change_error * share};
  }
  // Two degrees more of toe-out are no change worth learning.
  static const double kLeast = reasoning::default_table().value("what_if.least_gain");
  std::erase_if(out, [](const plan::SetupChange& c) { return c.lean_gain.value < kLeast; });
  return out;
}

std::vector<plan::FollowedTest> followed_tests(const std::vector<body::TestProtocol>& protocols,
                                               const std::optional<body::TestRecord>& record,
                                               const reasoning::ExplainResult& explained) {
  struct Watch {
    Factor part;
    body::MobilityTest test;
  };
  constexpr Watch kWatches[] = {{Factor::Ankle, body::MobilityTest::KneeToWall},
                                {Factor::Thorax, body::MobilityTest::ThoracicRotation},
                                {Factor::Shoulder, body::MobilityTest::ArmToWallTurnedIn},
                                {Factor::Latissimus, body::MobilityTest::ArmToWallTurnedOut},
                                {Factor::Hip, body::MobilityTest::HipFlexion}};
  std::vector<plan::FollowedTest> out;
  for (const Watch& watch : kWatches) {
    const body::TestProtocol* protocol = done_protocol(protocols, record, watch.test);
    if (protocol == nullptr || protocol->unit == body::ProtocolUnit::Seconds) continue;
    plan::FollowedTest test;
    test.protocol = protocol->id;
    test.label = protocol->name;
    test.part = watch.part;
    test.error = body::measurement_error(protocol->standard_error);
    test.is_length = protocol->unit == body::ProtocolUnit::Centimetres;
    const double factor = std::abs(protocol->informs.factor);
    test.per_gain = test_per_range(watch.test, explained) / (factor > 0.0 ? factor : 1.0);
    out.push_back(std::move(test));
  }
  return out;
}

}  // namespace lintel::app
