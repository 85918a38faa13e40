#include "support/ipopt_posture.h"

#include <cassert>
#include <cstddef>
#include <cstring>
#include <vector>

// Debian configures these headers through a macro of its own.
#define HAVE_CSTDDEF 1
#include <coin/IpIpoptApplication.hpp>
#include <coin/IpSolveStatistics.hpp>
#include <coin/IpTNLP.hpp>

#include "posture/problem.h"
#include "posture/solver.h"

namespace lintel::test {
namespace {

using posture::kCoordinateCount;
using posture::kLimitCount;

class PostureProgram : public Ipopt::TNLP {
 public:
  posture::Problem<double> problem;
  std::array<double, kCoordinateCount> start{};
  IpoptResult result;
  std::vector<int> free;  // coordinates
  std::vector<int> row;   // limits

  void prepare() {
    free.clear();
    row.clear();
    for (int i = 0; i < kCoordinateCount; ++i) {
      if (!problem.frozen[static_cast<std::size_t>(i)]) free.push_back(i);
    }
    for (int i = 0; i < kLimitCount; ++i) {
      if (problem.active[static_cast<std::size_t>(i)]) row.push_back(i);
    }
    constexpr std::size_t kDrop = 2, kArm = 6;
    if (problem.frozen[kDrop]) start[kDrop] = problem.frozen_drop;
    if (problem.frozen[kArm]) start[kArm] = problem.frozen_arm;
  }

  bool get_nlp_info(Ipopt::Index& n, Ipopt::Index& m, Ipopt::Index& nnz_jac, Ipopt::Index& nnz_hess,
                    IndexStyleEnum& style) override {
    n = static_cast<int>(free.size());
    m = static_cast<int>(row.size());
    nnz_jac = n * m;
    nnz_hess = n * (n + 1) / 2;
    style = TNLP::C_STYLE;
    return true;
  }
  bool get_bounds_info(Ipopt::Index n, Ipopt::Number* xl, Ipopt::Number* xu, Ipopt::Index m,
                       Ipopt::Number* gl, Ipopt::Number* gu) override {
    for (int i = 0; i < n; ++i) {
      xl[i] = -2e19;
      xu[i] = 2e19;
    }
    for (int i = 0; i < m; ++i) {
      gl[i] = -2e19;
      gu[i] = 0.0;
    }
    return true;
  }
  bool get_starting_point(Ipopt::Index n, bool, Ipopt::Number* x, bool, Ipopt::Number*,
                          Ipopt::Number*, Ipopt::Index, bool, Ipopt::Number*) override {
    for (int i = 0; i < n; ++i) x[i] = start[static_cast<std::size_t>(at(free, i))];
    return true;
  }
  bool eval_f(Ipopt::Index, const Ipopt::Number* x, bool, Ipopt::Number& value) override {
    value = evaluate(x).evaluation.objective;
    return true;
  }
  bool eval_grad_f(Ipopt::Index n, const Ipopt::Number* x, bool, Ipopt::Number* g) override {
    const auto& point = evaluate(x);
    for (int i = 0; i < n; ++i) g[i] = point.gradient(at(free, i));
    return true;
  }
  bool eval_g(Ipopt::Index, const Ipopt::Number* x, bool, Ipopt::Index m,
              Ipopt::Number* g) override {
    const auto& point = evaluate(x);
    for (int i = 0; i < m; ++i) {
      g[i] = point.evaluation.constraint[static_cast<std::size_t>(at(row, i))];
    }
    return true;
  }
  bool eval_jac_g(Ipopt::Index n, const Ipopt::Number* x, bool, Ipopt::Index m, Ipopt::Index,
                  Ipopt::Index* rows, Ipopt::Index* columns, Ipopt::Number* values) override {
    int k = 0;
    for (int i = 0; i < m; ++i) {
      for (int j = 0; j < n; ++j, ++k) {
        if (values == nullptr) {
          rows[k] = i;
          columns[k] = j;
        } else {
          values[k] = evaluate(x).rows(at(row, i), at(free, j));
        }
      }
    }
    return true;
  }
  bool eval_h(Ipopt::Index n, const Ipopt::Number* x, bool, Ipopt::Number factor, Ipopt::Index m,
              const Ipopt::Number* lambda, bool, Ipopt::Index, Ipopt::Index* rows,
              Ipopt::Index* columns, Ipopt::Number* values) override {
    int k = 0;
    if (values == nullptr) {
      for (int i = 0; i < n; ++i) {
        for (int j = 0; j <= i; ++j, ++k) {
          rows[k] = i;
          columns[k] = j;
        }
      }
      return true;
    }
    std::array<double, kLimitCount> multipliers{};
    for (int i = 0; i < m; ++i) multipliers[static_cast<std::size_t>(at(row, i))] = lambda[i];
    const posture::Matrix7 h = posture::compute_hessian(problem, evaluate(x), multipliers, factor);
    for (int i = 0; i < n; ++i) {
      for (int j = 0; j <= i; ++j, ++k) values[k] = h(at(free, i), at(free, j));
    }
    return true;
  }
  void finalize_solution(Ipopt::SolverReturn, Ipopt::Index n, const Ipopt::Number* x,
                         const Ipopt::Number*, const Ipopt::Number*, Ipopt::Index,
                         const Ipopt::Number*, const Ipopt::Number*, Ipopt::Number value,
                         const Ipopt::IpoptData*, Ipopt::IpoptCalculatedQuantities*) override {
    result.objective = value;
    result.x = start;
    for (int i = 0; i < n; ++i) result.x[static_cast<std::size_t>(at(free, i))] = x[i];
  }

