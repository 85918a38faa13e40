// The planner's optimum against another solver: GLPK's branch and cut (GNU Linear Programming Kit)
// on the same week written as a mixed integer linear program. Sizes without error make the expected
// reduction min(gain, size), which a linear program can say; one drill a part would not need more.
#include <glpk.h>
#include <gtest/gtest.h>

#include <cmath>

#include "base/random.h"
#include "plan/planner_search.h"

namespace lintel::plan {
namespace {

SearchProblem random_problem(std::uint64_t seed) {
  Random random(seed, 3);
  const auto whole = [&random](int low, int high) {
    return low + static_cast<int>(random.next() % static_cast<std::uint64_t>(high - low + 1));
  };
  SearchProblem p;
  p.sessions = whole(3, 6);
  p.capacity = 60 * whole(10, 25);
  p.most_items = whole(4, 8);
  p.groups = 2;
  p.group_capacity = 600;
  const int targets = whole(3, 5);
  for (int t = 0; t < targets; ++t) {
    // Some without bound (linear), some that are soon used up.
    const double size = random.uniform() < 0.4 ? 1e3 : random.uniform(0.02, 0.2);
    p.targets.push_back({{size, 0.0}, random.uniform(0.2, 1.0), random.uniform(0.5, 2.0)});
  }
  const int items = whole(14, 22);
  for (int i = 0; i < items; ++i) {
    SearchItem item;
    item.group = random.uniform() < 0.4 ? whole(0, 1) : -1;
    const int levels = whole(1, 3);
    for (int l = 0; l < levels; ++l) {
      SearchLevel level;
      level.time = 30L * whole(4, 16);
      level.times = whole(1, p.sessions);
      level.group_time = item.group >= 0 ? 60L * whole(2, 6) : 0;
      for (int t = 0; t < targets; ++t) {
        level.gain.push_back(random.uniform() < 0.5 ? random.uniform(0.0, 0.06) : 0.0);
      }
      item.levels.push_back(level);
    }
    p.items.push_back(item);
  }
  return p;
}

// Rows and columns of GLPK's problem, built one after another.
class Program {
 public:
  Program() : problem_(glp_create_prob()) { glp_set_obj_dir(problem_, GLP_MAX); }
  ~Program() { glp_delete_prob(problem_); }
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  int binary(double value) {
    const int column = glp_add_cols(problem_, 1);
    glp_set_col_kind(problem_, column, GLP_BV);
    glp_set_obj_coef(problem_, column, value);
    return column;
  }
  int bounded(double value, double most) {
    const int column = glp_add_cols(problem_, 1);
    glp_set_col_bnds(problem_, column, GLP_DB, 0.0, most);
    glp_set_obj_coef(problem_, column, value);
    return column;
  }
  void at_most(const std::vector<std::pair<int, double>>& terms, double most, bool equal = false) {
    const int row = glp_add_rows(problem_, 1);
    glp_set_row_bnds(problem_, row, equal ? GLP_FX : GLP_UP, most, most);
    std::vector<int> columns(1, 0);
    std::vector<double> factors(1, 0.0);
    for (const auto& [column, factor] : terms) {
      columns.push_back(column);
      factors.push_back(factor);
    }
    glp_set_mat_row(problem_, row, static_cast<int>(terms.size()), columns.data(), factors.data());
  }
  double solve() {
    glp_iocp options;
    glp_init_iocp(&options);
    options.presolve = GLP_ON;
    options.msg_lev = GLP_MSG_OFF;
    options.mip_gap = 0.0;
    options.tol_obj = 1e-9;
    options.gmi_cuts = GLP_ON;
    options.mir_cuts = GLP_ON;
    EXPECT_EQ(glp_intopt(problem_, &options), 0);
    EXPECT_EQ(glp_mip_status(problem_), GLP_OPT);
    return glp_mip_obj_val(problem_);
  }

 private:
  glp_prob* problem_;
};

double solve_with_glpk(const SearchProblem& p) {
  Program program;
  using Terms = std::vector<std::pair<int, double>>;
  Terms count;
  std::vector<Terms> session(static_cast<std::size_t>(p.sessions));
  std::vector<Terms> group(static_cast<std::size_t>(p.groups));
  std::vector<Terms> gain(p.targets.size());
  for (const SearchItem& item : p.items) {
    Terms one_level;
    for (const SearchLevel& level : item.levels) {
      const int chosen = program.binary(0.0);
      one_level.emplace_back(chosen, 1.0);
      count.emplace_back(chosen, 1.0);
      for (std::size_t t = 0; t < gain.size(); ++t) gain[t].emplace_back(chosen, -level.gain[t]);
      if (item.group >= 0) {
        group[static_cast<std::size_t>(item.group)].emplace_back(
            chosen, static_cast<double>(level.group_time));
      }
      Terms places = {{chosen, -static_cast<double>(level.times)}};
      for (Terms& s : session) {
        const int here = program.binary(0.0);
        places.emplace_back(here, 1.0);
        s.emplace_back(here, static_cast<double>(level.time));
      }
      program.at_most(places, 0.0, true);  // in as many sessions as the level says
    }
    program.at_most(one_level, 1.0);
  }
  program.at_most(count, p.most_items);
  for (const Terms& s : session) program.at_most(s, static_cast<double>(p.capacity));
  for (const Terms& g : group) {
    if (!g.empty()) program.at_most(g, static_cast<double>(p.group_capacity));
  }
  for (std::size_t t = 0; t < p.targets.size(); ++t) {
    const SearchTarget& target = p.targets[t];
    gain[t].emplace_back(program.bounded(target.weight * target.probability, target.size.value),
                         1.0);
    program.at_most(gain[t], 0.0);  // reduction <= gain, and <= size by its bound
  }
  return program.solve();
}

TEST(PlannerAgainstGlpk, FindsTheSameOptimum) {
  glp_term_out(GLP_OFF);
  std::int64_t most_nodes = 0;
  std::size_t choices = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const SearchProblem p = random_problem(seed);
    const SearchResult ours = search_best(p);
    EXPECT_TRUE(ours.proved) << seed;
    most_nodes = std::max(most_nodes, ours.nodes);
    const double theirs = solve_with_glpk(p);
    EXPECT_NEAR(ours.objective, theirs, 1e-7) << seed;
    choices += ours.choices.size();
  }
  EXPECT_GT(choices, 100u);  // weeks with one drill alone would prove little
  RecordProperty("most_nodes", static_cast<int>(most_nodes));
  glp_free_env();
}

}  // namespace
}  // namespace lintel::plan
