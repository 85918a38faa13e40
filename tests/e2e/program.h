// Runs the program as a user does, in a folder of its own.
#pragma once

#include <gtest/gtest.h>
#include <sys/wait.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

namespace lintel::test {

namespace fs = std::filesystem;

struct Execution {
  int status = -1;
  std::string output;  // standard output
  std::string errors;  // standard error
};

class Cli : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pattern = (fs::temp_directory_path() / "lintel-cli-XXXXXX").string();
    ASSERT_NE(mkdtemp(pattern.data()), nullptr);
    folder_ = pattern;
  }
  void TearDown() override { fs::remove_all(folder_); }

  static std::string read(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  void write(const fs::path& file, const std::string& text) const {
    std::ofstream(folder_ / file, std::ios::binary) << text;
  }
  // In the test's folder. NOLINT: commands are the tests' own fixed strings.
  Execution shell(const std::string& command) const {
    const fs::path errors = folder_ / "stderr.txt";
    const fs::path output = folder_ / "stdout.txt";
    const std::string whole = "cd '" + folder_.string() + "' && " + command + " >'" +
                              output.string() + "' 2>'" + errors.string() + "' </dev/null";
    const int status = std::system(whole.c_str());  // NOLINT
    Execution result{WIFEXITED(status) ? WEXITSTATUS(status) : 128, read(output), read(errors)};
    fs::remove(errors);
    fs::remove(output);
    return result;
  }
  Execution run(const std::string& arguments) const {
    return shell("'" LINTEL_PROGRAM "' " + arguments);
  }
  // The words of a PDF, lines joined: names may break at their ends.
  std::string words_of_pdf(const fs::path& file) const {
    const Execution pdf = shell("pdftotext -raw '" + file.string() + "' -");
    EXPECT_EQ(pdf.status, 0) << pdf.errors;
    std::string words = pdf.output;
    std::ranges::replace(words, '\n', ' ');
    return words;
  }
  // Line breaks and indents as single spaces.
  static std::string joined(const std::string& text) {
    std::string words;
    for (const char c : text) {
      const bool is_space = c == ' ' || c == '\n';
      if (!is_space || words.empty() || words.back() != ' ') words += is_space ? ' ' : c;
    }
    return words;
  }
  static bool ffmpeg(const std::string& arguments) {
    return std::system(("ffmpeg -v error -y " + arguments + " </dev/null").c_str()) == 0;  // NOLINT
  }
  static std::string clip(const std::string& name) {
    return std::string("'" LINTEL_CLIPS_DIR "/") + name + "'";
  }
  // Nothing but the inputs that the test itself wrote.
  std::vector<std::string> files() const {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder_)) {
      names.push_back(entry.path().filename().string());
    }
    std::ranges::sort(names);
    return names;
  }
  fs::path folder_;
};

}  // namespace lintel::test
