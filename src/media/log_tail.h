// Keeps the last lines that FFmpeg logs about one clip, so that errors can quote them. Internal.
#pragma once

#include <deque>
#include <mutex>
#include <string>

#include "base/result.h"

namespace lintel::media {

// FFmpeg has one log callback for the whole process; the first LogTail takes it over, and nothing
// reaches the terminal any more. A line goes to the tail that the calling thread has in scope
// (LogScope), or, from FFmpeg's own decoder threads, to the tail in AVCodecContext::opaque.
// Thread-safe.
class LogTail {
 public:
  LogTail();
  LogTail(const LogTail&) = delete;
  LogTail& operator=(const LogTail&) = delete;
  ~LogTail();

  void add(std::string line);
  // Adds the lines kept to the error's trail and forgets them.
  void append_to(Error& error);

 private:
  std::mutex mutex_;
  std::deque<std::string> lines_;
};

class LogScope {
 public:
  explicit LogScope(LogTail& tail);
  LogScope(const LogScope&) = delete;
  LogScope& operator=(const LogScope&) = delete;
  ~LogScope();

 private:
  LogTail* previous_;
};

}  // namespace lintel::media