 private:
  static int at(const std::vector<int>& v, int i) { return v[static_cast<std::size_t>(i)]; }
  const posture::Point& evaluate(const Ipopt::Number* x) {
    std::array<double, kCoordinateCount> full = start;
    for (std::size_t i = 0; i < free.size(); ++i) full[static_cast<std::size_t>(free[i])] = x[i];
    if (!valid_ || full != point_.x) {
      point_.x = full;
      posture::evaluate_point(problem, point_);
      valid_ = true;
    }
    return point_;
  }
  posture::Point point_;
  bool valid_ = false;

 public:
  void forget() { valid_ = false; }
};

}  // namespace

struct IpoptPosture::State {
  Ipopt::SmartPtr<PostureProgram> program;
  Ipopt::SmartPtr<Ipopt::IpoptApplication> application;
};

IpoptPosture::IpoptPosture(IpoptHessian hessian) : state_(new State) {
  state_->program = new PostureProgram;
  state_->application = IpoptApplicationFactory();
  auto options = state_->application->Options();
  options->SetIntegerValue("print_level", 0);
  options->SetStringValue("sb", "yes");
  options->SetNumericValue("tol", 1e-9);
  options->SetNumericValue("constr_viol_tol", 1e-9);
  options->SetNumericValue("bound_relax_factor", 0.0);
  options->SetIntegerValue("max_iter", 500);
  options->SetStringValue("mu_strategy", "adaptive");
  if (hessian == IpoptHessian::LimitedMemory) {
    options->SetStringValue("hessian_approximation", "limited-memory");
  }
  state_->application->Initialize();
}

IpoptPosture::~IpoptPosture() {
  delete state_;
}

IpoptResult IpoptPosture::solve(const posture::Model& model,
                                const posture::ObjectiveWeights& weights,
                                const std::array<double, kCoordinateCount>& start) {
  PostureProgram& program = *state_->program;
  program.problem = posture::make_problem(model, weights, posture::make_inputs<double>(model));
  program.start = start;
  program.result = {};
  program.forget();
  program.prepare();
  Ipopt::SmartPtr<Ipopt::TNLP> base = GetRawPtr(state_->program);
  const Ipopt::ApplicationReturnStatus status = state_->application->OptimizeTNLP(base);
  IpoptResult result = program.result;
  result.solved = status == Ipopt::Solve_Succeeded || status == Ipopt::Solved_To_Acceptable_Level;
  result.infeasible = status == Ipopt::Infeasible_Problem_Detected;
  if (IsValid(state_->application->Statistics())) {
    result.iterations = state_->application->Statistics()->IterationCount();
  }
  return result;
}

}  // namespace lintel::test
