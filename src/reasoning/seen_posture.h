// A posture to draw for a lean that was seen, and the mean of what several repetitions showed.
#pragma once

#include <optional>
#include <span>

#include "reasoning/factors.h"

namespace lintel::reasoning {

// A balanced posture of this body and setup whose trunk inclination is `lean`: the most upright one
// under an ankle range moved until it is (hips kept back = less of the ankle used), arms not
// limited. Nothing if no ankle range gives this lean. Errors: those of Model::create.
Result<std::optional<posture::Posture>> posture_at_lean(const posture::BodyParameters& body,
                                                        const body::Setup& setup,
                                                        const posture::Limits& limits, double lean);

// Mean over repetitions of one clip. Errors of scale, camera and landmarks are common to them and
// do not average out; the spread from repetition to repetition does. Entries that are not finite
// are left out; nothing if none is left.
std::optional<Estimate> mean_over_repetitions(std::span<const Estimate> values);

}  // namespace lintel::reasoning
