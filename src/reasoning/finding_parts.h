// Pieces that findings are put together from. Inside this module.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reasoning/finding.h"
#include "reasoning/test_limits.h"

namespace lintel::reasoning {

// Questions to the weighted draws about one part.
class PartStatistics {
 public:
  explicit PartStatistics(const FindingsInput& input) : explained_(input.explained) {}
  double probability_above(Factor factor, double least) const;
  double probability_below(Factor factor, double most) const;
  double probability_whole_below(double most) const;  // all parts together
  Size size(Factor factor) const;  // value of the fitted athlete, interval of the draws

 private:
  const ExplainResult& explained_;
};

enum class SeenQuantity : std::uint8_t { Trunk, Shank, ShoulderChange, HeelLift };

// The mean and, behind it, each repetition with its frame. Empty where it was not seen. `note` is
// put behind the numbers.
std::vector<Evidence> video_evidence(const FindingsInput& input, SeenQuantity quantity,
                                     Bearing bearing, const std::string& note);
Evidence test_evidence(const TestReading& reading, Bearing bearing);
Evidence setup_evidence(Factor lever, double today, double best);
Evidence model_evidence(const ExplainResult& explained, Factor factor, Bearing bearing);

// The knees stay behind what the tested ankle would allow by more than explain.shank_noted.
bool shank_stays_back(const FindingsInput& input);

std::string part_sentence(const Finding& finding);
std::string untested_sentence(const Finding& finding, const FindingsInput& input);
// Labels of the tests of this part that were not done; empty = all were.
std::string open_limits(const ExplainResult& explained, Factor factor);

// Nothing where the difference is within error or usual. Left and right of the same test.
std::optional<Finding> side_finding(const TestReading& left, const TestReading& right);
std::optional<std::string> side_finding_id(const TestOfLimit& test);  // nothing for the knee
// Nothing where the arms reach what this lean and grip ask. Its size is what range alone can give
// back; arms that pass their tests are a consequence of the lean, shown and no target.
std::optional<Finding> arms_finding(const FindingsInput& input,
                                    std::span<const TestReading> readings);

// "10.3 cm", "41 deg".
std::string quantity_text(Quantity quantity, double value);

}  // namespace lintel::reasoning
