// The axioms that define the value (Shapley 1953), on small games, and the definition by orders of
// arrival written out.
#include <algorithm>
#include <numeric>
#include <vector>

#include <gtest/gtest.h>

#include "base/random.h"
#include "reasoning/shares.h"

namespace lintel::reasoning {
namespace {

std::vector<double> random_game(int players, std::uint64_t seed) {
  Random random(seed);
  std::vector<double> values(std::size_t{1} << players);
  for (double& value : values) value = random.uniform(-3.0, 5.0);
  return values;
}

// Mean of the marginal over every order of arrival.
std::vector<double> by_permutations(int players, const std::vector<double>& values) {
  std::vector<int> order(static_cast<std::size_t>(players));
  std::iota(order.begin(), order.end(), 0);
  std::vector<double> sum(order.size(), 0.0);
  double count = 0.0;
  do {
    unsigned present = 0;
    for (const int player : order) {
      const unsigned with = present | (1u << player);
      sum[static_cast<std::size_t>(player)] += values[with] - values[present];
      present = with;
    }
    count += 1.0;
  } while (std::next_permutation(order.begin(), order.end()));
  for (double& value : sum) value /= count;
  return sum;
}

TEST(Shapley, EqualsTheMeanOverAllOrdersOfArrival) {
  for (int players = 1; players <= 7; ++players) {
    const auto game = random_game(players, static_cast<std::uint64_t>(players));
    const auto parts = shapley_values(players, game);
    const auto expected = by_permutations(players, game);
    for (std::size_t i = 0; i < parts.size(); ++i) EXPECT_NEAR(parts[i], expected[i], 1e-12);
  }
}

TEST(Shapley, PartsSumToTheWhole) {
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    const auto game = random_game(9, seed);
    const auto parts = shapley_values(9, game);
    EXPECT_NEAR(std::accumulate(parts.begin(), parts.end(), 0.0), game.back() - game.front(),
                1e-12);
  }
}

TEST(Shapley, GivesEqualPlayersEqualParts) {
  auto game = random_game(5, 3);
  // Players 1 and 3 made equal: v(S with 1) = v(S with 3).
  for (unsigned s = 0; s < 32; ++s) {
    const bool one = (s >> 1) & 1, three = (s >> 3) & 1;
    if (one && !three) game[s] = game[(s & ~2u) | 8u];
  }
  const auto parts = shapley_values(5, game);
  EXPECT_NEAR(parts[1], parts[3], 1e-12);
}

TEST(Shapley, GivesNothingToAPlayerWhoChangesNothing) {
  auto game = random_game(5, 4);
  for (unsigned s = 0; s < 32; ++s) {
    if ((s >> 2) & 1) game[s] = game[s & ~4u];
  }
  EXPECT_NEAR(shapley_values(5, game)[2], 0.0, 1e-12);
}

TEST(Shapley, AddsUpOverGames) {
  const auto a = random_game(6, 5);
  const auto b = random_game(6, 6);
  std::vector<double> both(a.size());
  for (std::size_t i = 0; i < a.size(); ++i) both[i] = 2.0 * a[i] - b[i];
  const auto pa = shapley_values(6, a), pb = shapley_values(6, b), pc = shapley_values(6, both);
  for (std::size_t i = 0; i < pc.size(); ++i) EXPECT_NEAR(pc[i], 2.0 * pa[i] - pb[i], 1e-12);
}

TEST(Shapley, SharesAGloveGameAsTheTextbookDoes) {
  // One left glove (player 0), two right ones: value 1 for a pair. Known answer: 2/3, 1/6, 1/6
  // (worked example of many game theory texts, from memory).
  std::vector<double> game(8, 0.0);
  game[3] = game[5] = game[7] = 1.0;
  const auto parts = shapley_values(3, game);
  EXPECT_NEAR(parts[0], 2.0 / 3.0, 1e-12);
  EXPECT_NEAR(parts[1], 1.0 / 6.0, 1e-12);
  EXPECT_NEAR(parts[2], 1.0 / 6.0, 1e-12);
}

}  // namespace
}  // namespace lintel::reasoning
