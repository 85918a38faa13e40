// Optima and verdicts against Ipopt 3.11 on the same problems.
#include <cmath>
#include <iostream>

#include <gtest/gtest.h>

#include "posture/posture.h"
#include "support/ipopt_posture.h"
#include "support/posture_population.h"

namespace lintel::posture {
namespace {

struct Tally {
  int both = 0, both_infeasible = 0, ours_only = 0, theirs_only = 0, ours_better = 0, stuck = 0;
  double worst_gap = 0.0;    // ours above theirs, relative
  double worst_angle = 0.0;  // trunk inclination where the objectives agree [rad]
};

void compare(const Model& model, const ObjectiveWeights& weights, test::IpoptPosture& ipopt,
             Tally& tally, std::uint64_t number) {
  const Solution ours = solve(model, weights);
  const test::IpoptResult theirs = ipopt.solve(model, weights, {0.4, 0.0, 0.0, 0.4, 0.1, 0.1, 0.0});
  if (ours.outcome == Outcome::IterationLimit) ++tally.stuck;
  if (ours.outcome == Outcome::Solved && theirs.solved) {
    ++tally.both;
    const double gap =
        (ours.objective - theirs.objective) / std::max(1e-2, std::abs(theirs.objective));
    tally.worst_gap = std::max(tally.worst_gap, gap);
    EXPECT_LE(gap, 1e-6) << "case " << number;
    if (gap < -1e-6) ++tally.ours_better;  // Ipopt ended in a local optimum
    if (std::abs(gap) <= 1e-6) {
      const Posture p = evaluate_posture(model, theirs.x);
      tally.worst_angle = std::max(tally.worst_angle,
                                   std::abs(p.trunk_inclination - ours.posture.trunk_inclination));
    }
  } else if (ours.outcome == Outcome::Infeasible && !theirs.solved) {
    ++tally.both_infeasible;
  } else if (ours.outcome == Outcome::Solved) {
    ++tally.ours_only;
  } else if (theirs.solved) {
    ++tally.theirs_only;
    ADD_FAILURE() << "Ipopt solves case " << number << ", we say " << outcome_name(ours.outcome);
  }
}

void print(const char* name, const Tally& t) {
  std::cout << name << ": both solve " << t.both << ", both find it impossible "
            << t.both_infeasible << ", only ours solves " << t.ours_only << ", only Ipopt solves "
            << t.theirs_only << "; ours better (Ipopt in a local optimum) " << t.ours_better
            << "; no verdict " << t.stuck << "; largest gap " << t.worst_gap
            << ", largest difference of trunk inclination " << t.worst_angle << " rad\n";
}

constexpr std::uint64_t kCases = 2000;

TEST(Ipopt, FindsTheSameMostUprightPosture) {
  test::IpoptPosture ipopt;
  Tally tally;
  for (std::uint64_t i = 0; i < kCases; ++i) {
    compare(test::random_posture_model(71, i), most_upright_weights(), ipopt, tally, i);
  }
  print("most upright", tally);
  EXPECT_EQ(tally.stuck, 0);
  EXPECT_LE(tally.worst_angle, 1e-4);
}

TEST(Ipopt, FindsTheSameHabitualPosture) {
  test::IpoptPosture ipopt;
  Tally tally;
  for (std::uint64_t i = 0; i < kCases; ++i) {
    compare(test::random_posture_model(72, i), habitual_weights(), ipopt, tally, i);
  }
  print("habitual", tally);
  EXPECT_EQ(tally.stuck, 0);
  EXPECT_LE(tally.worst_angle, 1e-4);
}

}  // namespace
}  // namespace lintel::posture
