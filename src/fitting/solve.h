// The least-squares solve of one window. The solver's own types stay in solve.cpp.
#pragma once

#include "fitting/covariance.h"
#include "fitting/parameters.h"

namespace lintel::fitting {

enum class Globals : std::uint8_t { Free, Held };  // Held: from another window
enum class SolveEnd : std::uint8_t { Converged, IterationLimit, Failed, Stopped };

struct SolveReport {
  SolveEnd end = SolveEnd::Failed;
  int iterations = 0;
  double cost = 0;
};

// Levenberg-Marquardt from `parameters`, which is replaced by the solution. Calls
// context.report(stage, iteration so far, problem.options.max_iterations).
SolveReport solve(const FitProblem& problem, Globals globals, Parameters& parameters,
                  const WorkContext& context, std::string_view stage);

// Normal equations at `parameters`, robust weights included.
ArrowSystem normal_equations(const FitProblem& problem, const Parameters& parameters);

// Largest difference between the derivatives used and numeric ones over all residuals of the
// window, relative to the largest entry of each residual's row block. For tests.
double derivative_error(const FitProblem& problem, const Parameters& parameters);

}  // namespace lintel::fitting
