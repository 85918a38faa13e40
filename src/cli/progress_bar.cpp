#include "cli/progress_bar.h"

#include <unistd.h>
#include <algorithm>
#include <cmath>

namespace lintel::cli {

ProgressStyle progress_style_for(std::FILE* stream) {
  return isatty(fileno(stream)) != 0 ? ProgressStyle::Bar : ProgressStyle::Lines;
}

std::string format_wait(double seconds) {
  const int whole = static_cast<int>(std::ceil(std::clamp(seconds, 0.0, 359999.0)));
  char text[48];
  if (whole >= 3600) {
    std::snprintf(text, sizeof text, "%d h %02d min", whole / 3600, whole / 60 % 60);
  } else if (whole >= 60) {
    std::snprintf(text, sizeof text, "%d min %02d s", whole / 60, whole % 60);
  } else {
    std::snprintf(text, sizeof text, "%d s", whole);
  }
  return text;
}

std::string format_bar(const Progress& progress, double elapsed, int width) {
  std::string line(progress.stage);
  if (progress.total <= 0) {
    line += "  " + std::to_string(static_cast<long long>(progress.done)) + " done";
    return line;
  }
  const double share = std::clamp(progress.done / progress.total, 0.0, 1.0);
  const int cells = std::clamp(width - static_cast<int>(line.size()) - 32, 8, 60);
  const int full = static_cast<int>(std::lround(share * cells));
  line += "  [" + std::string(static_cast<std::size_t>(full), '=') +
          std::string(static_cast<std::size_t>(cells - full), ' ') + "]  ";
  char tail[64];
  std::snprintf(tail, sizeof tail, "%3.0f %%", 100 * share);
  line += tail;
  // The first second says too little about the rest.
  if (elapsed > 1 && share > 0.02 && share < 1) {
    line += "  " + format_wait(elapsed / share - elapsed) + " left";
  }
  return line;
}

ProgressPrinter::ProgressPrinter(ProgressStyle style, std::FILE* stream)
    : style_(style), stream_(stream) {}

ProgressPrinter::~ProgressPrinter() {
  finish();
}

void ProgressPrinter::finish() {
  if (bar_shown_) std::fputs("\r\033[K", stream_);
  bar_shown_ = false;
  std::fflush(stream_);
}

void ProgressPrinter::report(const Progress& progress) {
  if (style_ == ProgressStyle::Silent) return;
  const auto now = Clock::now();
  const bool new_stage = stage_ != progress.stage;
  if (new_stage) {
    stage_ = progress.stage;
    stage_start_ = now;
    last_share_ = -1;
  }
  const double elapsed = std::chrono::duration<double>(now - stage_start_).count();
  const double share = progress.total > 0 ? progress.done / progress.total : 0;
  const double since_print = std::chrono::duration<double>(now - last_print_).count();
  if (style_ == ProgressStyle::Bar) {
    if (!new_stage && since_print < 0.1) return;
    std::fprintf(stream_, "\r%s\033[K", format_bar(progress, elapsed, 78).c_str());
    bar_shown_ = true;
  } else {
    // A line for each quarter of a stage, or every ten seconds.
    if (!new_stage && share < last_share_ + 0.25 && since_print < 10) return;
    last_share_ = share;
    if (style_ == ProgressStyle::JsonEvents) {
      std::fprintf(stream_,
                   "{\"event\":\"progress\",\"stage\":\"%s\",\"done\":%.0f,\"total\":%.0f}\n",
                   stage_.c_str(), progress.done, progress.total);
    } else {
      std::fprintf(stream_, "%s\n", format_bar(progress, elapsed, 78).c_str());
    }
  }
  last_print_ = now;
  std::fflush(stream_);
}

}  // namespace lintel::cli
