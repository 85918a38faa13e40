// What a worker does for a job of a trial: the clip, or its kept points, become a measurement with
// all its files.
#pragma once

#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "jobs/worker_loop.h"
#include "store/job_queue.h"

namespace lintel::app {

// Measures the trial of the job as its document now asks: from the kept points where they are of
// the same look at the pictures, else from the pictures. Files go to the media folder first; the
// record changes in the transaction of the job's end, and only when nobody edited the trial in the
// meantime (that edit has a job of its own). Errors: those of assess_clip; NotFound for media.
Result<jobs::JobEnd> measure_trial(Practice& practice, const store::Job& job, int threads,
                                   const WorkContext& work);

// The trial of a job that failed for good says why.
Result<void> note_failed_trial(Practice& practice, store::Transaction& t, const store::Job& job,
                               const Error& error);

}  // namespace lintel::app
