// Light copies for clips that were measured before there were any.
#pragma once

#include <cstdint>

#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "jobs/worker_loop.h"
#include "store/job_queue.h"

namespace lintel::app {

inline constexpr const char* kMakeCopy = "make_copy";

// A job for every measured clip of the workplace that has no light copy, but for those that have
// one waiting. Answers how many were added.
Result<std::int64_t> ask_for_copies(Practice& practice);

// Does such a job: the trial's next version has the copy among its files, all else stays. Nothing
// changes where it has one by now. A job that fails leaves the trial as it is.
Result<jobs::JobEnd> make_copy(Practice& practice, const store::Job& job, const WorkContext& work);

}  // namespace lintel::app
