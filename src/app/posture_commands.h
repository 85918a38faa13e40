// Use cases of the posture model without a clip: explain, what-if, grip.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "app/seen_squat.h"
#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"

namespace lintel::app {

struct PostureRequest {
  std::filesystem::path athlete;  // athlete.json
  SeenSource seen;
  std::optional<std::filesystem::path> drawing;  // SVG to write (replaces a file of that name)
  int draws = 10000;
  std::uint64_t seed = 1;
  int threads = 0;  // 0 = one for each core
};

struct PostureOutcome {
  std::string text;  // for a person: some lines, with the cautions
  std::string json;  // for a program: docs of formats/posture_json.h
  std::optional<std::filesystem::path> drawing;
};

// Errors: those of the athlete file and of the assessment; Invalid when both an assessment and an
// angle are given, when the assessment holds no completed repetition, or a number is out of range
// (with field and range); Cancelled; Io.
Result<PostureOutcome> explain_athlete(const PostureRequest& request, const WorkContext& work);
// Only athlete, drawing, draws and seed are used. The rows' errors come from a few draws.
Result<PostureOutcome> what_if_athlete(const PostureRequest& request, const WorkContext& work);
// Only the athlete is used.
Result<PostureOutcome> grip_for_athlete(const PostureRequest& request, const WorkContext& work);

}  // namespace lintel::app
