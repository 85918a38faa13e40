#include "media/log_tail.h"

#include <algorithm>
#include <cstring>
#include <set>

#include "media/ffmpeg_handles.h"

namespace lintel::media {
namespace {

constexpr std::size_t kLinesKept = 6;
constexpr std::size_t kLineLength = 200;

thread_local LogTail* current_tail = nullptr;

// Tails that exist. FFmpeg forces process-wide state on its callers; this is all of it.
struct Registry {
  std::mutex mutex;
  std::set<const void*> alive;
};
Registry& registry() {
  static auto* instance = new Registry;  // outlives every decoder thread
  return *instance;
}

void on_log(void* source, int level, const char* format, va_list arguments) {
  if (level > AV_LOG_WARNING) return;
  char line[512] = {};
  int print_prefix = 1;
  av_log_format_line2(source, level, format, arguments, line, sizeof line, &print_prefix);
  if (current_tail != nullptr) {
    current_tail->add(line);
    return;
  }
  if (source == nullptr) return;
  const AVClass* type = *static_cast<AVClass**>(source);
  if (type == nullptr || std::strcmp(type->class_name, "AVCodecContext") != 0) return;
  void* opaque = static_cast<AVCodecContext*>(source)->opaque;
  const std::lock_guard lock(registry().mutex);
  if (registry().alive.contains(opaque)) static_cast<LogTail*>(opaque)->add(line);
}

}  // namespace

LogTail::LogTail() {
  const std::lock_guard lock(registry().mutex);
  if (registry().alive.empty()) {
    av_log_set_level(AV_LOG_WARNING);
    av_log_set_callback(on_log);
  }
  registry().alive.insert(this);
}

LogTail::~LogTail() {
  const std::lock_guard lock(registry().mutex);
  registry().alive.erase(this);
}

void LogTail::add(std::string line) {
  // Text of the file (metadata, names) may end up in a log line: keep it printable and short.
  std::replace_if(
      line.begin(), line.end(),
      [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }, ' ');
  while (!line.empty() && line.back() == ' ') line.pop_back();
  // Addresses of objects ("[h264 @ 0x55...]") mean nothing to a reader and differ each run.
  for (std::size_t at = line.find(" @ 0x"); at != std::string::npos; at = line.find(" @ 0x", at)) {
    const std::size_t end = line.find(']', at);
    line.erase(at, end == std::string::npos ? std::string::npos : end - at);
  }
  if (line.empty()) return;
  if (line.size() > kLineLength) line.resize(kLineLength);
  const std::lock_guard lock(mutex_);
  if (!lines_.empty() && lines_.back() == line) return;
  lines_.push_back(std::move(line));
  if (lines_.size() > kLinesKept) lines_.pop_front();
}

void LogTail::append_to(Error& error) {
  const std::lock_guard lock(mutex_);
  for (std::string& line : lines_) error.with_context("FFmpeg reported: " + std::move(line));
  lines_.clear();
}

LogScope::LogScope(LogTail& tail) : previous_(current_tail) {
  current_tail = &tail;
}
LogScope::~LogScope() {
  current_tail = previous_;
}

}  // namespace lintel::media
