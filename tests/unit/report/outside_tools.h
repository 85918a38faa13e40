// Tools from outside of the project that look at what we wrote.
#pragma once

#include <filesystem>
#include <string>

namespace lintel::report {

// Words alone, so that line breaks do not matter.
inline std::string words(const std::string& text) {
  std::string result;
  for (const char c : text) {
    const bool is_space = c == ' ' || c == '\n' || c == '\f' || c == '\r';
    if (!is_space) {
      result += c;
    } else if (!result.empty() && result.back() != ' ') {
      result += ' ';
    }
  }
  return result;
}

// A folder of its own for one test, removed with all its files at the end.
class TemporaryFolder {
 public:
  TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder();
  // Writes a file and returns its full path.
  std::string write(const std::string& name, const std::string& bytes) const;
  std::string path(const std::string& name) const { return (folder_ / name).string(); }

 private:
  std::filesystem::path folder_;
};

struct ToolRun {
  int status = -1;
  std::string output;  // both streams
};

bool has_tool(const std::string& name);
ToolRun run_tool(const std::string& command);

}  // namespace lintel::report

#define LINTEL_NEEDS_TOOL(name) \
  if (!has_tool(name)) GTEST_SKIP() << "NOT CHECKED: the tool " << (name) << " is not installed"
