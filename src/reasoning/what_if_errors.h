// How sure a what-if is: the same change for the athletes that this one may be.
#pragma once

#include <cstdint>
#include <vector>

#include "reasoning/uncertainty.h"
#include "reasoning/what_if.h"

namespace lintel::reasoning {

// Which of the deviates of a draw change anything.
using ActiveDeviates = std::array<bool, kDeviateCount>;
ActiveDeviates active_deviates(const UncertainInput& input);  // without what was seen

// Standard normal deviates, one row a draw, moved so that every active column has mean 0 and
// standard deviation 1 and no two of them go together: then the standard deviation of whatever is
// linear in them is exact, and few draws suffice for what has kinks (a stop that begins to hold, or
// lets go). Other columns are 0. At least two draws more than active columns.
std::vector<Deviates> matched_deviates(std::uint64_t seed, std::size_t draws,
                                       const ActiveDeviates& active);

// What brings the error of a change.
enum class ErrorSource : std::uint8_t {
  Range,     // one limit: its test's error, or the population's spread where it was not tested
  Lengths,   // of the body, all of them
  Couplings  // how one range moves another, all of them
};
struct ErrorPart {
  ErrorSource source = ErrorSource::Range;
  posture::Limit limit = posture::Limit::AnkleDorsiflexion;  // of a range
  double error = 0.0;                                        // [rad]
};

struct WhatIfErrors {
  double today = 0.0;   // of the lean that the changes start from [rad]
  double after = 0.0;   // of the lean afterwards
  double change = 0.0;  // of the difference: the same athlete before and after
  // Of the change, the largest first. Their squares sum to that of the change but for what kinks
  // add; those below a quarter of it are left out (of 60 draws smaller ones may be chance).
  std::vector<ErrorPart> parts;
};

// Is the change larger than 1.96 of its standard errors?
bool is_distinguishable(double change, double error);

// Which lean of a draw counts as today's where none was seen: that of the posture itself, as a
// figure shows it, or at equal strain (Evaluated::lean), as the parts and the table count it.
enum class TodayIs : std::uint8_t { Posture, EqualStrain };

// The athletes that this one may be, each with its posture of today. Solved once; then a change
// costs one warm solve for each.
class WhatIfDraws {
 public:
  static constexpr std::size_t kDraws = 60;
  // Draws of lengths, edges and couplings around the means of `input` (comparison_at). A draw to
  // which the setup does not fit is left out. Errors: those of the model at the means.
  static Result<WhatIfDraws> create(const UncertainInput& input, std::uint64_t seed,
                                    TodayIs today = TodayIs::Posture);
  // Of these inputs' errors alone.
  static Result<WhatIfDraws> create(const UncertainInput& input, std::uint64_t seed, TodayIs today,
                                    const ActiveDeviates& active);
  // A draw to which the changes do not fit is left out; where most do not, the errors of what needs
  // them are not a number. Where the lean was observed that is today's, independent of the model.
  WhatIfErrors errors_of(const std::vector<Change>& changes) const;
  std::size_t size() const { return draws_.size(); }

 private:
  struct One {
    Deviates deviates;
    posture::BodyParameters body;
    posture::Limits limits;
    Evaluated today;
  };
  One mean_;
  std::vector<One> draws_;
  body::Setup setup_;
  TodayIs today_ = TodayIs::Posture;
  std::optional<double> seen_error_;
};

}  // namespace lintel::reasoning
