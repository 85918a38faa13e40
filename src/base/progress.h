// Progress and cancellation of long work. Work checks both at least every 50 ms.
#pragma once

#include <functional>
#include <stop_token>
#include <string_view>

#include "base/result.h"

namespace lintel {

struct Progress {
  std::string_view stage;  // e.g. "find the body"
  double done = 0.0;       // in units of the stage (frames, draws)
  double total = 0.0;      // 0 = not known
};

// Called from the thread that does the work; must be quick. May be empty.
using ProgressSink = std::function<void(const Progress&)>;

// What a long computation needs from its caller.
struct WorkContext {
  std::stop_token stop = {};
  ProgressSink progress = {};

  void report(std::string_view stage, double done, double total) const {
    if (progress) progress(Progress{stage, done, total});
  }
  bool cancelled() const { return stop.stop_requested(); }
};

inline Error cancelled_error() {
  return Error{ErrorCode::Cancelled, "stopped on request", {}, "", {}};
}

}  // namespace lintel
