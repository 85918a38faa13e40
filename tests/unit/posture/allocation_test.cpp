// No memory is asked for inside a solve: operator new counts.
#include <cstdlib>
#include <new>

#include <gtest/gtest.h>

#include "posture/posture.h"
#include "support/posture_population.h"

namespace {
std::size_t allocations = 0;
}

void* operator new(std::size_t size) {
  ++allocations;
  if (void* memory = std::malloc(size)) return memory;
  throw std::bad_alloc();
}
void* operator new(std::size_t size, std::align_val_t alignment) {
  ++allocations;
  const auto a = static_cast<std::size_t>(alignment);
  if (void* memory = std::aligned_alloc(a, (size + a - 1) / a * a)) return memory;
  throw std::bad_alloc();
}
void operator delete(void* memory) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::align_val_t) noexcept {
  std::free(memory);
}
void operator delete(void* memory, std::size_t, std::align_val_t) noexcept {
  std::free(memory);
}

namespace lintel::posture {
namespace {

TEST(Solver, AllocatesNothing) {
  solve_most_upright(test::random_posture_model(51, 999));  // the tables are read once
  int infeasible = 0;
  for (std::uint64_t i = 0; i < 60; ++i) {
    const Model model = test::random_posture_model(51, i);
    const std::size_t before = allocations;
    const Solution upright = solve_most_upright(model);
    const Solution warm = solve_most_upright(model, {}, &upright.warm_start);
    const Solution habitual = solve_habitual(model, {}, &upright.warm_start);
    const Posture posture = evaluate_posture(model, warm.posture.coordinates);
    bool derivatives = true;
    if (upright.outcome == Outcome::Solved) {
      derivatives = compute_sensitivities(model, upright).has_value();
    } else {
      ++infeasible;
    }
    const std::size_t after = allocations;
    EXPECT_EQ(after - before, 0u) << "case " << i;
    EXPECT_TRUE(derivatives);
    EXPECT_TRUE(std::isfinite(posture.trunk_inclination));
    EXPECT_TRUE(std::isfinite(habitual.objective));
  }
  EXPECT_GT(infeasible, 0);
}

}  // namespace
}  // namespace lintel::posture
