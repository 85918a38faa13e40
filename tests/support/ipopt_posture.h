// The posture problem handed to Ipopt: an independent interior-point solver on the same functions.
#pragma once

#include <array>

#include "posture/posture.h"

namespace lintel::test {

struct IpoptResult {
  bool solved = false;
  bool infeasible = false;
  double objective = 0.0;
  std::array<double, posture::kCoordinateCount> x{};
  int iterations = 0;
};

enum class IpoptHessian { Exact, LimitedMemory };

// start: coordinates to start from. Tolerances 1e-9, no relaxation of bounds.
class IpoptPosture {
 public:
  explicit IpoptPosture(IpoptHessian hessian = IpoptHessian::Exact);
  ~IpoptPosture();
  IpoptPosture(const IpoptPosture&) = delete;
  IpoptPosture& operator=(const IpoptPosture&) = delete;
  IpoptResult solve(const posture::Model& model, const posture::ObjectiveWeights& weights,
                    const std::array<double, posture::kCoordinateCount>& start);

 private:
  struct State;
  State* state_;
};

}  // namespace lintel::test
