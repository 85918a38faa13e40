// Progress of long work on standard error: a bar with the remaining time on a terminal, a line now
// and then elsewhere, one JSON object a line when the caller reads JSON.
#pragma once

#include <chrono>
#include <cstdio>
#include <string>

#include "base/progress.h"

namespace lintel::cli {

enum class ProgressStyle { Bar, Lines, JsonEvents, Silent };

// Bar if `stream` is a terminal, else lines.
ProgressStyle progress_style_for(std::FILE* stream);

// "1 min 05 s", "12 s": for people who wait.
std::string format_wait(double seconds);

// One line of a bar of this width, without line end: "find the body  [####....]  41 %  12 s left".
std::string format_bar(const Progress& progress, double elapsed, int width);

// Not thread-safe: report from one thread. Clears its line when it goes.
class ProgressPrinter {
 public:
  ProgressPrinter(ProgressStyle style, std::FILE* stream);
  ~ProgressPrinter();
  ProgressPrinter(const ProgressPrinter&) = delete;
  ProgressPrinter& operator=(const ProgressPrinter&) = delete;

  void report(const Progress& progress);
  void finish();  // removes the bar

 private:
  using Clock = std::chrono::steady_clock;
  ProgressStyle style_;
  std::FILE* stream_;
  std::string stage_;
  Clock::time_point stage_start_;
  Clock::time_point last_print_;
  double last_share_ = -1;
  bool bar_shown_ = false;
};

}  // namespace lintel::cli
